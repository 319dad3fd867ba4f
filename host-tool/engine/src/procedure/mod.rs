//! Welding procedures: contents after ISO 15609-1, what a test qualifies, and a file to begin with.
//!
//! ```text
//! file or [procedure] in a job -> job::procedure (reading, every mistake at once) -> Procedure with its Sheet
//! published settings -> start -> a commented file
//! ```

pub mod limits;
pub mod model;
pub mod names;
pub mod qualification;
pub mod start;
pub mod text;

use crate::located::{Mistakes, Source};
use crate::procedure::model::Procedure;
use crate::units::Units;

/// Reads a procedure file and the units it is written in.
///
/// # Errors
/// Every mistake in the text, in its order.
pub fn from_source(source: &Source) -> Result<(Procedure, Units), Mistakes> {
    crate::job::procedure_from_source(source)
}
