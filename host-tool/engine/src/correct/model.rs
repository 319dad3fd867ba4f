//! What is wrong and the ways to mend it, as data: text, JSON and page print the same.

use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;
use serde::Serialize;
use std::collections::BTreeMap;

/// Which way of mending.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Leave it.
    Leave,
    /// Cut longer.
    CutLength,
    /// Bow it the other way before welding.
    PreSet,
    /// More or other clamps.
    Clamps,
    /// Bend it back cold over blocks.
    Press,
    /// Shrink the long side with heat, in lines across it.
    Heat,
    /// The same in round spots.
    HeatSpots,
    /// A weld or brace on the other side.
    OppositeWeld,
}

impl Kind {
    /// Its heading.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Leave => "Leave it",
            Self::CutLength => "Cut it longer",
            Self::PreSet => "Pre-set: bow it the other way first",
            Self::Clamps => "More or other clamps",
            Self::Press => "Bend it back cold, over blocks",
            Self::Heat => "Heat the long side in lines",
            Self::HeatSpots => "Heat the long side in spots",
            Self::OppositeWeld => "Weld or brace on the other side",
        }
    }
}

/// How hard or how risky, in three steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Degree {
    /// Little.
    Low,
    /// Some.
    Medium,
    /// Much.
    High,
}

impl Degree {
    /// The word for it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Low => "low",
            Self::Medium => "medium",
            Self::High => "high",
        }
    }
}

/// A place along a member and what is done there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Place {
    /// From the start of the member, mm.
    pub at_mm: f64,
    /// How much: a shim's height, or nothing where only the place matters, mm.
    pub amount_mm: f64,
    /// What stands there.
    pub what: PlaceKind,
}

/// What stands at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum PlaceKind {
    /// A block that the bar lies on.
    Block,
    /// Where it is pressed.
    Press,
    /// Where it is heated.
    Heat,
    /// A shim.
    Shim,
}

/// One way to mend one fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Way {
    /// Which.
    pub kind: Kind,
    /// Whether it is open and sound here; otherwise `says` tells why not.
    pub open: bool,
    /// How much, where, or why not: sentences.
    pub says: Vec<String>,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// What can hurt people or work.
    pub cautions: Vec<String>,
    /// Work it takes.
    pub effort: Degree,
    /// What can go wrong.
    pub risk: Degree,
    /// Where.
    pub places: Vec<Place>,
    /// Its numbers, each with its unit in its name.
    pub figures: BTreeMap<&'static str, f64>,
}

/// A measure that is to be mended, and the ways.
#[derive(Clone, Debug, Serialize)]
pub struct Fault {
    /// Name of the measure.
    pub name: String,
    /// Whether it was measured; otherwise it is predicted.
    pub measured: bool,
    /// Change, mm.
    pub change_mm: f64,
    /// Its doubt ± (k = 2), mm.
    pub plus_minus_mm: f64,
    /// What is tolerated, mm.
    pub tolerance_mm: f64,
    /// Length of the member, mm; nothing for what is not a bow.
    pub length_mm: f64,
    /// Ways, open ones first, cheapest sound one first.
    pub ways: Vec<Way>,
}

impl Fault {
    /// How its change is known, as printed.
    #[must_use]
    pub const fn known_by(&self) -> &'static str {
        if self.measured {
            "measured"
        } else {
            "expected"
        }
    }
}

/// Size with and without what the plan may do, for one direction of an opening or the drawing.
#[derive(Clone, Debug, Serialize)]
pub struct Together {
    /// "width at the top".
    pub name: String,
    /// Size asked for, mm.
    pub wanted_mm: f64,
    /// Size if nothing is done, and its doubt ± (k = 2), mm.
    pub as_drawn_mm: [f64; 2],
    /// What cutting members longer adds, mm.
    pub longer_mm: f64,
    /// What pre-setting the members that bow adds, mm.
    pub pre_set_mm: f64,
    /// Size with cut-length allowance and pre-set, and its doubt ± (k = 2), mm.
    pub mended_mm: [f64; 2],
}

/// The answer.
#[derive(Clone, Debug, Serialize)]
pub struct Correction {
    /// Name of the job.
    pub title: String,
    /// What it is based on.
    pub basis: String,
    /// Notes on it as a whole.
    pub notes: Vec<String>,
    /// What is to be mended, worst first.
    pub faults: Vec<Fault>,
    /// Names of what is within tolerance.
    pub fine: Vec<String>,
    /// Sizes with allowance and pre-set together; before the build only.
    pub together: Vec<Together>,
    /// What its sentences are in; its numbers are metric.
    #[serde(skip)]
    pub units: Units,
}

/// A number and its expanded uncertainty.
#[must_use]
pub(super) fn pair(value: Uncertain) -> [f64; 2] {
    [value.value, value.expanded()]
}
