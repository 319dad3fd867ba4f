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

mod error;
mod field;
mod form;
mod joints;
mod members;
mod recording;
mod tables;
mod value;
mod welds;

pub use error::EditError;
pub use field::{Field, FieldKind, Group};
pub use form::form;
pub use joints::{alike, alike_words};
pub use recording::with_recording;

use serde::Deserialize;
use tables::table_at;
use toml_edit::{DocumentMut, Item};

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

#[cfg(test)]
mod tests;
