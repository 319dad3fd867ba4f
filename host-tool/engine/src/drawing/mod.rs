//! Drawings of the frame: what is where ([`scene`]), from which side ([`view`]), with what marked ([`figure`]).
//!
//! ```text
//! Job -> Scene -> Figures(View, Mark) -> SVG
//! ```
//!
//! docs/design-language.md describes the visual language. A new kind of drawing is a new file here that uses [`figure`]
//! for the frame and `sheet` for a file that stands alone.

mod axes;
mod characters;
mod ends;
pub mod figure;
pub mod label;
mod order;
pub mod palette;
pub mod scene;
mod sheet;
pub mod svg;
pub mod view;
mod weld_map;

pub use characters::weld_map_in_characters;
pub use order::order_svg;
pub use weld_map::{WORST_FIRST, count, marks, weld_map_svg};

/// What a drawing looks like, with colours by name; see [`palette`].
pub const STYLE: &str = include_str!("drawing.css");
