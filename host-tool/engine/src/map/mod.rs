//! The weld map: every weld of the job with what was measured on it.
//!
//! ```text
//! job + log -> matching (which bead is which weld) -> measure (volts, amps, heat) -> verdict -> model
//! model -> text | csv | json        (pages and drawings have modules of their own)
//! ```

pub mod csv;
pub mod json;
pub mod model;
pub mod text;
mod words;

mod build;
mod measure;
mod order;
mod totals;
mod trace;
mod warn;
mod weld;

pub use build::{Settings, build};
