//! Welding procedures: contents after ISO 15609-1, what a test qualifies, and a file to start from.
//!
//! ```text
//! [procedure] in a job, or a file -> read (every error at once), sheet, consistency -> Procedure with its Sheet
//! published settings -> start -> a commented file
//! ```
//!
//! A new key of a procedure is read in `sheet`, checked against the others in `consistency` and printed in [`text`]; a
//! new name for a process goes into [`names`].
//!
//! ```
//! use coldsquare_engine::{file_error::Source, procedure};
//!
//! let text = "process = 135\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]";
//! let (procedure, _) = procedure::from_source(&Source::new("mag-thin.toml", text))?;
//! assert_eq!(procedure.name, "mag-thin");
//! # Ok::<(), coldsquare_engine::file_error::FileErrors>(())
//! ```

mod consistency;
pub mod model;
pub mod names;
pub(crate) mod qualification;
pub(crate) mod read;
mod sheet;
pub mod start;
pub mod text;

use crate::file_error::{FileErrors, Source};
use crate::procedure::model::Procedure;
use crate::units::Units;

/// Reads a procedure file, and the units it is written in. A procedure without a name is called after the file.
///
/// # Errors
/// Every error in the text, in its order.
pub fn from_source(source: &Source) -> Result<(Procedure, Units), FileErrors> {
    read::from_source(source)
}
