//! What is wrong and how to straighten it, as data: text, JSON and page show the same.
//!
//! ```
//! use coldsquare_engine::correct::model::RepairKind;
//!
//! assert_eq!(RepairKind::Press.title(), "Bend it back cold, over blocks");
//! ```

use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;
use serde::Serialize;
use std::collections::BTreeMap;

/// Kind of option.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[non_exhaustive]
#[serde(rename_all = "kebab-case")]
pub enum RepairKind {
    /// Leave it.
    Leave,
    /// Cut the next one longer.
    CutLength,
    /// Bow it the other way before welding.
    PreCamber,
    /// More clamps, or other clamps.
    Clamps,
    /// Bend it back cold over blocks.
    Press,
    /// Shrink the long side with heat, in lines across it.
    Heat,
    /// Shrink the long side with heat, in round spots.
    HeatSpots,
    /// A weld or brace on the other side.
    OppositeWeld,
    /// Cut what ties it loose, bend it back, weld it again.
    CutLoose,
}

impl RepairKind {
    /// Its title.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Leave => "Leave it",
            Self::CutLength => "Cut it longer",
            Self::PreCamber => "Pre-camber: bow it the other way first",
            Self::Clamps => "More clamps, or other clamps",
            Self::Press => "Bend it back cold, over blocks",
            Self::Heat => "Heat the long side in lines",
            Self::HeatSpots => "Heat the long side in spots",
            Self::OppositeWeld => "Weld or brace on the other side",
            Self::CutLoose => "Cut it loose, bend it back, weld it again",
        }
    }
}

/// Effort or risk, in three steps.
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
    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
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
    /// Distance from the start of the member, mm.
    pub at_mm: f64,
    /// Height of a shim, mm; 0 for anything else.
    pub amount_mm: f64,
    /// What is there.
    pub what: PlaceKind,
}

/// What is at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum PlaceKind {
    /// A block that the bar lies on.
    Block,
    /// The press.
    Press,
    /// Heat.
    Heat,
    /// A shim.
    Shim,
}

/// One way to straighten one fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RepairOption {
    /// Kind of option.
    pub kind: RepairKind,
    /// Whether it is possible here; if not, `summary` says why.
    pub possible: bool,
    /// How much and where, or why not: sentences.
    pub summary: Vec<String>,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// What can hurt people or spoil the work.
    pub cautions: Vec<String>,
    /// Effort.
    pub effort: Degree,
    /// Risk of making things worse.
    pub risk: Degree,
    /// Places along the member.
    pub places: Vec<Place>,
    /// Its figures; the name ends with the unit.
    pub figures: BTreeMap<&'static str, f64>,
}

/// A measure that is out of tolerance, and the options.
#[derive(Clone, Debug, Serialize)]
pub struct Fault {
    /// Name of the measure.
    pub name: String,
    /// Whether it was measured; otherwise it is predicted.
    pub measured: bool,
    /// Change, mm.
    pub change_mm: f64,
    /// Uncertainty of the change ± (k = 2), mm.
    pub plus_minus_mm: f64,
    /// Tolerance ±, mm.
    pub tolerance_mm: f64,
    /// Length of the member, mm; 0 if the fault is not a bow.
    pub length_mm: f64,
    /// Options: possible ones first, those with the least effort and risk first.
    pub options: Vec<RepairOption>,
}

impl Fault {
    /// "measured" or "predicted".
    #[must_use]
    pub const fn known_by(&self) -> &'static str {
        if self.measured {
            "measured"
        } else {
            "predicted"
        }
    }
}

/// One size of the frame with longer cuts and pre-camber, and without.
#[derive(Clone, Debug, Serialize)]
pub struct SizeForecast {
    /// "width at the top".
    pub name: String,
    /// Target, mm.
    pub target_mm: f64,
    /// Size if built as drawn, and its uncertainty ± (k = 2), mm.
    pub as_drawn_mm: [f64; 2],
    /// What longer cuts add, mm.
    pub longer_mm: f64,
    /// What pre-camber adds, mm.
    pub pre_camber_mm: f64,
    /// Size with longer cuts and pre-camber, and its uncertainty ± (k = 2), mm.
    pub corrected_mm: [f64; 2],
}

/// The options for all that is out of tolerance.
#[derive(Clone, Debug, Serialize)]
pub struct Correction {
    /// Name of the job.
    pub title: String,
    /// What it is based on.
    pub basis: String,
    /// Notes on it as a whole.
    pub notes: Vec<String>,
    /// What is out of tolerance, worst first.
    pub faults: Vec<Fault>,
    /// Names of the measures within tolerance.
    pub within_tolerance: Vec<String>,
    /// Sizes with longer cuts and pre-camber; before the build only.
    pub sizes: Vec<SizeForecast>,
    /// Units of the sentences; the numbers are metric.
    #[serde(skip)]
    pub units: Units,
}

/// A number and its expanded uncertainty.
#[must_use]
pub(super) fn pair(value: Uncertain) -> [f64; 2] {
    [value.value, value.expanded()]
}
