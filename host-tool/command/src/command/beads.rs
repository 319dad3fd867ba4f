//! `coldsquare beads LOG`: the beads of a log as a table, CSV or JSON.

use super::Io;
use super::reading::ReadingArguments;
use super::recording::{KeepArguments, read_and_keep};
use crate::disk::Disk;
use coldsquare_core::meter::{Measured, Polarity};
use coldsquare_core::process::Process;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::log::seal::{Said, Seal};
use coldsquare_engine::log::side::Side;
use coldsquare_engine::log::{self, BeadOrigin, Log, LoggedBead, SourceKind};
use serde::Serialize;
use std::path::PathBuf;

/// Arguments of `beads`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Log of a logger, or any recording of time, volts and amps in columns of text
    #[arg(value_name = "LOG")]
    pub log: PathBuf,
    /// Read a recording as the table `[recording]` of this job file says
    #[arg(long, value_name = "JOB")]
    pub job: Option<PathBuf>,
    /// Print CSV
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    /// How to read it.
    pub reading: ReadingArguments,
    #[command(flatten)]
    /// Whether to keep that.
    pub keep: KeepArguments,
}

/// Prints the beads of a log; notes go to the error stream.
///
/// # Errors
/// [`Failure`] when the log cannot be read or the output cannot be written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let log = read(arguments, io)?;
    let rows: Vec<_> = log
        .beads
        .iter()
        .map(|bead| Row::new(&log, bead, arguments.reading.process))
        .collect();
    if arguments.json {
        let listing = Listing {
            seal: seal_of(&log).map(Said::from),
            notes: &log.report.notes,
            beads: &rows,
        };
        io.print_json(&listing)?;
    } else if arguments.csv {
        let mut writer = csv::Writer::from_writer(&mut *io.out);
        for row in &rows {
            writer.serialize(row).map_err(std::io::Error::other)?;
        }
        writer.flush()?;
    } else {
        print_table(&rows, io)?;
    }
    if rows.is_empty() {
        writeln!(
            io.err,
            "note: no arc was found; is the current in amperes (--amps-scale)?"
        )?;
    }
    if let Some(seal) = seal_of(&log).filter(|seal| !seal.is_in_doubt()) {
        writeln!(io.err, "note: {}", seal.sentence())?;
    }
    for note in &log.report.notes {
        writeln!(io.err, "note: {note}")?;
    }
    Ok(())
}

/// What the seals of a logger's log say; nothing could show it of a recording.
fn seal_of(log: &Log) -> Option<&Seal> {
    let ours = matches!(log.source.kind, SourceKind::Logger { .. });
    (ours || log.seal.named.is_some()).then_some(&log.seal)
}

fn read(arguments: &Arguments, io: &mut Io<'_>) -> Result<Log, Failure> {
    let options = arguments.reading.options();
    match &arguments.job {
        Some(path) => {
            let job = coldsquare_engine::job::load(&Disk, path)?;
            let how = (&arguments.reading, &arguments.keep);
            read_and_keep(&arguments.log, (&job, path), how, io)
        }
        None if arguments.keep.keep_columns => Err(Failure::Usage(
            "--keep-columns writes into a job file; name it with --job JOB".into(),
        )),
        None => Ok(log::read(&Disk, &arguments.log, &options)?),
    }
}

/// All that JSON says.
#[derive(Serialize)]
struct Listing<'a> {
    /// Of a logger's log.
    seal: Option<Said>,
    notes: &'a [String],
    beads: &'a [Row],
}

/// One bead, as CSV and JSON say it: SI units, named in the field. Uncertainties are expanded (k = 2).
#[derive(Serialize)]
struct Row {
    bead: u32,
    start_s: f64,
    arc_time_s: f64,
    duration_s: f64,
    mean_voltage_v: Option<f64>,
    mean_current_a: Option<f64>,
    rms_voltage_v: Option<f64>,
    rms_current_a: Option<f64>,
    true_power_w: Option<f64>,
    energy_j: Option<f64>,
    energy_uncertainty_j: Option<f64>,
    /// Energy times thermal efficiency, where the process is known.
    net_energy_j: Option<f64>,
    restarts: u16,
    kind: &'static str,
    polarity: Option<&'static str>,
    flags: String,
    /// Mean volts times mean amps times arc time, as two panel meters and a stopwatch give; for comparison with the energy.
    volts_amps_arc_time_j: Option<f64>,
}

impl Row {
    fn new(log: &Log, logged: &LoggedBead, process: Option<Process>) -> Self {
        let measured = logged.measured.as_ref().ok();
        let value = |of: fn(&Measured) -> f64| measured.map(of);
        let burning = |of: fn(&Measured) -> f64| logged.burning.as_ref().map(of);
        let process = process.or(log.header_at(logged.bead.start).process);
        let energy = value(|measured| measured.energy.0);
        Self {
            bead: logged.bead.number,
            start_s: logged.start.0,
            arc_time_s: logged.arc_time.value,
            duration_s: logged.duration.0,
            mean_voltage_v: burning(|measured| measured.mean_voltage.0),
            mean_current_a: burning(|measured| measured.mean_current.0),
            rms_voltage_v: burning(|measured| measured.rms_voltage.0),
            rms_current_a: burning(|measured| measured.rms_current.0),
            true_power_w: logged.power(),
            energy_j: energy,
            energy_uncertainty_j: value(|measured| measured.energy_expanded_uncertainty().0),
            net_energy_j: energy
                .zip(process)
                .map(|(energy, process)| energy * process.thermal_efficiency()),
            restarts: logged.bead.restarts,
            kind: if logged.is_tack { "tack" } else { "weld" },
            polarity: measured.and_then(|measured| polarity(measured.polarity)),
            flags: flags(log, logged).join("; "),
            volts_amps_arc_time_j: burning(|measured| measured.product_of_means.0)
                .map(|power| power * logged.arc_time.value),
        }
    }
}

