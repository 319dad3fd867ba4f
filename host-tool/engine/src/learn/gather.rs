//! The builds of a job: its measurements, each with its log, and what is left out, with the reason.

use super::build::{Build, Read};
use crate::failure::Failure;
use crate::files::{Files, sha256_of};
use crate::job::model::Job;
use crate::log::recalibration;
use crate::map::Settings;
use crate::map::model::WeldMap;
use crate::measured::check::implausible;
use crate::measured::{Measurement, Reading, State, path_of};
use crate::movement::model::MovementModel;
use crate::movement::predict::{measured_net_heat, order_done, planned_net_heat, predict_for};
use crate::recording::RecordingOptions;
use crate::shop::file::beside;
use coldsquare_core::uncertainty::Uncertain;
use std::path::{Path, PathBuf};

/// The builds of a job.
#[derive(Debug)]
pub struct Gathered {
    /// The job, with the published factors.
    pub job: Job,
    /// Builds to learn from.
    pub builds: Vec<Build>,
    /// What is left out, and other remarks, a sentence each.
    pub notes: Vec<String>,
    /// The files that were read, with their digests.
    pub files: Vec<(PathBuf, String)>,
}

impl Gathered {
    fn note(&mut self, build: &str, text: &str) {
        self.notes.push(format!("{build}: {text}"));
    }

    /// The net heat of each weld as measured; a note says where it was not, and the planned heat stands in.
    fn heat(&mut self, build: &str, map: &WeldMap) -> Vec<Uncertain> {
        let (heat, as_planned) = measured_net_heat(&self.job, map);
        if !as_planned.is_empty() {
            let welds = crate::format::list(&as_planned);
            self.note(
                build,
                &format!("heat not measured, planned heat used: weld {welds}"),
            );
        }
        heat
    }

    /// Notes the digests of the log, and of its recalibration if it has one.
    fn log_files(
        &mut self,
        files: &dyn Files,
        log_path: PathBuf,
        sha256: &str,
    ) -> Result<(), Failure> {
        let later = recalibration::path_of(&log_path);
        self.files.push((log_path, sha256.to_owned()));
        if files.exists(&later) {
            let digest = sha256_of(files, &later)?;
            self.files.push((later, digest));
        }
        Ok(())
    }
}

