//! The measurements of a build beside the prediction from its own heat.

use super::{Measurement, State, path_of};
use crate::comparison::{Compared, Comparison};
use crate::failure::Failure;
use crate::files::Files;
use crate::format;
use crate::job::model::Job;
use crate::map::model::WeldMap;
use crate::movement::model::MovementModel;
use crate::movement::predict::{Predicted, measured_net_heat, order_done, predict_for};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use std::path::Path;

/// Puts the measurements of a build on its map, beside the prediction from the map's heat in the order welded.
///
/// These are the measurements noted with this log; if no log was ever named, those without one.
///
/// # Errors
/// [`Failure`] when the measurements file has errors or cannot be read.
pub fn put_on(
    files: &dyn Files,
    map: &mut WeldMap,
    job: &Job,
    job_path: &Path,
    log_sha256: &str,
) -> Result<(), Failure> {
    let path = path_of(job_path);
    if !files.exists(&path) {
        return Ok(());
    }
    let engine = MovementModel::new(job)
        .map_err(|error| Failure::Input(format!("{}: {error}", job_path.display())))?;
    let all = super::load(files, &path, job, engine.measures())?;
    let (of_build, notes) = of_build(&all, log_sha256);
    if of_build.is_empty() && notes.is_empty() {
        return Ok(());
    }
    map.measured = Some(compare(job, &engine, map, (&of_build, log_sha256), notes));
    Ok(())
}

/// The measurements of the build that this log recorded.
fn of_build<'m>(all: &'m [Measurement], log_sha256: &str) -> (Vec<&'m Measurement>, Vec<String>) {
    let of_log = |sha256: &str| -> Vec<&Measurement> {
        all.iter().filter(|one| one.log_sha256 == sha256).collect()
    };
    let (named, unnamed) = (of_log(log_sha256), of_log(""));
    match (named.len(), unnamed.len()) {
        _ if all.is_empty() => (Vec::new(), Vec::new()),
        (0, some) if some < all.len() => (
            Vec::new(),
            vec!["the measurements were noted with other logs, so they are of other builds".into()],
        ),
        (0, _) => (
            unnamed,
            vec!["measured without naming a log (measure --log); taken as of this build".into()],
        ),
        (_, 0) => (named, Vec::new()),
        (_, _) => (
            named,
            vec!["measurements without a log are left out: they may be of another build".into()],
        ),
    }
}

fn compare(
    job: &Job,
    engine: &MovementModel,
    map: &WeldMap,
    (measurements, log_sha256): (&[&Measurement], &str),
    mut notes: Vec<String>,
) -> Comparison {
    let (heat, as_planned) = measured_net_heat(job, map);
    if !as_planned.is_empty() && !measurements.is_empty() {
        notes.push(format!(
            "heat not measured, planned heat used: weld {}",
            format::list(&as_planned)
        ));
    }
    let predicted = match predict_for(job, engine, &order_done(map), &heat) {
        Ok(prediction) => prediction.measures,
        Err(error) => {
            notes.push(format!("no prediction: {error}"));
            Vec::new()
        }
    };
    if job
        .shop
        .as_ref()
        .is_some_and(|shop| shop.rests_on.iter().any(|sha256| sha256 == log_sha256))
    {
        notes.push(
            "these factors were learned from this build too, so the comparison does not test them"
                .into(),
        );
    }
    let mut rows: Vec<Compared> = Vec::new();
    for &measurement in measurements {
        for row in rows_of(job, engine, &predicted, measurement) {
            // A later reading replaces an earlier one.
            rows.retain(|old| (&old.of, old.state) != (&row.of, row.state));
            rows.push(row);
        }
        let kept = measurement.readings.iter().flat_map(|reading| {
            let warnings = reading.warnings.iter();
            warnings.map(|warning| format!("kept despite a warning: {warning}"))
        });
        notes.extend(kept);
    }
    Comparison {
        factors: job.factors_in_use(),
        rows,
        notes,
    }
}

fn rows_of(
    job: &Job,
    engine: &MovementModel,
    predicted: &[Predicted],
    measurement: &Measurement,
) -> Vec<Compared> {
    let observed = measurement.observed(job, engine.measures());
    let readings = measurement.readings.iter().enumerate();
    let row = |(index, reading): (usize, &super::Reading)| {
        let change = observed.iter().find(|one| one.reading == index);
        let expected = predicted.iter().find(|one| one.name == reading.of);
        Compared {
            of: reading.of.clone(),
            state: measurement.state,
            on: measurement.on.clone(),
            measured_mm: change.map_or_else(
                || Uncertain {
                    value: reading.value_mm(),
                    standard: reading.plus_minus_mm() / COVERAGE_FACTOR,
                },
                |one| one.change_mm,
            ),
            predicted_mm: expected.and_then(|one| match measurement.state {
                State::Clamped => Some(one.clamped_mm),
                State::Unclamped => Some(one.released_mm),
                State::Corrected { .. } => None,
            }),
        }
    };
    readings.map(row).collect()
}
