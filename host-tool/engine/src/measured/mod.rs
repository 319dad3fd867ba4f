//! Measurements of the finished frame, kept beside the job in a file that only grows.
//!
//! A new kind of reading is parsed in `written`, checked in `check`, and needs a measure in the movement model. A key of
//! the file that changes its name must still be read or answered (see `file`).
//!
//! ```text
//! "top rail up = 3/32\"" -> written -> Reading -> check (implausible? contradictory? wrong unit?) -> file
//! file -> Measurement -> observed() -> change of each measure, mm, with its uncertainty
//! observed() + prediction from the log's heat -> compare -> on the weld map
//! ```
//!
//! A reading has the name of its [`crate::movement::measures::Measure`], so that measured and predicted are matched by
//! name. Values stay in the unit they were read in.
//!
//! ```
//! use std::path::Path;
//!
//! let beside = coldsquare_engine::measured::path_of(Path::new("jobs/gate.toml"));
//! assert_eq!(beside, Path::new("jobs/gate-measured.toml"));
//! ```

mod bow;
pub mod check;
pub mod compare;
pub mod expected;
pub(crate) mod file;
pub mod length;
pub mod model;
pub mod written;

#[cfg(test)]
mod tests;

pub use file::{added, load, path_of, read};
pub use model::{Between, LengthUnit, Measurement, Observed, Reading, State};
