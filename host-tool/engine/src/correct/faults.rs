//! The measures that are out of tolerance, each with its options.

use super::model::{Correction, Fault};
use super::repair::{Case, MemberBow, options};
use super::tolerance::{is_too_large, over_mm, tolerance_mm};
use super::{Change, Settings, structural};
use crate::job::model::Job;
use crate::movement::measures::{Measure, MeasureKind};

/// All changes judged; the faults worst first. `measures` are all measures of the frame.
pub(super) fn correction(
    job: &Job,
    measures: &[Measure],
    changes: &[Change<'_>],
    measured: bool,
    basis: String,
    mut notes: Vec<String>,
    settings: &Settings,
) -> Correction {
    if let Some(note) = structural::note(job, settings) {
        notes.insert(0, note);
    }
    let bows = bows(job, measures, changes, settings);
    let (mut faults, mut within_tolerance) = (Vec::new(), Vec::new());
    for change in changes {
        let over = over_mm(job, change.measure);
        let tolerance = settings
            .tolerance_mm
            .unwrap_or_else(|| tolerance_mm(change.measure.kind, over));
        let sure = change.change_mm.value.abs() + change.change_mm.expanded() <= tolerance;
        if sure && !is_too_large(job, change) {
            within_tolerance.push(change.measure.name.clone());
            continue;
        }
        // Diagonals follow from width, height and racking.
        if change.measure.kind == MeasureKind::Diagonal && !measured {
            continue;
        }
        let case = Case {
            job,
            change,
            measured,
            tolerance_mm: tolerance,
            bows: &bows,
            settings,
        };
        faults.push(fault(&case, over));
    }
    faults.sort_by(|a, b| {
        (b.change_mm.abs() / b.tolerance_mm).total_cmp(&(a.change_mm.abs() / a.tolerance_mm))
    });
    Correction {
        title: job.name.clone(),
        basis,
        notes,
        faults,
        within_tolerance,
        sizes: Vec::new(),
        units: settings.units,
    }
}

/// All bows of the frame, with what was measured of them.
fn bows<'a>(
    job: &Job,
    measures: &'a [Measure],
    changes: &[Change<'_>],
    settings: &Settings,
) -> Vec<MemberBow<'a>> {
    let bows = measures
        .iter()
        .filter(|measure| measure.kind == MeasureKind::Bow);
    let one = |measure: &'a Measure| {
        let change = changes
            .iter()
            .find(|change| change.measure.name == measure.name);
        let first = |change: &Change<'_>| {
            let now = change.change_mm.value;
            change.history_mm.first().copied().unwrap_or(now)
        };
        let of_norm = || tolerance_mm(MeasureKind::Bow, over_mm(job, measure));
        Some(MemberBow {
            name: &measure.name,
            member: measure.member?,
            towards: measure.terms.first()?.direction,
            first_mm: change.map(first),
            tolerance_mm: settings.tolerance_mm.unwrap_or_else(of_norm),
        })
    };
    bows.filter_map(one).collect()
}

/// A measure that is out of tolerance over a length, with its options.
fn fault(case: &Case<'_>, over_mm: f64) -> Fault {
    let change = case.change;
    Fault {
        name: change.measure.name.clone(),
        measured: case.measured,
        change_mm: change.change_mm.value,
        plus_minus_mm: change.change_mm.expanded(),
        tolerance_mm: case.tolerance_mm,
        length_mm: match change.measure.kind {
            MeasureKind::Bow => over_mm,
            _ => 0.0,
        },
        options: options(case),
    }
}
