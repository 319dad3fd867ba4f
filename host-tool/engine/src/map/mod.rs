//! The weld map: every weld of the job with what was measured on it.
//!
//! A new fact on the map goes into `model` and is worked out in `weld`, `measure` or `totals`; then each writer (`text`,
//! `csv`, `json`, and the pages and drawings in modules of their own) shows it.
//!
//! ```text
//! job + log -> matching (which bead is which weld) -> measure (volts, amps, heat) -> verdict -> model
//! model -> text | csv | json
//! ```

pub mod csv;
pub mod json;
pub mod model;
pub mod text;

mod build;
mod describe;
mod measure;
mod order;
mod totals;
mod trace;
mod warn;
mod weld;

pub use build::{Settings, build};