const fn polarity(polarity: Polarity) -> Option<&'static str> {
    match polarity {
        Polarity::ElectrodePositive => Some("DC+"),
        Polarity::ElectrodeNegative => Some("DC-"),
        Polarity::Alternating => Some("AC"),
        Polarity::None | Polarity::ReversedLead => None,
    }
}

fn flags(log: &Log, logged: &LoggedBead) -> Vec<String> {
    let bead = &logged.bead;
    let mut flags = Vec::new();
    match &logged.measured {
        Err(error) => flags.push(error.to_string()),
        Ok(measured) if measured.polarity == Polarity::ReversedLead => {
            flags.push("clamp or voltage lead reversed".into());
        }
        Ok(_) => {}
    }
    if logged.origin == BeadOrigin::Rebuilt {
        flags.push("rebuilt from windows".into());
    }
    for (is_there, what) in [(logged.ends.start, "start"), (logged.ends.end, "end")] {
        if !is_there {
            flags.push(format!("its {what} is lost"));
        }
    }
    for (count, what) in [
        (bead.clipped_voltage, "samples at the voltage limit"),
        (bead.clipped_current, "samples at the current limit"),
        (bead.dropped, "samples missing"),
    ] {
        if count > 0 {
            flags.push(format!("{count} {what}"));
        }
    }
    for (side, what) in [(Side::Voltage, "volts"), (Side::Current, "amps")] {
        let share = log.stuck_share(bead, side);
        if share > 0.0 {
            flags.push(format!(
                "{what} stood still for {:.0} % of it",
                100.0 * share
            ));
        }
    }
    if let Some(drift) = logged.drift(log) {
        flags.push(format!(
            "zero of the clamp {:.1} A, taken off",
            drift.zero_a
        ));
    }
    if logged.suits_no_arc(log) {
        flags.push("its volts are those of no arc".into());
    }
    flags
}

const HEADINGS: [&str; 14] = [
    "bead",
    "start s",
    "arc s",
    "mean V",
    "mean A",
    "RMS V",
    "RMS A",
    "power W",
    "energy kJ",
    "± kJ",
    "net kJ",
    "restarts",
    "kind",
    "flags",
];

/// Columns that hold words are aligned to the left.
const FIRST_WORDS: usize = 12;

fn print_table(rows: &[Row], io: &mut Io<'_>) -> Result<(), Failure> {
    let cells: Vec<[String; HEADINGS.len()]> = rows.iter().map(cells).collect();
    let mut widths = HEADINGS.map(|heading| heading.chars().count());
    for row in &cells {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(cell.chars().count());
        }
    }
    let headings = HEADINGS.map(str::to_owned);
    for row in std::iter::once(&headings).chain(&cells) {
        let mut line = String::new();
        for (column, (cell, width)) in row.iter().zip(widths).enumerate() {
            line += if column == 0 { "" } else { "  " };
            line += &if column < FIRST_WORDS {
                format!("{cell:>width$}")
            } else {
                format!("{cell:<width$}")
            };
        }
        writeln!(io.out, "{}", line.trim_end())?;
    }
    let energy: f64 = rows.iter().filter_map(|row| row.energy_j).sum();
    let arc_time: f64 = rows.iter().map(|row| row.arc_time_s).sum();
    writeln!(
        io.out,
        "{}, {arc_time:.1} s of arc, {:.2} kJ before thermal efficiency; ± is expanded uncertainty (k = 2)\nVolts, amps \
         and power are those of arc time. Energy is the sum of volts times amps at each instant{}",
        coldsquare_engine::format::count(rows.len(), "bead"),
        energy / 1000.0,
        beside_means(rows, energy)
    )?;
    Ok(())
}

/// How the product of means compares with the energy, where that is worth a word.
fn beside_means(rows: &[Row], energy: f64) -> String {
    let means: f64 = rows
        .iter()
        .filter_map(|row| row.volts_amps_arc_time_j)
        .sum();
    if energy <= 0.0 || (means / energy - 1.0).abs() < 0.005 {
        return "; mean volts times mean amps times arc time gives the same".into();
    }
    format!(
        "; mean volts times mean amps times arc time gives {:.2} kJ, {:.1} % {}, because volts and amps move together \
         (short circuits, pulses, alternating current)",
        means / 1000.0,
        100.0 * (means / energy - 1.0).abs(),
        if means > energy { "more" } else { "less" }
    )
}

fn cells(row: &Row) -> [String; HEADINGS.len()] {
    let number = |value: Option<f64>, scale: f64, decimals: usize| {
        value.map_or_else(
            || "-".into(),
            |value| format!("{:.decimals$}", value * scale),
        )
    };
    let polarity = row
        .polarity
        .map_or_else(String::new, |polarity| format!(" {polarity}"));
    [
        row.bead.to_string(),
        format!("{:.2}", row.start_s),
        format!("{:.2}", row.arc_time_s),
        number(row.mean_voltage_v, 1.0, 2),
        number(row.mean_current_a, 1.0, 1),
        number(row.rms_voltage_v, 1.0, 2),
        number(row.rms_current_a, 1.0, 1),
        number(row.true_power_w, 1.0, 0),
        number(row.energy_j, 1e-3, 3),
        number(row.energy_uncertainty_j, 1e-3, 3),
        number(row.net_energy_j, 1e-3, 3),
        row.restarts.to_string(),
        format!("{}{polarity}", row.kind),
        row.flags.clone(),
    ]
}
