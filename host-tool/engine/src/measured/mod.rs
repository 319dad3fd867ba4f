//! What straightedge, tape and table showed, kept beside the job in a file that only grows.
//!
//! ```text
//! "top rail up = 3/32\"" -> written -> Reading -> check (impossible? contradictory? wrong unit?) -> file
//! file -> Measurement -> observed() -> change of each measure of the movement engine, mm, with its doubt
//! observed() + prediction from the log's heat -> compare -> on the weld map
//! ```
//!
//! A reading names what it is of in the words of [`crate::movement::answers::Measure`], so that what was predicted and
//! what was measured meet by name. Values stay in the unit they were read in.

pub mod check;
pub mod compare;
pub mod expected;
pub mod file;
pub mod model;
pub mod written;

#[cfg(test)]
mod tests;

pub use file::{added, load, path_of, read};
pub use model::{Between, LengthUnit, Measurement, Observed, Reading, State};
