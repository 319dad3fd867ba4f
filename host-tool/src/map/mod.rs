//! The weld map: every weld of the job with what was measured on it.

pub mod model;
pub mod words;
