//! A later calibration of a log, in a file beside it; the log itself stays as it is.
//!
//! A log holds exact sums of counts and the calibration of its day. When the clamp or the divider is calibrated again, or
//! turns out to have been wrong, an entry says how its volts and amps are corrected: `true = factor · logged + offset`.
//! Everything that reads the log uses it: map, record, prediction, learning. The log keeps its SHA-256.

use super::error::LogError;
use crate::append_only;
use crate::failure::Failure;
use crate::file_error::Source;
use crate::files::Files;
use coldsquare_core::calibration::Channel;
use coldsquare_core::record::Header;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// How to correct what a channel logged.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    /// Factor, greater than 0.
    #[serde(alias = "times")]
    pub factor: f64,
    /// Offset to add after the factor, V or A.
    #[serde(default, alias = "plus")]
    pub offset: f64,
    /// Expanded uncertainty of the gain (k = 2), percent; `None` for that of the log.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gain_uncertainty_percent: Option<f64>,
}

/// One later calibration of a log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recalibration {
    /// Date of the calibration, as `2026-11-25`.
    pub on: String,
    /// A note ("certificate 1234").
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Correction of the voltage; `None` if it is right as logged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub voltage: Option<Correction>,
    /// Correction of the current; `None` if it is right as logged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub current: Option<Correction>,
}

#[derive(Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    calibration: Vec<Recalibration>,
}

const HEADING: &str = "\
# Later calibrations of the log beside this file; the log itself stays as it is. `coldsquare recalibrate` adds an entry
# and never changes one; the latest counts. true = factor * logged + offset
";

/// Factors of a sensor that works.
const FACTORS: std::ops::RangeInclusive<f64> = 0.1..=10.0;

impl Correction {
    fn fault(&self) -> Option<&'static str> {
        if !FACTORS.contains(&self.factor) {
            Some("factor must be from 0.1 to 10; a sensor further off than that did not work")
        } else if !(-1000.0..=1000.0).contains(&self.offset) {
            Some("offset must be from -1000 to 1000 volts or amperes")
        } else if self
            .gain_uncertainty_percent
            .is_some_and(|percent| !(0.0..=100.0).contains(&percent))
        {
            Some("gain_uncertainty_percent must be from 0 to 100")
        } else {
            None
        }
    }

    fn apply(&self, channel: &mut Channel) {
        channel.gain_per_count *= self.factor;
        // gain · (count − zero) + offset, with the zero moved in 1/256 counts.
        let counts = self.offset / channel.gain_per_count;
        let zero = f64::from(channel.zero_in_256ths) - counts * 256.0;
        channel.zero_in_256ths = zero.round() as i32;
        channel.zero_uncertainty *= self.factor;
        if let Some(percent) = self.gain_uncertainty_percent {
            channel.gain_relative_uncertainty = percent / 200.0;
        }
    }

    fn describe(&self, channel: &str) -> String {
        let offset = match self.offset {
            0.0 => String::new(),
            offset => format!(" {} {}", if offset < 0.0 { '-' } else { '+' }, offset.abs()),
        };
        format!("{channel} × {}{offset}", self.factor)
    }
}

impl Recalibration {
    /// What is wrong with it.
    #[must_use]
    pub fn fault(&self) -> Option<&'static str> {
        if self.unix_s().is_none() {
            return Some("`on` must be a date, as 2026-11-25");
        }
        let corrections = self.voltage.iter().chain(&self.current);
        corrections.into_iter().find_map(Correction::fault)
    }

    /// "amps × 1.05, from the calibration of 2026-11-25".
    #[must_use]
    pub fn describe(&self) -> String {
        let volts = self.voltage.map(|c| c.describe("volts"));
        let amps = self.current.map(|c| c.describe("amps"));
        let both: Vec<String> = volts.into_iter().chain(amps).collect();
        let what = match both.as_slice() {
            [] => "as logged".to_owned(),
            both => both.join(", "),
        };
        format!("{what}, from the calibration of {}", self.on)
    }

    fn unix_s(&self) -> Option<u64> {
        let midnight: jiff::Timestamp = format!("{}T00:00:00Z", self.on).parse().ok()?;
        u64::try_from(midnight.as_second()).ok()
    }

    pub(super) fn apply(&self, header: &mut Header) {
        if let Some(correction) = &self.voltage {
            correction.apply(&mut header.calibration.voltage);
        }
        if let Some(correction) = &self.current {
            correction.apply(&mut header.calibration.current);
        }
        if self.voltage.is_some() || self.current.is_some() {
            header.calibrated_unix_s = self.unix_s().unwrap_or(header.calibrated_unix_s);
        }
    }
}

/// Path of the later calibrations of a log: `weld-calibration.toml` beside `weld.log`.
#[must_use]
pub fn path_of(log: &Path) -> PathBuf {
    let stem = log.file_stem().unwrap_or_default().to_string_lossy();
    log.with_file_name(format!("{stem}-calibration.toml"))
}

/// The later calibrations of a log, oldest first; the last one counts.
///
/// # Errors
/// [`LogError`] when the file cannot be read or has errors.
pub fn load(files: &dyn Files, log: &Path) -> Result<Vec<Recalibration>, LogError> {
    let path = path_of(log);
    if !files.exists(&path) {
        return Ok(Vec::new());
    }
    let mut text = String::new();
    files
        .open(&path)
        .and_then(|mut file| file.read_to_string(&mut text))
        .map_err(LogError::file(&path))?;
    read(&path, &text)
}

/// Reads the text of a file of later calibrations; `path` is for messages.
///
/// # Errors
/// [`LogError`] with what is wrong in it.
fn read(path: &Path, text: &str) -> Result<Vec<Recalibration>, LogError> {
    let wrong = |message: String| LogError::Recording {
        path: path.to_owned(),
        message,
    };
    let file: File = toml::from_str(text).map_err(|error| wrong(error.to_string()))?;
    let mut entries = file.calibration.iter().enumerate();
    if let Some((k, what)) = entries.find_map(|(k, entry)| Some((k, entry.fault()?))) {
        return Err(wrong(format!("calibration {}: {what}", k + 1)));
    }
    Ok(file.calibration)
}

/// The text of a file of later calibrations with one more entry at its end.
///
/// # Errors
/// [`Failure`] when the text has errors, or something is wrong with the entry.
pub fn added(before: &Source, entry: &Recalibration) -> Result<String, Failure> {
    if let Some(what) = entry.fault() {
        return Err(Failure::Input(what.to_owned()));
    }
    read(Path::new(before.name()), before.text())?;
    let entry = File {
        calibration: vec![entry.clone()],
    };
    append_only::append(before.text(), HEADING, [entry])
}

#[cfg(test)]
mod tests;
