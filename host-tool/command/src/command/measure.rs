//! `coldsquare measure JOB READINGS`: notes what straightedge, tape and table show, beside the job.

use super::Io;
use super::reading::ReadingArguments;
use super::recording::{KeepArguments, read_and_keep};
use super::table::Table;
use crate::disk::Disk;
use crate::notebook::add;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::measured::check::{Implausible, implausible};
use coldsquare_engine::measured::expected::{self, Expected};
use coldsquare_engine::measured::length::{bare_unit, length};
use coldsquare_engine::measured::written::Common;
use coldsquare_engine::measured::{
    Between, LengthUnit, Measurement, Reading, State, added, load, path_of,
};
use coldsquare_engine::movement::measures::MeasureKind;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::Predicted;
use coldsquare_engine::sanitise::plain;
use std::path::PathBuf;

/// Arguments of `measure`.
#[derive(Debug, clap::Args)]
#[command(after_help = HOW)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Record the bow of a member: "top rail up = 4 mm", or at a quarter, half and three quarters: "top rail up = 3, 4, 3"
    #[arg(long, value_name = "MEMBER SIDE=VALUE", allow_hyphen_values = true)]
    pub bow: Vec<String>,
    /// Record a width: "top = 1198.5", "middle = ...", "bottom = ..."; a value alone is the width at the middle
    #[arg(long, value_name = "[WHERE=]VALUE")]
    pub width: Vec<String>,
    /// Record a height: "left = 899", "middle = ...", "right = ..."
    #[arg(long, value_name = "[WHERE=]VALUE")]
    pub height: Vec<String>,
    /// Record both diagonals, bottom left to top right first: "1500, 1497"
    #[arg(long, value_name = "RISING, FALLING")]
    pub diagonals: Option<String>,
    /// Record how much longer the diagonal from bottom left to top right is than the other; negative if shorter
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub racking: Option<String>,
    /// Record the twist on a flat table: the gap and the corner it is under, "top right = 3 mm"
    #[arg(long, value_name = "CORNER=VALUE")]
    pub twist: Option<String>,
    /// Record the gap at a joint: "bar 3 top = 0.5 mm"
    #[arg(long, value_name = "JOINT=VALUE")]
    pub gap: Vec<String>,
    /// Record any measure by the name that `predict` prints: "plumb of leg 1, top to the right = 2 mm"
    #[arg(
        long = "reading",
        value_name = "NAME=VALUE",
        allow_hyphen_values = true
    )]
    pub named: Vec<String>,
    /// Read bare numbers in this unit [default: that of the job]
    #[arg(long, value_enum)]
    pub unit: Option<Unit>,
    /// Set the uncertainty of these readings, ± (k = 2) [default: rule 0.5 mm, tape 1 mm, gauge 0.2 mm]
    #[arg(long, value_name = "LENGTH")]
    pub plus_minus: Option<String>,
    /// Say between which points of the corners you measured widths, heights and diagonals
    #[arg(long, value_enum, default_value = "outside")]
    pub between: Between,
    /// Mark the readings as taken with the clamps on
    #[arg(long, conflicts_with = "after_correction")]
    pub clamped: bool,
    /// Mark the readings as taken after this step of straightening, counted from 1
    #[arg(long, value_name = "STEP", value_parser = clap::value_parser!(u16).range(1..))]
    pub after_correction: Option<u16>,
    /// Name the log of the build that was measured
    #[arg(long, value_name = "LOG")]
    pub log: Option<PathBuf>,
    /// Name the frame if several were built from this job
    #[arg(long, value_name = "NAME", default_value = "")]
    pub build: String,
    /// Date the entry: 2026-11-25 [default: today]
    #[arg(long, value_parser = super::inspect::date)]
    pub on: Option<String>,
    /// Name the person who measured
    #[arg(long, default_value = "")]
    pub by: String,
    /// Add a note
    #[arg(long, default_value = "")]
    pub note: String,
    /// Keep implausible readings and record the warning with them
    #[arg(long)]
    pub anyway: bool,
    /// Use this file of measurements instead of JOB-measured.toml
    #[arg(long, value_name = "FILE")]
    pub measured: Option<PathBuf>,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub reading: ReadingArguments,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub keep: KeepArguments,
}

