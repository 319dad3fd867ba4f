//! `coldsquare recalibrate LOG...`: notes beside a log what a later calibration found out; the log stays as it is.

use super::Io;
use crate::disk::Disk;
use crate::notebook::add;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::log::recalibration::{Correction, Recalibration, added, load, path_of};
use coldsquare_engine::sanitise::plain;
use std::path::PathBuf;

/// Arguments of `recalibrate`.
#[derive(Debug, clap::Args)]
#[command(after_help = HOW)]
pub struct Arguments {
    /// Logs written before the calibration, with the same clamp and leads
    #[arg(value_name = "LOG", required = true)]
    pub logs: Vec<PathBuf>,
    /// Multiply the logged current by this factor: 1.05 if the clamp read 100 A and the true current was 105 A
    #[arg(long, value_name = "FACTOR")]
    pub amps_times: Option<f64>,
    /// Offset in amps, added after the factor
    #[arg(
        long,
        value_name = "AMPS",
        allow_negative_numbers = true,
        requires = "amps_times"
    )]
    pub amps_plus: Option<f64>,
    /// Set the uncertainty of the clamp's gain, ± percent (k = 2) [default: that of the log]
    #[arg(long, value_name = "PERCENT", requires = "amps_times")]
    pub amps_accuracy: Option<f64>,
    /// Multiply the logged voltage by this factor
    #[arg(long, value_name = "FACTOR")]
    pub volts_times: Option<f64>,
    /// Offset in volts, added after the factor
    #[arg(
        long,
        value_name = "VOLTS",
        allow_negative_numbers = true,
        requires = "volts_times"
    )]
    pub volts_plus: Option<f64>,
    /// Set the uncertainty of the voltage gain, ± percent (k = 2) [default: that of the log]
    #[arg(long, value_name = "PERCENT", requires = "volts_times")]
    pub volts_accuracy: Option<f64>,
    /// Return to the calibration in the log
    #[arg(long, conflicts_with_all = ["amps_times", "volts_times"])]
    pub as_logged: bool,
    /// Date the calibration: 2026-11-25 [default: today]
    #[arg(long, value_parser = super::inspect::date)]
    pub on: Option<String>,
    /// Add a note, such as the number of the certificate
    #[arg(long, default_value = "")]
    pub note: String,
}

const HOW: &str = "\
Entries are added to LOG-calibration.toml beside each log and never changed; the latest counts, always from what was \
logged. Everything that reads the log follows: map, record, predict, learn. Without a factor, what is known is listed. \
`coldsquare learn --shop FILE --keep` then learns anew from all recorded builds.";

/// Adds an entry beside each log, or lists what was recorded.
///
/// # Errors
/// [`Failure`] when a log is not there, a file beside it has errors or cannot be written, or a factor cannot be.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    for log in &arguments.logs {
        std::fs::File::open(log).map_err(Failure::file(log, "read"))?;
        // Check every file before writing any.
        load(&Disk, log)?;
    }
    let given = arguments.amps_times.is_some() || arguments.volts_times.is_some();
    if !given && !arguments.as_logged {
        return list(arguments, io);
    }
    let correction = |factor: Option<f64>, offset: Option<f64>, percent| {
        factor.map(|factor| Correction {
            factor,
            offset: offset.unwrap_or(0.0),
            gain_uncertainty_percent: percent,
        })
    };
    let entry = Recalibration {
        on: arguments.on.clone().unwrap_or_else(super::today),
        note: plain(&arguments.note),
        voltage: correction(
            arguments.volts_times,
            arguments.volts_plus,
            arguments.volts_accuracy,
        ),
        current: correction(
            arguments.amps_times,
            arguments.amps_plus,
            arguments.amps_accuracy,
        ),
    };
    for log in &arguments.logs {
        let path = path_of(log);
        add(&path, |before| added(before, &entry))?;
        writeln!(
            io.out,
            "{}: {}; recorded in {}",
            log.display(),
            entry.describe(),
            path.display()
        )?;
    }
    writeln!(
        io.out,
        "map, record and predict use it from now on. Next: `coldsquare learn --shop FILE` shows what it does to the \
         shop factors."
    )?;
    Ok(())
}

fn list(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    for log in &arguments.logs {
        let known = load(&Disk, log)?;
        if known.is_empty() {
            writeln!(io.out, "{}: calibration as logged", log.display())?;
        }
        for entry in known {
            let note = match entry.note.as_str() {
                "" => String::new(),
                note => format!(" ({})", plain(note)),
            };
            writeln!(io.out, "{}: {}{note}", log.display(), entry.describe())?;
        }
    }
    Ok(())
}
