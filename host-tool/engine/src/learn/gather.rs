//! The builds of a job: its measurements, each with its log; and what is left out, with the reason.

use super::build::{Build, Read};
use crate::failure::Failure;
use crate::files::{Files, sha256_of};
use crate::job::model::Job;
use crate::log::csv::CsvOptions;
use crate::log::recalibration;
use crate::map::Settings;
use crate::measured::check::objections;
use crate::measured::{Measurement, State, path_of};
use crate::movement::engine::Engine;
use crate::movement::predict::{measured_net_heat, order_done, planned_net_heat, predict_for};
use crate::shop::file::beside;
use std::path::{Path, PathBuf};

/// What is known of the builds of a job.
#[derive(Debug)]
pub struct Gathered {
    /// The job, without the shop's factors.
    pub job: Job,
    /// Builds to learn from.
    pub builds: Vec<Build>,
    /// What is not learned from, and what is worth knowing, a sentence each.
    pub notes: Vec<String>,
    /// Files that were read, with their digests.
    pub files: Vec<(PathBuf, String)>,
}

/// Reads a job with its measurements and the logs that they name, which lie beside it.
///
/// # Errors
/// [`Failure`] when a file has errors or cannot be read, or the movement of the job cannot be worked out.
pub fn gather(
    files: &dyn Files,
    path: &Path,
    order: &str,
    options: &CsvOptions,
) -> Result<Gathered, Failure> {
    let job = crate::job::load_alone(files, path)?;
    let refuse =
        |error: &dyn std::fmt::Display| Failure::Input(format!("{}: {error}", path.display()));
    let engine = Engine::new(&job).map_err(|error| refuse(&error))?;
    let measured = path_of(path);
    let measurements = crate::measured::load(files, &measured, &job, engine.measures())?;
    let planned: Vec<u16> = if order.is_empty() {
        Vec::new()
    } else {
        let (order, _) = crate::order::given(files, order, &job)?;
        crate::movement::predict::numbers(&job, &order)
    };
    let mut gathered = Gathered {
        builds: Vec::new(),
        notes: Vec::new(),
        files: vec![(path.to_owned(), sha256_of(files, path)?)],
        job,
    };
    if measurements.is_empty() {
        gathered.notes.push(format!(
            "{}: nothing was measured (`coldsquare measure` notes it); nothing is learned from it",
            path.display()
        ));
        return Ok(gathered);
    }
    gathered
        .files
        .push((measured.clone(), sha256_of(files, &measured)?));
    let mut builds: Vec<(&str, &str)> = Vec::new();
    for one in &measurements {
        let key = (one.build.as_str(), one.log_sha256.as_str());
        if !builds.contains(&key) {
            builds.push(key);
        }
    }
    for key in builds {
        let of_build: Vec<&Measurement> = measurements
            .iter()
            .filter(|one| (one.build.as_str(), one.log_sha256.as_str()) == key)
            .collect();
        let found = one_build(
            files,
            &mut gathered,
            path,
            &engine,
            &of_build,
            &planned,
            options,
        )?;
        gathered.builds.extend(found);
    }
    Ok(gathered)
}