/// A unit of bare numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Unit {
    /// Millimetres.
    Mm,
    /// Inches.
    In,
}

const HOW: &str = "\
Give the readings you have. Lengths may be written 4, \"4 mm\", '3/32\"', \"1' 2 1/2\\\"\". Sides are up, down, \
left, right, front, back, in and out, with the frame as it is drawn. Entries are added to JOB-measured.toml and never \
changed. Without readings, it lists what was recorded.";

/// Adds a measurement, or lists what was recorded.
///
/// # Errors
/// [`Failure`] when the job or its measurements have errors, a reading cannot be or is doubtful, or the file cannot
/// be written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let engine = MovementModel::new(&job)
        .map_err(|error| Failure::Input(format!("{}: {error}", arguments.job.display())))?;
    let path = arguments
        .measured
        .clone()
        .unwrap_or_else(|| path_of(&arguments.job));
    let known = load(&Disk, &path, &job, engine.measures())?;
    let mut readings = readings(arguments, &job, &engine)?;
    let options = arguments.reading.options();
    if readings.is_empty() {
        let expected: Vec<Expected> = known
            .iter()
            .map(|one| expected::of(&Disk, &job, &engine, &arguments.job, one, &options))
            .collect();
        return show(arguments, &job, &engine, (&known, &expected), io);
    }
    let expected = match &arguments.log {
        Some(path) => {
            let how = (&arguments.reading, &arguments.keep);
            let log = read_and_keep(path, (&job, &arguments.job), how, io);
            expected::from_log(&job, &engine, path, log.map_err(|e| e.to_string()))
        }
        None => expected::as_planned(&job, &engine),
    };
    let found = implausible(&job, engine.measures(), &expected.measures, &readings);
    refuse(&found, arguments.anyway)?;
    for found in found {
        writeln!(
            io.err,
            "note: kept despite a warning: {}",
            plain(&found.what)
        )?;
        for reading in found.readings {
            readings[reading].warnings.push(found.what.clone());
        }
    }
    let measurement = measurement(arguments, readings)?;
    for earlier in contradicted(&known, &measurement) {
        writeln!(io.err, "note: {}", plain(&earlier))?;
    }
    add(&path, |before| {
        added(before, &job, engine.measures(), &measurement)
    })?;
    let latest = std::slice::from_ref(&measurement);
    let expected = std::slice::from_ref(&expected);
    show(arguments, &job, &engine, (latest, expected), io)?;
    if !arguments.json {
        writeln!(io.out, "Added to: {}", path.display())?;
    }
    Ok(())
}

/// Earlier readings of the same thing, of the same build in the same state, that do not agree with new ones.
fn contradicted(known: &[Measurement], new: &Measurement) -> Vec<String> {
    let same_frame = |old: &&Measurement| {
        (old.state, &old.build, &old.log_sha256) == (new.state, &new.build, &new.log_sha256)
    };
    let mut found = Vec::new();
    for old in known.iter().filter(same_frame) {
        for (was, is) in old
            .readings
            .iter()
            .flat_map(|was| new.readings.iter().map(move |is| (was, is)))
        {
            let apart = (was.value_mm() - is.value_mm()).abs();
            let same = was.of == is.of && was.between == is.between;
            if same && apart > was.plus_minus_mm().hypot(is.plus_minus_mm()) {
                found.push(format!(
                    "{}: {} contradicts {} of {}; the later reading counts",
                    is.of,
                    is.as_read(),
                    was.as_read(),
                    old.on
                ));
            }
        }
    }
    found
}

