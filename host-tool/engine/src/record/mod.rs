//! The build record: one page to print for the customer or the inspector, and the same facts for programs.
//!
//! ```text
//! job + log + map + inspections -> model -> html | json | parquet
//! ```
//!
//! What a record says is decided in [`model`]; the other files only write it.

pub mod html;
pub mod json;
pub mod model;
#[cfg(feature = "parquet")]
pub mod parquet;
mod table;

pub use model::{BuildRecord, Made, build};
