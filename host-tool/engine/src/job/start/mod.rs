//! Frames to begin with, as complete job files: change the sizes and the sections, keep the rest.
//!
//! ```
//! use coldsquare_engine::job::start::STARTING_POINTS;
//!
//! for point in STARTING_POINTS {
//!     assert!(coldsquare_engine::job::from_text(point.name, point.text).is_ok(), "{}", point.name);
//! }
//! ```

mod shapes;

pub(crate) use shapes::procedure as procedure_table;
pub use shapes::{Shape, Wanted, write};

/// A frame to begin with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct StartingPoint {
    /// What it is.
    pub name: &'static str,
    /// What it is good for, in a few words.
    pub about: &'static str,
    /// The job file.
    pub text: &'static str,
}

/// All of them, the simplest first.
pub const STARTING_POINTS: [StartingPoint; 6] = [
    StartingPoint {
        name: "Plain frame",
        about: "four members with mitred corners",
        text: include_str!("plain-frame.toml"),
    },
    StartingPoint {
        name: "Gate",
        about: "a frame with upright bars, between two piers",
        text: crate::example::GARDEN_GATE,
    },
    StartingPoint {
        name: "Shelf",
        about: "uprights and rails, rails welded on one side only",
        text: include_str!("shelf.toml"),
    },
    StartingPoint {
        name: "Ladder",
        about: "two uprights with rungs between them",
        text: include_str!("ladder.toml"),
    },
    StartingPoint {
        name: "Table",
        about: "a top frame on four legs",
        text: include_str!("table.toml"),
    },
    StartingPoint {
        name: "Stiffened flat",
        about: "a flat with a rib along its middle, welded on both sides",
        text: include_str!("stiffened-flat.toml"),
    },
];
