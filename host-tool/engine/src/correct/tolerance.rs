//! Tolerances, if the user does not give one.

use super::Change;
use crate::geometry::Point;
use crate::job::model::Job;
use crate::movement::measures::{Measure, MeasureKind};

/// Upper end of a range of nominal sizes and its tolerance, mm.
type Row = (f64, f64);

/// EN ISO 13920:1996, table 1, class A (linear sizes). Values from memory.
const SIZES: [Row; 6] = [
    (400.0, 1.0),
    (1000.0, 2.0),
    (2000.0, 3.0),
    (4000.0, 4.0),
    (8000.0, 5.0),
    (12000.0, 6.0),
];

/// EN ISO 13920:1996, table 3, class E (straightness, flatness). Values from memory.
const STRAIGHTNESS: [Row; 6] = [
    (120.0, 0.5),
    (400.0, 1.0),
    (1000.0, 1.5),
    (2000.0, 2.0),
    (4000.0, 3.0),
    (8000.0, 4.0),
];

/// Tolerance ± of a measure over a length, mm.
pub(crate) fn tolerance_mm(kind: MeasureKind, over_mm: f64) -> f64 {
    let table = match kind {
        MeasureKind::Bow | MeasureKind::Twist => STRAIGHTNESS,
        _ => SIZES,
    };
    let row = table.iter().find(|row| over_mm <= row.0).or(table.last());
    row.map_or(2.0, |row| row.1)
}

/// The length that a tolerance is for, mm.
pub(super) fn over_mm(job: &Job, measure: &Measure) -> f64 {
    match measure.member.and_then(|member| job.members.get(member)) {
        Some(member) => (member.to - member.from).length(),
        None if measure.nominal_mm > 0.0 => measure.nominal_mm,
        None => {
            let size = |p: fn(&Point) -> f64| {
                let ends = job.members.iter().flat_map(|m| [p(&m.from), p(&m.to)]);
                ends.clone().fold(f64::MIN, f64::max) - ends.fold(f64::MAX, f64::min)
            };
            size(|p| p.x).max(size(|p| p.y)).max(1.0)
        }
    }
}

/// Whether a size leaves less clearance in the opening than the job wants.
pub(super) fn is_too_large(job: &Job, change: &Change<'_>) -> bool {
    let Some(opening) = &job.opening else {
        return false;
    };
    let clear = match change.measure.name.split_whitespace().next() {
        Some("width") => Some(opening.width.0),
        Some("height") => opening.height.map(|height| height.0),
        _ => None,
    };
    let size = change.measure.nominal_mm + change.change_mm.value + change.change_mm.expanded();
    change.measure.kind == MeasureKind::Size
        && clear.is_some_and(|clear| clear - size < 2.0 * opening.clearance.0)
}
