//! What a shop has learned of its own shrinkage, in the shop factors file that jobs name.
//!
//! Change the published factors and their uncertainties in `factor`, the classes of welds in `class`. The file only
//! ever grows: a key of it that changes its name must still be answered (see `file`).
//!
//! ```text
//! learn -> Knowledge -> file (revisions, append-only) -> Knowledge -> ShopFactors of a job -> movement engine
//! ```
//!
//! ```
//! use coldsquare_engine::file_error::Source;
//! use coldsquare_engine::shop::file;
//!
//! let history = file::read(&Source::new("our-shop.toml", "# nothing learned yet\n")).unwrap();
//! assert_eq!(history.latest(), 0, "the published factors apply");
//! ```

pub(crate) mod class;
pub mod factor;
pub mod factors;
pub mod file;
pub mod hours;
pub mod hours_file;
pub(crate) mod matrix;

pub use class::Class;
pub use factors::{Knowledge, SHRINKAGE_KINDS, ShopFactors};
