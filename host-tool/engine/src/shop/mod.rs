//! What a shop has learned of its own shrinkage, in a file that jobs name.
//!
//! ```text
//! learn -> Knowledge -> file (revisions, only added to) -> Knowledge -> ShopFactors of a job -> movement engine
//! ```

pub mod class;
pub mod factors;
pub mod file;
pub mod matrix;

pub use class::Class;
pub use factors::{Knowledge, ShopFactors, WAYS};
