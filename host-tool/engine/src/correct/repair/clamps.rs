//! Before the build: clamp the member in more places.

use super::case::{not_possible, sort};
use crate::correct::Settings;
use crate::correct::model::{Degree, Fault, RepairKind, RepairOption};
use crate::format::Precision;
use crate::job::model::Job;
use crate::movement::predict::Prediction;

/// Adds what three more clamps would do to a bow. `clamped` is the job with these clamps and its prediction, if there is
/// one.
pub(in crate::correct) fn add_clamps(
    fault: &mut Fault,
    clamped: Option<(&Job, &Prediction)>,
    settings: &Settings,
) {
    let found = clamped.and_then(|(job, with)| {
        let measure = with.measures.iter().find(|m| m.name == fault.name)?;
        let clamps = job.clamps.iter().zip(&with.clamp_forces_n);
        let here = clamps.filter(|(clamp, _)| Some(clamp.member) == measure.member);
        let forces = here.map(|(_, force)| force.value.abs());
        let held = measure.clamped_mm;
        Some((measure.released_mm, held, forces.fold(0.0, f64::max)))
    });
    let Some((left, held, force_n)) = found.filter(|_| fault.length_mm > 0.0) else {
        return;
    };
    let (units, unit) = (settings.units, settings.units.length_symbol());
    let leaves = units.signed_length(left.value, Precision::Drawn);
    let plus_minus = units.length(left.expanded(), Precision::Drawn);
    let without = units.signed_length(fault.change_mm, Precision::Drawn);
    let (needed, available) = (units.force(force_n), units.force(settings.press_n));
    let no = |why: String| not_possible(RepairKind::Clamps, why);
    fault.options.push(if left.value.abs() >= 0.8 * fault.change_mm.abs() {
        no(format!(
            "Three more clamps would hold it at {} {unit} while it is welded, but when they come off it springs back to {leaves} \
             {unit}; without them it is {without} {unit}. Clamps keep the metal still; the pull of the welds stays in it. Hot metal \
             that is held still stretches a little, which may take out more than that; it is not calculated. A bend that stays \
             (pre-camber) does help.",
            units.signed_length(held.value, Precision::Drawn)
        ))
    } else if force_n > settings.press_n {
        no(format!(
            "With three more clamps one would have to hold {needed}; yours hold {available} (--press-force)."
        ))
    } else {
        RepairOption {
            possible: true,
            steps: vec![
                "Put firm clamps at both ends and the middle of the member; take them off when everything is cold."
                    .into(),
            ],
            effort: Degree::Low,
            risk: Degree::Low,
            figures: [("left_mm", left.value), ("force_n", force_n)].into(),
            ..no(format!(
                "Three more clamps leave {leaves} ± {plus_minus} {unit} instead of {without} {unit}. The most loaded one \
                 holds {needed}; yours hold {available}."
            ))
        }
    });
    sort(&mut fault.options);
}
