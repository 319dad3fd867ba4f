//! What is offered to begin with, and which few sizes each shape asks for.
//!
//! ```
//! use coldsquare_engine::job::start::offered;
//! use coldsquare_engine::units::Units;
//!
//! let stand = offered(Units::Metric).into_iter().find(|one| one.shape == "stand").unwrap();
//! assert!(stand.sizes.iter().any(|size| size.key == "splay"));
//! ```

use super::shapes::{Shape, Wanted};
use crate::units::Units;

/// A shape as it is offered.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Offered {
    /// Its word, as in `coldsquare new --shape`.
    pub shape: &'static str,
    /// What it is called.
    pub name: &'static str,
    /// What it is, in a few words.
    pub about: &'static str,
    /// What it asks for.
    pub sizes: Vec<Size>,
}

/// A size that a shape asks for.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Size {
    /// The option of `coldsquare new`.
    pub key: &'static str,
    /// What to ask.
    pub label: &'static str,
    /// What is usual, as it is typed.
    pub usual: String,
}

/// Everything that is offered, with what is usual in these units.
#[must_use]
pub fn offered(units: Units) -> Vec<Offered> {
    let one = |(word, shape): (&'static str, Shape)| {
        let (name, about) = words(shape);
        Offered {
            shape: word,
            name,
            about,
            sizes: sizes(shape, units),
        }
    };
    Shape::NAMES.into_iter().map(one).collect()
}

const fn words(shape: Shape) -> (&'static str, &'static str) {
    match shape {
        Shape::Frame => (
            "Flat frame",
            "four members, with bars or without: a gate, a panel",
        ),
        Shape::Shelf => ("Shelf", "uprights and rails, rails welded on one side only"),
        Shape::Ladder => ("Ladder", "two uprights with rungs between them"),
        Shape::Box => ("Box", "a base, four legs, a ring of rails at the top"),
        Shape::Trolley => (
            "Trolley",
            "a box with a bar in its base and two rings of rails",
        ),
        Shape::Table => ("Table", "a top frame on four legs"),
        Shape::Stand => ("Stand", "a top frame on four round legs that lean outwards"),
        Shape::Tee => (
            "T-beam",
            "a flat with a rib along its middle, welded on both sides",
        ),
        Shape::Bracket => ("Bracket", "an arm on an upright, with a stay below it"),
    }
}

fn sizes(shape: Shape, units: Units) -> Vec<Size> {
    let [width, depth, height] = shape.usual(units);
    let [main, bar] = shape.sections(units);
    let size = |key, label, usual: f64| Size {
        key,
        label,
        usual: usual.to_string(),
    };
    let section = |key, label, usual: &str| Size {
        key,
        label,
        usual: usual.to_owned(),
    };
    let is_flat = matches!(shape, Shape::Frame | Shape::Shelf | Shape::Ladder);
    let mut sizes = vec![match shape {
        Shape::Tee => size("width", "Length", width),
        Shape::Bracket => size("width", "Reach of the arm", width),
        _ => size("width", "Width, outside", width),
    }];
    if depth > 0.0 {
        sizes.push(size("depth", "Depth, front to back", depth));
    }
    match shape {
        Shape::Tee => {}
        _ if is_flat => sizes.push(size("height", "Height, outside", height)),
        _ => sizes.push(size("height", "Height, from the floor", height)),
    }
    let main_label = match shape {
        Shape::Tee => "Section of the flat",
        _ => "Section",
    };
    sizes.push(section("section", main_label, main));
    match shape {
        Shape::Frame | Shape::Shelf | Shape::Ladder | Shape::Trolley => {
            let bars = Wanted::of(shape).usual_bars();
            sizes.push(size("bars", "Number of bars", f64::from(bars)));
            sizes.push(section("bar_section", "Section of the bars", bar));
        }
        Shape::Stand => {
            sizes.push(size("splay", "How far the feet stand out", height / 10.0));
            sizes.push(section("bar_section", "Section of the legs", bar));
        }
        Shape::Tee => sizes.push(section("bar_section", "Section of the rib", bar)),
        Shape::Bracket => sizes.push(section("bar_section", "Section of the stay", bar)),
        Shape::Box | Shape::Table => {}
    }
    sizes
}
