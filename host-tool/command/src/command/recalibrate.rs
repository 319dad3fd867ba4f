//! `coldsquare recalibrate LOG...`: notes beside a log what a later calibration found out; the log stays as it is.

use super::Io;
use crate::disk::Disk;
use crate::notebook::add;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::log::recalibration::{Correction, Recalibration, added, load, path_of};
use coldsquare_engine::words::plain;
use std::path::PathBuf;

/// Arguments of `recalibrate`.
#[derive(Debug, clap::Args)]
#[command(after_help = HOW)]
pub struct Arguments {
    /// Logs that were written before the calibration, with the same clamp and leads
    #[arg(value_name = "LOG", required = true)]
    pub logs: Vec<PathBuf>,
    /// True amperes for each ampere logged: 1.05 when the clamp read 100 A where there were 105
    #[arg(long, value_name = "FACTOR")]
    pub amps_times: Option<f64>,
    /// Amperes to add then
    #[arg(
        long,
        value_name = "AMPS",
        allow_negative_numbers = true,
        requires = "amps_times"
    )]
    pub amps_plus: Option<f64>,
    /// Uncertainty of the clamp's gain, ± percent (k = 2) [default: that of the log]
    #[arg(long, value_name = "PERCENT", requires = "amps_times")]
    pub amps_accuracy: Option<f64>,
    /// True volts for each volt logged
    #[arg(long, value_name = "FACTOR")]
    pub volts_times: Option<f64>,
    /// Volts to add then
    #[arg(
        long,
        value_name = "VOLTS",
        allow_negative_numbers = true,
        requires = "volts_times"
    )]
    pub volts_plus: Option<f64>,
    /// Uncertainty of the voltage gain, ± percent (k = 2) [default: that of the log]
    #[arg(long, value_name = "PERCENT", requires = "volts_times")]
    pub volts_accuracy: Option<f64>,
    /// Go back to the calibration that the log was written with
    #[arg(long, conflicts_with_all = ["amps_times", "volts_times"])]
    pub as_logged: bool,
    /// When it was calibrated, as 2026-11-25 [default: today]
    #[arg(long, value_parser = super::inspect::date)]
    pub on: Option<String>,
    /// Anything else worth keeping, as the number of the certificate
    #[arg(long, default_value = "")]
    pub note: String,
}

const HOW: &str = "\
Entries are added to LOG-calibration.toml beside each log and never changed; the latest counts, always from what was \
logged. Everything that reads the log follows: map, record, predict, learn. Without a factor, what is known is listed. \
`coldsquare learn --shop FILE --keep` then learns anew from all recorded builds.";

/// Adds an entry beside each log, or lists those that are there.
///
/// # Errors
/// [`Failure`] when a log is not there, a file beside it has mistakes or cannot be written, or a factor cannot be.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    for log in &arguments.logs {
        std::fs::File::open(log).map_err(Failure::file(log, "read"))?;
        // What cannot be read must be mended before anything is written.
        load(&Disk, log)?;
    }
    let given = arguments.amps_times.is_some() || arguments.volts_times.is_some();
    if !given && !arguments.as_logged {
        return list(arguments, io);
    }
    let correction = |times: Option<f64>, plus: Option<f64>, percent| {
        times.map(|times| Correction {
            times,
            plus: plus.unwrap_or(0.0),
            gain_uncertainty_percent: percent,
        })
    };
    let today = || jiff::Timestamp::now().strftime("%Y-%m-%d").to_string();
    let entry = Recalibration {
        on: arguments.on.clone().unwrap_or_else(today),
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
            "{}: {}; noted in {}",
            log.display(),
            entry.words(),
            path.display()
        )?;
    }
    writeln!(
        io.out,
        "Map, record and predict follow by themselves. Next: `coldsquare learn --shop FILE` shows what it does to the \
         shop's factors."
    )?;
    Ok(())
}

fn list(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    for log in &arguments.logs {
        let known = load(&Disk, log)?;
        if known.is_empty() {
            writeln!(io.out, "{}: read as it was logged", log.display())?;
        }
        for entry in known {
            let note = match entry.note.as_str() {
                "" => String::new(),
                note => format!(" ({})", plain(note)),
            };
            writeln!(io.out, "{}: {}{note}", log.display(), entry.words())?;
        }
    }
    Ok(())
}
