//! What every option starts from.

use crate::correct::model::{Degree, Place, PlaceKind, RepairKind, RepairOption};
use crate::correct::{Change, Settings};
use crate::format::Precision;
use crate::job::model::{Job, Point};
use crate::units::Units;
use std::collections::BTreeMap;

/// One change with everything that decides how it can be straightened.
#[derive(Clone, Copy)]
pub(in crate::correct) struct Case<'a> {
    pub job: &'a Job,
    pub change: &'a Change<'a>,
    /// Measured; otherwise predicted.
    pub measured: bool,
    pub tolerance_mm: f64,
    /// All bows of the frame.
    pub bows: &'a [MemberBow<'a>],
    pub settings: &'a Settings,
}

/// The bow of a member to one of its sides.
#[derive(Clone, Copy, Debug)]
pub(in crate::correct) struct MemberBow<'a> {
    pub name: &'a str,
    pub member: usize,
    /// The side to which it counts as positive.
    pub towards: Point,
    /// Before any straightening, mm; `None` if it is not known.
    pub first_mm: Option<f64>,
    pub tolerance_mm: f64,
}

impl Case<'_> {
    pub(super) fn units(&self) -> Units {
        self.settings.units
    }

    /// A size as drawn or read, with its unit.
    pub(super) fn drawn(&self, mm: f64) -> String {
        self.units().length_with_unit(mm, Precision::Drawn)
    }

    /// A place or a length to mark, with its unit.
    pub(super) fn mark(&self, mm: f64) -> String {
        self.units().length_with_unit(mm, Precision::Mark)
    }

    /// Whether the member is structural.
    pub(super) fn structural(&self) -> bool {
        let of_job = |member| self.job.structural.has(member);
        self.settings.structural || self.change.measure.member.is_some_and(of_job)
    }
}

/// Possible options first, those with the least effort and risk first.
pub(super) fn sort(options: &mut [RepairOption]) {
    options.sort_by_key(|option| {
        (
            !option.possible,
            option.kind != RepairKind::Leave,
            option.effort as u8 + option.risk as u8,
            option.risk,
        )
    });
}

/// An option that is not possible, with the reason.
pub(super) fn not_possible(kind: RepairKind, why: impl Into<String>) -> RepairOption {
    RepairOption {
        kind,
        possible: false,
        summary: vec![why.into()],
        steps: Vec::new(),
        cautions: Vec::new(),
        effort: Degree::Low,
        risk: Degree::High,
        places: Vec::new(),
        figures: BTreeMap::new(),
    }
}

/// A place without a shim.
pub(super) fn place(at_mm: f64, what: PlaceKind) -> Place {
    Place {
        at_mm,
        amount_mm: 0.0,
        what,
    }
}

/// Caution for anything that presses or pulls.
pub(super) const STORED_ENERGY: &str = "A frame under a clamp or jack stores energy: stand aside, never in line with it, wear eye \
    protection, chain down what could fly, and let go slowly.";
