//! Drawings of the frame: what is where ([`scene`]), from which side ([`view`]), with what marked ([`figure`]).
//!
//! ```text
//! Job -> Scene -> Figures(View, Mark) -> SVG
//! ```
//!
//! docs/design-language.md describes the visual language. A new kind of drawing is a new file here that uses [`figure`]
//! for the frame and [`sheet`] for a file that stands alone.
//!
//! ```
//! use coldsquare_engine::drawing::figure::{Figures, Mark};
//! use coldsquare_engine::drawing::scene::Scene;
//! use coldsquare_engine::{example, job};
//!
//! let job = job::from_text("gate.toml", example::GARDEN_GATE).expect("the example has no errors");
//! let scene = Scene::of(&job);
//! let mark = |label| Mark { label, class: "later", title: String::new(), arrow: false };
//! let marks: Vec<Mark> = job.welds.iter().map(|weld| mark(weld.number.to_string())).collect();
//! let views = Figures::new(&scene, &marks).views();
//! let numbered: usize = views.iter().map(|(_, _, welds)| welds.len()).sum();
//! assert_eq!(numbered, job.welds.len(), "each weld is numbered in one view");
//! ```

mod axes;
mod characters;
mod dimensions;
mod dxf;
pub(crate) mod ends;
pub mod figure;
mod fixture;
mod frame;
pub mod label;
mod opening;
mod order;
pub mod palette;
pub mod scene;
pub mod sheet;
pub(crate) mod svg;
pub mod view;
mod weld_map;

pub(crate) use axes::Axes;
pub(crate) use characters::{face, plain_marks};
pub use characters::{frame_in_characters, sketch_in_characters, weld_map_in_characters};
pub(crate) use dimensions::ROOM as DIMENSIONS_ROOM;
pub use dxf::{draw_moved, frame_dxf};
pub use fixture::fixture_svg;
pub(crate) use fixture::{draw as draw_fixture, height as fixture_height};
pub use frame::frame_svg;
pub use opening::opening_svg;
pub use order::order_svg;
pub(crate) use weld_map::{WORST_FIRST, count};
pub use weld_map::{marks, weld_map_svg};

/// What a drawing looks like, with colours by name; see [`palette`].
pub(crate) const STYLE: &str = include_str!("drawing.css");