/// Reads a job with its measurements and the logs that they name, all beside each other.
///
/// # Errors
/// [`Failure`] when a file has errors or cannot be read, or the movement of the job cannot be predicted.
pub fn gather(
    files: &dyn Files,
    path: &Path,
    order: &str,
    options: &RecordingOptions,
) -> Result<Gathered, Failure> {
    let job = crate::job::load_without_factors(files, path)?;
    let refuse =
        |error: &dyn std::fmt::Display| Failure::Input(format!("{}: {error}", path.display()));
    let engine = MovementModel::new(&job).map_err(|error| refuse(&error))?;
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
            "{}: no measurements (record them with `coldsquare measure`); nothing is learned from it",
            path.display()
        ));
        return Ok(gathered);
    }
    gathered
        .files
        .push((measured.clone(), sha256_of(files, &measured)?));
    for of_build in by_build(&measurements) {
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

/// The measurements of each build, in the order of the file.
fn by_build(measurements: &[Measurement]) -> Vec<Vec<&Measurement>> {
    let mut builds: Vec<Vec<&Measurement>> = Vec::new();
    for one in measurements {
        let same = |build: &&mut Vec<&Measurement>| {
            build[0].build == one.build && build[0].log_sha256 == one.log_sha256
        };
        match builds.iter_mut().find(same) {
            Some(build) => build.push(one),
            None => builds.push(vec![one]),
        }
    }
    builds
}

/// One build from all its measurements; `None`, with a note, if there is nothing to learn from.
fn one_build(
    files: &dyn Files,
    gathered: &mut Gathered,
    path: &Path,
    engine: &MovementModel,
    measurements: &[&Measurement],
    planned: &[u16],
    options: &RecordingOptions,
) -> Result<Option<Build>, Failure> {
    let first = measurements[0];
    let name = build_name(path, first);
    let log_path = match log_path(files, path, first)? {
        Ok(log_path) => log_path,
        Err(why) => {
            gathered.note(&name, &format!("{why}; nothing is learned from it"));
            return Ok(None);
        }
    };
    let log = crate::log::read_of_job(files, &log_path, options, &gathered.job)?;
    let settings = Settings {
        order: planned.to_vec(),
        ..Settings::default()
    };
    let map = crate::map::build(&gathered.job, &log, &settings)
        .map_err(|error| Failure::Input(format!("{}: {error}", log_path.display())))?;
    let heat = gathered.heat(&name, &map);
    let readings = readings(gathered, &name, engine, measurements);
    match readings.len() {
        0 => {
            gathered.note(&name, "it has no reading to learn from");
            return Ok(None);
        }
        1 => gathered.note(
            &name,
            "it has only one reading, which cannot tell one factor from another",
        ),
        _ => {}
    }
    gathered.log_files(files, log_path, &first.log_sha256)?;
    let mut build = Build::new(name, &gathered.job, order_done(&map), heat)
        .map_err(|error| Failure::Input(format!("{}: {error}", path.display())))?;
    build.readings = readings;
    Ok(Some(build))
}

fn build_name(path: &Path, first: &Measurement) -> String {
    let job = path.file_name().unwrap_or_default().to_string_lossy();
    let name = format!("{job}, measured {}", first.on);
    if first.build.is_empty() {
        name
    } else {
        format!("{name}, build {}", first.build)
    }
}

/// The log of a measurement, or why it cannot be used.
fn log_path(
    files: &dyn Files,
    path: &Path,
    first: &Measurement,
) -> Result<Result<PathBuf, String>, Failure> {
    if first.log.is_empty() {
        return Ok(Err(
            "it has no log (`measure --log`), so its heat is unknown".into(),
        ));
    }
    let log_path = beside(path, &first.log);
    if !files.exists(&log_path) {
        return Ok(Err(format!("its log {} is not beside the job", first.log)));
    }
    if sha256_of(files, &log_path)? != first.log_sha256 {
        return Ok(Err(format!(
            "{} has changed since it was measured",
            first.log
        )));
    }
    Ok(Ok(log_path))
}

/// The readings of a build, the later of two of the same measure.
fn readings(
    gathered: &mut Gathered,
    name: &str,
    engine: &MovementModel,
    measurements: &[&Measurement],
) -> Vec<Read> {
    let mut readings = Vec::new();
    for measurement in measurements {
        let (read, notes) = usable(&gathered.job, engine, measurement);
        for text in notes {
            gathered.note(name, &text);
        }
        for read in read {
            // A later reading replaces an earlier one, with a note if they contradict each other.
            let same = |old: &Read| (old.measure, old.clamped) == (read.measure, read.clamped);
            if let Some(old) = readings.iter().find(|old| same(old))
                && contradict(old, &read)
            {
                let note = format!(
                    "{} was noted as {} and as {}, which contradict each other; the later one counts",
                    engine.measures()[read.measure].name,
                    gathered.job.units.change_with_unit(old.change_mm),
                    gathered.job.units.change_with_unit(read.change_mm)
                );
                gathered.note(name, &note);
            }
            readings.retain(|old: &Read| !same(old));
            readings.push(read);
        }
    }
    readings
}

/// Whether two readings of one measure are further apart than both uncertainties (k = 2) allow.
fn contradict(a: &Read, b: &Read) -> bool {
    let apart = (a.change_mm.value - b.change_mm.value).abs();
    apart > a.change_mm.expanded().hypot(b.change_mm.expanded())
}

/// Indices of the readings that are not plausible or came with a warning, each with a note.
fn doubtful(
    job: &Job,
    engine: &MovementModel,
    readings: &[Reading],
    notes: &mut Vec<String>,
) -> Vec<usize> {
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let predicted = predict_for(job, engine, &order, &planned_net_heat(job))
        .map(|prediction| prediction.measures)
        .unwrap_or_default();
    let mut doubtful: Vec<usize> = Vec::new();
    for found in implausible(job, engine.measures(), &predicted, readings) {
        notes.push(format!("{}; left out", found.what));
        doubtful.extend(found.readings);
    }
    for (index, reading) in readings.iter().enumerate() {
        if !reading.warnings.is_empty() && !doubtful.contains(&index) {
            notes.push(format!(
                "{}: {}; left out",
                reading.of,
                reading.warnings.join("; ")
            ));
            doubtful.push(index);
        }
    }
    doubtful
}

/// The readings of a measurement to learn from, and why others are left out.
fn usable(
    job: &Job,
    engine: &MovementModel,
    measurement: &Measurement,
) -> (Vec<Read>, Vec<String>) {
    let mut notes = Vec::new();
    let clamped = match measurement.state {
        State::Clamped => true,
        State::Unclamped => false,
        State::Corrected { .. } => {
            notes.push(
                "readings after straightening show what was straightened, not what shrank; left out"
                    .into(),
            );
            return (Vec::new(), notes);
        }
    };
    // Units were checked when the readings were entered; those kept despite a warning carry it.
    let mut readings = measurement.readings.clone();
    readings
        .iter_mut()
        .for_each(|reading| reading.unit_named = true);
    let left_out = doubtful(job, engine, &readings, &mut notes);
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
