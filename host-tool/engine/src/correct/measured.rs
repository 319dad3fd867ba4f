//! Straightening a frame that was measured.

use super::faults::correction;
use super::model::Correction;
use super::{Change, Settings};
use crate::job::model::Job;
use crate::measured::{Measurement, State};
use crate::movement::measures::Measure;
use crate::movement::model::MovementModel;

/// The options for what was measured: the last reading of each measure with the clamps off, and its history through the
/// steps of straightening of that build.
#[must_use]
pub fn of_measured(
    job: &Job,
    engine: &MovementModel,
    measurements: &[Measurement],
    settings: &Settings,
) -> Correction {
    let last_build = measurements.last().map_or("", |one| one.build.as_str());
    let of_build: Vec<&Measurement> = measurements
        .iter()
        .filter(|one| one.build == last_build && one.state != State::Clamped)
        .collect();
    let changes = changes(job, engine.measures(), &of_build);
    let basis = match of_build.last() {
        Some(last) => format!("measured on {}, {}", last.on, last.state),
        None => "nothing measured with the clamps off".into(),
    };
    let mut notes: Vec<String> = of_build
        .iter()
        .flat_map(|one| warnings(job, engine.measures(), one))
        .collect();
    notes.push(
        "Measure cold, and after every step. Straightening one bow moves the others: check everything again."
            .into(),
    );
    correction(
        job,
        engine.measures(),
        &changes,
        true,
        basis,
        notes,
        settings,
    )
}

fn warnings(job: &Job, measures: &[Measure], measurement: &Measurement) -> Vec<String> {
    let observed = measurement.observed(job, measures);
    let readings = observed
        .iter()
        .map(|one| &measurement.readings[one.reading]);
    readings
        .flat_map(|reading| &reading.warnings)
        .map(|warning| format!("Implausible when it was entered: {warning}"))
        .collect()
}

fn changes<'a>(
    job: &Job,
    measures: &'a [Measure],
    measurements: &[&Measurement],
) -> Vec<Change<'a>> {
    let mut changes: Vec<Change<'_>> = Vec::new();
    for measurement in measurements {
        for observed in measurement.observed(job, measures) {
            let measure = &measures[observed.measure];
            let value = observed.change_mm.value;
            let known = changes
                .iter_mut()
                .find(|change| change.measure.name == measure.name);
            let Some(change) = known else {
                changes.push(Change {
                    measure,
                    change_mm: observed.change_mm,
                    history_mm: vec![value],
                });
                continue;
            };
            // A second reading at the same stage replaces the first.
            match measurement.state {
                State::Unclamped => change.history_mm.clear(),
                State::Corrected { step } => change.history_mm.truncate(usize::from(step)),
                State::Clamped => {}
            }
            change.history_mm.push(value);
            change.change_mm = observed.change_mm;
        }
    }
    changes
}
