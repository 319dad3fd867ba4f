//! Drawings of the frame: what is where ([`scene`]), from which side ([`view`]), with what marked ([`figure`]).
//!
//! ```text
//! Job -> Scene -> Figures(View, Mark) -> SVG
//! ```
//!
//! The visual language stands in docs/design-language.md.

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
