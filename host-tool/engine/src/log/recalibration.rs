//! A log read with a later calibration: the log stays as it is, and what was found out stands in a file beside it.
//!
//! A log holds exact sums of counts and the calibration of its day. When the clamp or the divider is calibrated anew, or
//! found to have been wrong, an entry says how its volts and amps become the true ones: `true = times · logged + plus`.
//! Everything that reads the log follows: map, record, prediction, learning. Whoever knows the log by its SHA-256 still
//! does.

use super::error::LogError;
use crate::failure::Failure;
use crate::files::Files;
use crate::file_error::Source;
use crate::append_only;
use coldsquare_core::calibration::Channel;
use coldsquare_core::record::Header;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// How what a channel logged becomes what was there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    /// Factor, over 0.
    pub times: f64,
    /// What to add then, V or A.
    #[serde(default)]
    pub plus: f64,
    /// Expanded uncertainty of the gain (k = 2), percent; that of the log where it is not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gain_uncertainty_percent: Option<f64>,
}

/// What one calibration found out about a log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recalibration {
    /// When it was calibrated, as `2026-11-25`.
    pub on: String,
    /// Anything else ("certificate 1234").
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// The voltage; as logged where it is not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub voltage: Option<Correction>,
    /// The current; as logged where it is not given.
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
# Later calibrations of the log beside this file; the log itself stays as it is. Entries are added by `coldsquare
# recalibrate` and stay; the latest counts. true = times * logged + plus
";

/// Factors beyond these are no calibration of a sensor that worked.
const TIMES: std::ops::RangeInclusive<f64> = 0.1..=10.0;

impl Correction {
    fn fault(&self) -> Option<&'static str> {
        if !TIMES.contains(&self.times) {
            Some("times is from 0.1 to 10; a sensor further off than that was not working")
        } else if !(-1000.0..=1000.0).contains(&self.plus) {
            Some("plus is a number of volts or amperes up to 1000")
        } else if self
            .gain_uncertainty_percent
            .is_some_and(|percent| !(0.0..=100.0).contains(&percent))
        {
            Some("the uncertainty of the gain is from 0 to 100 percent")
        } else {
            None
        }
    }

    fn apply(&self, channel: &mut Channel) {
        channel.gain_per_count *= self.times;
        // gain · (count − zero) + plus, with the zero moved in 1/256 counts.
        let counts = self.plus / channel.gain_per_count;
        let zero = f64::from(channel.zero_in_256ths) - counts * 256.0;
        channel.zero_in_256ths = zero.round() as i32;
        channel.zero_uncertainty *= self.times;
        if let Some(percent) = self.gain_uncertainty_percent {
            channel.gain_relative_uncertainty = percent / 200.0;
        }
    }

    fn words(&self, channel: &str) -> String {
        let plus = match self.plus {
            0.0 => String::new(),
            plus => format!(" {} {}", if plus < 0.0 { '-' } else { '+' }, plus.abs()),
        };
        format!("{channel} × {}{plus}", self.times)
    }
}

impl Recalibration {
    /// What is wrong with it.
    #[must_use]
    pub fn fault(&self) -> Option<&'static str> {
        if self.unix_s().is_none() {
            return Some("on is a date, as 2026-11-25");
        }
        let corrections = self.voltage.iter().chain(&self.current);
        corrections.into_iter().find_map(Correction::fault)
    }

    /// In words: "amps × 1.05 from the calibration of 2026-11-25".
    #[must_use]
    pub fn words(&self) -> String {
        let volts = self.voltage.map(|c| c.words("volts"));
        let amps = self.current.map(|c| c.words("amps"));
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

/// Where the later calibrations of a log stand: `weld-calibration.toml` beside `weld.log`.
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

/// The text of a file of later calibrations with one more at its end.
///
/// # Errors
/// [`Failure`] when the text has errors, or the entry cannot be.
pub fn added(before: &Source, entry: &Recalibration) -> Result<String, Failure> {
    if let Some(what) = entry.fault() {
        return Err(Failure::Input(what.to_owned()));
    }
    read(Path::new(before.name()), before.text())?;
    let entry = File {
        calibration: vec![entry.clone()],
    };
    append_only::with_added(before.text(), HEADING, [entry])
}
