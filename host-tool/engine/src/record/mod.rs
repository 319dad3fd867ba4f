//! The build record: one printable file a job for the customer or the inspector, and the same facts for programs.
//!
//! ```text
//! job + log + map + inspections -> model -> html | json | parquet
//! ```

pub mod html;
pub mod json;
pub mod model;
#[cfg(feature = "parquet")]
pub mod parquet;
mod table;

pub use model::{BuildRecord, Made, build};