fn readings(
    arguments: &Arguments,
    job: &Job,
    engine: &MovementModel,
) -> Result<Vec<Reading>, Failure> {
    let unit = match arguments.unit {
        Some(Unit::Mm) => LengthUnit::Mm,
        Some(Unit::In) => LengthUnit::In,
        None => bare_unit(job.units),
    };
    let plus_minus = arguments.plus_minus.as_deref();
    let common = Common {
        job,
        measures: engine.measures(),
        unit,
        plus_minus_mm: plus_minus
            .map(|text| plus_minus_mm(text, unit))
            .transpose()?,
        between: arguments.between,
    };
    let mut readings = Vec::new();
    let mut wrong = Vec::new();
    let mut keep = |option: &str, read: Result<Vec<Reading>, String>| match read {
        Ok(read) => readings.extend(read),
        Err(what) => wrong.push(format!("{option}: {what}")),
    };
    let one = |read: Result<Reading, String>| read.map(|read| vec![read]);
    for text in &arguments.bow {
        keep("--bow", one(common.bow(text)));
    }
    for text in &arguments.width {
        keep("--width", one(common.size("width", text)));
    }
    for text in &arguments.height {
        keep("--height", one(common.size("height", text)));
    }
    if let Some(text) = &arguments.diagonals {
        keep("--diagonals", common.diagonals(text).map(Vec::from));
    }
    if let Some(text) = &arguments.racking {
        keep("--racking", one(common.racking(text)));
    }
    if let Some(text) = &arguments.twist {
        keep("--twist", one(common.twist(text)));
    }
    for text in &arguments.gap {
        keep("--gap", one(common.gap(text)));
    }
    for text in &arguments.named {
        keep("--reading", one(common.any(text)));
    }
    if wrong.is_empty() {
        Ok(readings)
    } else {
        Err(Failure::Input(wrong.join("\n")))
    }
}

/// The uncertainty given for all readings, mm.
fn plus_minus_mm(text: &str, unit: LengthUnit) -> Result<f64, Failure> {
    let (value, own) = length(text, unit).map_err(|what| named("--plus-minus", &what))?;
    let mm = value * own.in_mm();
    if mm > 0.0 && mm < 1000.0 {
        Ok(mm)
    } else {
        Err(named("--plus-minus", "give a length greater than 0"))
    }
}

fn named(option: &str, what: &str) -> Failure {
    Failure::Input(format!("{option}: {what}"))
}

/// Refuses impossible readings, and implausible ones unless they are to be kept anyway.
fn refuse(found: &[Implausible], anyway: bool) -> Result<(), Failure> {
    let refused: Vec<&Implausible> = found
        .iter()
        .filter(|found| found.impossible || !anyway)
        .collect();
    if refused.is_empty() {
        return Ok(());
    }
    let mut text: Vec<String> = refused.iter().map(|one| plain(&one.what)).collect();
    text.push(if refused.iter().any(|one| one.impossible) {
        "nothing written; measure again".into()
    } else {
        "nothing written; measure again, or keep them with this warning: --anyway".into()
    });
    Err(Failure::Input(text.join("\n")))
}

fn measurement(arguments: &Arguments, readings: Vec<Reading>) -> Result<Measurement, Failure> {
    let (log, log_sha256) = match &arguments.log {
        Some(path) => {
            let bytes = std::fs::read(path).map_err(Failure::file(path, "read"))?;
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            (plain(&name), coldsquare_engine::digest::sha256(&bytes))
        }
        None => (String::new(), String::new()),
    };
    let state = match arguments.after_correction {
        Some(step) => State::Corrected { step },
        None if arguments.clamped => State::Clamped,
        None => State::Unclamped,
    };
    Ok(Measurement {
        on: arguments.on.clone().unwrap_or_else(super::today),
        by: plain(&arguments.by),
        state,
        build: plain(&arguments.build),
        log,
        log_sha256,
        note: plain(&arguments.note),
        readings,
    })
}