/// One build from all its measurements; nothing, with a note, where there is nothing to learn from.
fn one_build(
    files: &dyn Files,
    gathered: &mut Gathered,
    path: &Path,
    engine: &Engine,
    measurements: &[&Measurement],
    planned: &[u16],
    options: &CsvOptions,
) -> Result<Option<Build>, Failure> {
    let first = measurements[0];
    let stem = path.file_name().unwrap_or_default().to_string_lossy();
    let mut name = format!("{stem}, measured {}", first.on);
    if !first.build.is_empty() {
        name = format!("{name}, build {}", first.build);
    }
    let mut note = |text: String| gathered.notes.push(format!("{name}: {text}"));
    if first.log.is_empty() {
        note("no log, so nobody knows what heat went in; nothing is learned from it (`measure --log`)".into());
        return Ok(None);
    }
    let log_path = beside(path, &first.log);
    if !files.exists(&log_path) {
        note(format!(
            "its log {} is not beside the job; nothing is learned from it",
            first.log
        ));
        return Ok(None);
    }
    if sha256_of(files, &log_path)? != first.log_sha256 {
        note(format!(
            "{} is not the log that was there when it was measured; nothing is learned from it",
            first.log
        ));
        return Ok(None);
    }
    let log = crate::log::read(files, &log_path, options)?;
    let settings = Settings {
        order: planned.to_vec(),
        ..Settings::default()
    };
    let map = crate::map::build(&gathered.job, &log, &settings)
        .map_err(|error| Failure::Input(format!("{}: {error}", log_path.display())))?;
    let (heat, as_planned) = measured_net_heat(&gathered.job, &map);
    if !as_planned.is_empty() {
        note(format!(
            "heat not measured, so taken as planned: weld {}",
            crate::format::list(&as_planned)
        ));
    }
    let mut readings = Vec::new();
    for measurement in measurements {
        let (read, notes) = usable(&gathered.job, engine, measurement);
        for text in notes {
            gathered.notes.push(format!("{name}: {text}"));
        }
        for read in read {
            // A wrong reading is answered by a new one, and it is said where the two do not agree.
            let same = |old: &Read| (old.measure, old.clamped) == (read.measure, read.clamped);
            if let Some(old) = readings.iter().find(|old| same(old))
                && contradict(old, &read)
            {
                gathered.notes.push(format!(
                    "{name}: {} was noted twice, as {} and as {}, which contradict each other; the later one counts",
                    engine.measures()[read.measure].name,
                    gathered.job.units.change_with_unit(old.change_mm),
                    gathered.job.units.change_with_unit(read.change_mm)
                ));
            }
            readings.retain(|old: &Read| !same(old));
            readings.push(read);
        }
    }
    if readings.is_empty() {
        gathered
            .notes
            .push(format!("{name}: no reading that can be learned from"));
        return Ok(None);
    }
    if readings.len() == 1 {
        gathered.notes.push(format!(
            "{name}: one reading only; it cannot tell one factor from another, so their doubts stay together"
        ));
    }
    let later = recalibration::path_of(&log_path);
    gathered.files.push((log_path, first.log_sha256.clone()));
    if files.exists(&later) {
        let digest = sha256_of(files, &later)?;
        gathered.files.push((later, digest));
    }
    let mut build = Build::new(name, &gathered.job, order_done(&map), heat)
        .map_err(|error| Failure::Input(format!("{}: {error}", path.display())))?;
    build.readings = readings;
    Ok(Some(build))
}

/// Whether two readings of one thing are further apart than both doubts (k = 2) allow.
fn contradict(a: &Read, b: &Read) -> bool {
    let apart = (a.change_mm.value - b.change_mm.value).abs();
    apart > a.change_mm.expanded().hypot(b.change_mm.expanded())
}

/// The readings of a measurement that can be learned from, and why others are not.
fn usable(job: &Job, engine: &Engine, measurement: &Measurement) -> (Vec<Read>, Vec<String>) {
    let mut notes = Vec::new();
    let clamped = match measurement.state {
        State::Clamped => true,
        State::Unclamped => false,
        State::Corrected { .. } => {
            notes.push(
                "readings after a correction say what was corrected, not what shrank; left out"
                    .into(),
            );
            return (Vec::new(), notes);
        }
    };
    // The unit was looked at when it was entered; what was kept in spite of that carries its doubt.
    let mut readings = measurement.readings.clone();
    readings
        .iter_mut()
        .for_each(|reading| reading.unit_named = true);
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let predicted = predict_for(job, engine, &order, &planned_net_heat(job))
        .map(|prediction| prediction.measures)
        .unwrap_or_default();
    let mut left_out: Vec<usize> = Vec::new();
    for objection in objections(job, engine.measures(), &predicted, &readings) {
        notes.push(format!("{}; left out", objection.what));
        left_out.extend(objection.readings);
    }
    for (index, reading) in readings.iter().enumerate() {
        if !reading.doubts.is_empty() && !left_out.contains(&index) {
            notes.push(format!(
                "{}: {}; left out",
                reading.of,
                reading.doubts.join("; ")
            ));
            left_out.push(index);
        }
    }
    let observed = measurement.observed(job, engine.measures());
    let read = observed
        .into_iter()
        .filter(|one| !left_out.contains(&one.reading))
        .map(|one| Read {
            measure: one.measure,
            clamped,
            change_mm: one.change_mm,
        });
    (read.collect(), notes)
}
