//! Drawings of the frame: what is where ([`scene`]), from which side ([`view`]), with what marked ([`figure`]).
//!
//! ```text
//! Job -> Scene -> Figures(View, Mark) -> SVG
//! ```
//!
//! The visual language stands in docs/design-language.md.

mod ends;
pub mod figure;
pub mod label;
pub mod palette;
pub mod scene;
pub mod svg;
pub mod view;
mod weld_map;

pub use weld_map::{WORST_FIRST, count, marks, weld_map_svg};

/// What a drawing looks like, with colours by name; see [`palette`].
pub const STYLE: &str = include_str!("drawing.css");
