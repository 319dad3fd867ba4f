//! The job: from a short file to members, joints and welds, or to every error in it.
//!
//! ```text
//! text -> read (what is written, table by table) -> draw (members, joints, welds) -> Job
//! ```
//!
//! [`load`] is what commands call; [`from_text`] needs no file. The [`model::Job`] is complete and checked: indices are
//! valid, lengths positive, numbers finite. A new key is read in `read` and drawn in `draw`.
//!
//! ```
//! use coldsquare_engine::{example::GARDEN_GATE, job};
//!
//! let gate = job::from_text("gate.toml", GARDEN_GATE)?;
//! assert_eq!(gate.members.len(), 4 + 9);
//! assert_eq!(gate.welds[0].name, "bottom left corner, front");
//!
//! let errors = job::from_text("gate.toml", &GARDEN_GATE.replace("1200", "-3")).unwrap_err();
//! assert_eq!(errors.iter().next().unwrap().line_and_column(), (7, 9));
//! # Ok::<(), coldsquare_engine::file_error::FileErrors>(())
//! ```

pub mod cut_list;
mod draw;
pub mod edit;
pub mod finish;
pub mod from_centre;
pub mod json;
pub mod model;
mod read;
pub mod seen_from;
pub mod setup;
mod shop_factors;
pub mod start;
pub mod which_way;

pub use shop_factors::attach_shop_factors;

use crate::failure::Failure;
use crate::file_error::{FileErrors, Source};
use crate::files::{self, Files, NoFiles};
use crate::reading::{Reader, Table, parse};
use model::Job;
use std::path::Path;

/// Reads a job, and the shop factors file that it names.
///
/// # Errors
/// [`Failure::Input`] with every error in the files, [`Failure::File`] when one cannot be read.
pub fn load(files: &dyn Files, path: &Path) -> Result<Job, Failure> {
    let mut job = load_without_factors(files, path)?;
    attach_shop_factors(files, &mut job, path)?;
    Ok(job)
}

/// Reads a job, and not the shop factors file that it may name.
///
/// # Errors
/// [`Failure::Input`] with every error in the file, [`Failure::File`] when it cannot be read.
pub fn load_without_factors(files: &dyn Files, path: &Path) -> Result<Job, Failure> {
    let source = files::text(files, path)?;
    from_source(files, &source).map_err(|errors| Failure::Input(errors.to_string()))
}

/// Reads a job from a text that names no other file; messages call it `name`.
///
/// # Errors
/// Every error in the text, in its order.
pub fn from_text(name: &str, text: &str) -> Result<Job, FileErrors> {
    from_source(&NoFiles, &Source::new(name, text))
}

/// Reads a job from a text, and the procedures that it names from `files`. A job without a name is called after its
/// file.
///
/// # Errors
/// Every error in the text, in its order.
pub fn from_source(files: &dyn Files, source: &Source) -> Result<Job, FileErrors> {
    let table = parse(source)?;
    let reader = Reader::new(source, files);
    let start = table.span().start;
    let table = table.into_inner();
    let file = read::read(Table::new(&reader, &table, start..start, "the file"));
    let job = draw::draw(file, &reader);
    FileErrors::none_of(reader.into_errors())?;
    job.ok_or_else(|| source.error(0..0, "the job could not be drawn").into())
}

/// What can be drawn of a job that has errors, for its picture: nothing else of it can be relied on. `None` when there is
/// nothing to draw.
#[must_use]
pub fn sketch(files: &dyn Files, source: &Source) -> Option<Job> {
    let table = parse(source).ok()?;
    let reader = Reader::new(source, files);
    let start = table.span().start;
    let table = table.into_inner();
    let file = read::read(Table::new(&reader, &table, start..start, "the file"));
    draw::draw(file, &reader).filter(|job| !job.members.is_empty())
}

#[cfg(test)]
mod shop_words;
#[cfg(test)]
mod slips;
#[cfg(test)]
mod tests;
