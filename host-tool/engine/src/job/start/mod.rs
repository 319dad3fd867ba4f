//! Frames to begin with, as complete job files: change the sizes and the sections, keep the rest.
//!
//! The command and the page offer the same shapes and ask for the same few sizes.
//!
//! ```
//! use coldsquare_engine::job::start::{Shape, Wanted, write};
//!
//! for (name, shape) in Shape::NAMES {
//!     assert!(coldsquare_engine::job::from_text(name, &write(&Wanted::of(shape))).is_ok(), "{name}");
//! }
//! ```

mod offered;
mod shapes;

pub use offered::{Offered, Size, offered};
pub(crate) use shapes::procedure as procedure_table;
pub use shapes::{Shape, Wanted, write};