fn show(
    arguments: &Arguments,
    job: &Job,
    engine: &MovementModel,
    (measurements, expected): (&[Measurement], &[Expected]),
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    if arguments.json {
        let json: Vec<_> = measurements
            .iter()
            .zip(expected)
            .map(|(one, expected)| as_json(job, engine, expected, one))
            .collect();
        io.print_json(&json)?;
        return Ok(());
    }
    if measurements.is_empty() {
        writeln!(io.out, "No measurements for this job yet.")?;
    }
    for (measurement, expected) in measurements.iter().zip(expected) {
        if let Some(note) = &expected.note {
            writeln!(io.err, "note: {}", plain(note))?;
        }
        writeln!(io.out, "{}", plain(&heading(measurement)))?;
        let table = readings_table(job, engine, measurement, expected);
        table.print(io.out)?;
        writeln!(io.out)?;
    }
    Ok(())
}

/// A measurement as a table, each reading beside its prediction.
fn readings_table(
    job: &Job,
    engine: &MovementModel,
    measurement: &Measurement,
    expected: &Expected,
) -> Table {
    let unit = job.units.length_symbol();
    let observed = measurement.observed(job, engine.measures());
    let mut table = Table::new("<>><");
    table.row([
        "Reading".to_owned(),
        "read".to_owned(),
        format!("change, {unit}"),
        format!("predicted {}, {unit}", plain(&expected.basis)),
    ]);
    for (index, reading) in measurement.readings.iter().enumerate() {
        let change = observed.iter().find(|one| one.reading == index);
        let expected = expected.measures.iter().find(|one| one.name == reading.of);
        table.row([
            plain(&reading.of),
            reading.as_read(),
            change.map_or_else(String::new, |one| job.units.change(one.change_mm)),
            expected.map_or_else(String::new, |one| {
                let change = match measurement.state {
                    State::Clamped => job.units.change(one.clamped_mm) + " with clamps on",
                    _ => job.units.change(one.released_mm),
                };
                if reading.warnings.is_empty() {
                    change
                } else {
                    format!("{change}  (implausible)")
                }
            }),
        ]);
    }
    table
}

fn heading(measurement: &Measurement) -> String {
    let mut parts = vec![format!(
        "Measured on {}, {}",
        measurement.on, measurement.state
    )];
    let of = |name: &str, word: &str| (!name.is_empty()).then(|| format!("{word}{name}"));
    parts.extend(of(&measurement.by, "by "));
    parts.extend(of(&measurement.build, "build "));
    parts.extend(of(&measurement.log, "log "));
    parts.extend(of(&measurement.note, ""));
    parts.join(", ")
}

fn as_json(
    job: &Job,
    engine: &MovementModel,
    expected: &Expected,
    measurement: &Measurement,
) -> serde_json::Value {
    let mut json = serde_json::to_value(measurement).unwrap_or_default();
    json["predicted_from"] = expected.basis.as_str().into();
    let observed = measurement.observed(job, engine.measures());
    if let Some(readings) = json["reading"].as_array_mut() {
        for (index, reading) in readings.iter_mut().enumerate() {
            let Some(one) = observed.iter().find(|one| one.reading == index) else {
                continue;
            };
            let measure = &engine.measures()[one.measure];
            reading["change_mm"] = one.change_mm.value.into();
            reading["change_plus_minus_mm"] = one.change_mm.expanded().into();
            reading["is_bow"] = (measure.kind == MeasureKind::Bow).into();
            let of = |p: &&Predicted| p.name == measure.name;
            if let Some(expected) = expected.measures.iter().find(of) {
                let change = match measurement.state {
                    State::Clamped => expected.clamped_mm,
                    _ => expected.released_mm,
                };
                reading["predicted_mm"] = change.value.into();
                reading["predicted_plus_minus_mm"] = change.expanded().into();
            }
        }
    }
    json
}
