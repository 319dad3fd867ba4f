//! Which gains are worth a line, and how many members a line names.

use crate::plan::model::Gain;

/// A gain below this is not worth a line, mm: a straightedge and feeler gauges do not show it.
pub(super) const WORTH_MM: f64 = 0.05;
/// Most members that one line bends or clamps.
pub(super) const MAX_MEMBERS: usize = 4;
/// A line has only as many members as it takes to save this share of what all of them would.
const ENOUGH: f64 = 0.8;

/// Of groups that grow by one member, the first that saves most of what the best of them saves.
pub(super) fn enough(groups: Vec<Gain>) -> Option<Gain> {
    let most = groups.iter().map(|gain| gain.saves_mm).fold(0.0, f64::max);
    groups
        .into_iter()
        .find(|gain| gain.saves_mm >= ENOUGH * most)
}
