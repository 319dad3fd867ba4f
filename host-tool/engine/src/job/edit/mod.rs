//! Changes to the text of a job file, made by pointing at the frame instead of typing.
//!
//! The text stays the user's own: comments, order and spelling of everything that is not changed are kept. What can be
//! changed is listed by [`form()`]; a change that would leave a file with errors is made all the same, and the errors are
//! shown as those of any job file.
//!
//! ```
//! use coldsquare_engine::example::GARDEN_GATE;
//! use coldsquare_engine::job::edit::{Edit, edited};
//!
//! let path = ["frame", "width"].map(String::from).to_vec();
//! let wider = edited(GARDEN_GATE, &Edit::Set { path, value: "1300".into() })?;
//! assert!(wider.contains("width = 1300"));
//! # Ok::<(), coldsquare_engine::job::edit::EditError>(())
//! ```

mod form;
mod joints;
mod members;
mod value;
mod welds;

pub use form::{Field, FieldKind, Group, form};
pub use joints::{alike, alike_words};

use serde::Deserialize;
use toml_edit::{DocumentMut, Item, Table, TableLike};

/// A change of the text.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(rename_all = "snake_case", tag = "edit")]
pub enum Edit {
    /// Writes a field of the [`form()`]; an empty value takes the line out.
    Set {
        /// Path of the field.
        path: Vec<String>,
        /// The value as the user typed it.
        value: String,
    },
    /// Adds a group of the [`form()`] that is not there, with usual values.
    Add {
        /// Key of the group.
        group: String,
    },
    /// Takes a group of the [`form()`] out.
    Remove {
        /// Key of the group.
        group: String,
    },
    /// Chooses which sides of a joint are welded.
    WeldSides {
        /// Name of the joint.
        joint: String,
        /// The sides, by the names that the joint has for them.
        sides: Vec<String>,
        /// For all joints like this one, not for it alone.
        alike: bool,
    },
    /// Turns a member a quarter turn about its own line; the bars of a frame turn together, as do its outer members.
    Turn {
        /// Name of the member.
        member: String,
    },
    /// Puts a clamp on a member.
    Clamp {
        /// Name of the member.
        member: String,
        /// Distance along it, as "rail at 300" reads it, in the units of the job.
        at: String,
    },
    /// Makes every long weld that has a `[[weld]]` of its own intermittent: so long, then so long a gap, and whole at both
    /// ends. Lengths in the units of the job.
    Intermittent {
        /// Length of each weld.
        weld: f64,
        /// Length of the gaps between them, at most.
        gap: f64,
    },
    /// Takes all clamps off.
    NoClamps,
    /// Clamps every corner of the frame to the table.
    ClampCorners,
}

/// Why a text could not be changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EditError {
    /// The text is not TOML.
    NotToml,
    /// There is no such field, group, joint or member.
    Unknown(String),
    /// The value does not suit the field: what to write instead.
    Value(String),
}

impl std::fmt::Display for EditError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotToml => {
                out.write_str("the job file has an error in its spelling; mend that first")
            }
            Self::Unknown(what) => write!(out, "there is no {what} to change"),
            Self::Value(what) => out.write_str(what),
        }
    }
}

impl std::error::Error for EditError {}

/// The text with a change made.
///
/// # Errors
/// [`EditError`]; the text is then best left as it is.
pub fn edited(text: &str, edit: &Edit) -> Result<String, EditError> {
    let mut file: DocumentMut = text.parse().map_err(|_| EditError::NotToml)?;
    match edit {
        Edit::Set { path, value } => set(text, &mut file, path, value)?,
        Edit::Add { group } => form::add(&mut file, group)?,
        Edit::Remove { group } => remove(&mut file, group)?,
        Edit::WeldSides {
            joint,
            sides,
            alike,
        } => joints::weld_sides(text, &mut file, joint, sides, *alike)?,
        Edit::Turn { member } => members::turn(text, &mut file, member)?,
        Edit::Clamp { member, at } => {
            members::clamp(&mut file, format!("{member} at {}", at.trim()));
        }
        Edit::Intermittent { weld, gap } => welds::intermittent(&mut file, *weld, *gap)?,
        Edit::NoClamps => {
            file.remove("clamp");
        }
        Edit::ClampCorners => members::clamp_corners(text, &mut file)?,
    }
    Ok(file.to_string())
}

fn set(text: &str, file: &mut DocumentMut, path: &[String], value: &str) -> Result<(), EditError> {
    let groups = form(text)?;
    let field = groups
        .iter()
        .flat_map(|group| &group.fields)
        .find(|field| field.path == path)
        .ok_or_else(|| EditError::Unknown(format!("'{}'", path.join("."))))?;
    let Some((key, tables)) = path.split_last() else {
        return Err(EditError::Unknown("field".into()));
    };
    let table = table_at(file, tables)?;
    if value.trim().is_empty() {
        table.remove(key);
        return Ok(());
    }
    value::put(table, key, value::written(field.kind, value)?);
    Ok(())
}

fn remove(file: &mut DocumentMut, group: &str) -> Result<(), EditError> {
    match group.split_once('.') {
        Some((outer, key)) => {
            let table = file.get_mut(outer).and_then(Item::as_table_like_mut);
            table.and_then(|table| table.remove(key))
        }
        None => file.remove(group),
    }
    .map(|_| ())
    .ok_or_else(|| EditError::Unknown(format!("[{group}]")))
}

/// The table at a path, made where it is missing. In a list of tables the next part of the path is the name of one.
fn table_at<'t>(
    file: &'t mut DocumentMut,
    path: &[String],
) -> Result<&'t mut dyn TableLike, EditError> {
    let unknown = || EditError::Unknown(format!("[{}]", path.join(".")));
    let mut table: &mut dyn TableLike = file.as_table_mut();
    let mut parts = path.iter();
    while let Some(part) = parts.next() {
        let item = table
            .entry(part)
            .or_insert_with(|| Item::Table(Table::new()));
        table = match item {
            Item::ArrayOfTables(tables) => {
                let name = parts.next().ok_or_else(unknown)?;
                let mut found = tables.iter_mut();
                found
                    .find(|one| named(one) == Some(name.as_str()))
                    .ok_or_else(unknown)?
            }
            item => item.as_table_like_mut().ok_or_else(unknown)?,
        };
    }
    Ok(table)
}

fn named(table: &Table) -> Option<&str> {
    table.get("name")?.as_str()
}

#[cfg(test)]
mod tests;
