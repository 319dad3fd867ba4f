//! The opening as it is: from what tape, plumb line and level read to the largest frame that goes in.
//!
//! ```text
//! text -> read (readings, each with its place in the file) -> adjust (the walls, with their uncertainty)
//!      -> rectangle (a linear program: the largest frame) -> gaps (where it is tight, what is left where)
//!      -> bring_in (the way in: straight, or tilted)
//! ```
//!
//! Coordinates, mm: x to the right, y up from the floor or sill, both as you stand before the opening; depth from its
//! front edge to the back. A new kind of reading is a key in `read` and a row in `adjust`.

mod adjust;
pub mod answer;
pub mod bring_in;
pub mod gaps;
pub mod model;
mod moves;
mod nodes;
mod plausible;
mod read;
pub mod rectangle;

pub use adjust::adjust;
pub use read::{from_source, load};
