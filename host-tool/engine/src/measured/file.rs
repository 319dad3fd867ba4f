//! The measurements file: entries are added at its end, and those already there stay unchanged.

use super::model::Measurement;
use crate::append_only;
use crate::failure::Failure;
use crate::file_error::{FileError, FileErrors, Source};
use crate::files::{Files, text_if_there};
use crate::job::model::Job;
use crate::movement::measures::{Measure, MeasureKind};
use serde::{Deserialize, Serialize};
use serde_spanned::Spanned;
use std::path::{Path, PathBuf};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    measurement: Vec<Spanned<Measurement>>,
}

#[derive(Serialize)]
struct Entry<'a> {
    measurement: [&'a Measurement; 1],
}

/// First lines of a new file.
const HEADING: &str = "\
# Measurements of the frame. `coldsquare measure` adds an entry and never changes one; if one is wrong, add another: the
# later reading counts.
";

/// Path of the measurements file of a job: `gate-measured.toml` beside `gate.toml`.
#[must_use]
pub fn path_of(job: &Path) -> PathBuf {
    let stem = job.file_stem().unwrap_or_default().to_string_lossy();
    job.with_file_name(format!("{stem}-measured.toml"))
}

/// The measurements in a file, oldest first; none if there is no such file.
///
/// # Errors
/// [`Failure::Input`] with the errors in the file, [`Failure::File`] when it cannot be read.
pub fn load(
    files: &dyn Files,
    path: &Path,
    job: &Job,
    measures: &[Measure],
) -> Result<Vec<Measurement>, Failure> {
    let Some(source) = text_if_there(files, path)? else {
        return Ok(Vec::new());
    };
    read(&source, job, measures).map_err(|errors| Failure::Input(errors.to_string()))
}

/// Reads the text of a measurements file.
///
/// # Errors
/// Text that is not TOML of this kind, and every entry with a measure that the job does not have or a value that is not
/// a number.
pub fn read(
    source: &Source,
    job: &Job,
    measures: &[Measure],
) -> Result<Vec<Measurement>, FileErrors> {
    let file: File = toml::from_str(source.text()).map_err(|error| {
        source
            .error(error.span().unwrap_or(0..0), error.message())
            .hint("`coldsquare measure` writes the entries; undo any change made by hand")
    })?;
    let entries = file.measurement.iter();
    let wrong: Vec<FileError> = entries
        .flat_map(|entry| {
            let faults = faults(entry.get_ref(), job, measures);
            faults.into_iter().map(|fault| {
                // The span of an entry is that of its heading; the text comes somewhere after it.
                let quoted = format!("\"{}\"", fault.at);
                let after = entry.span().start;
                let at = match source.text()[after..].find(&quoted) {
                    Some(from) if !fault.at.is_empty() => after + from..after + from + quoted.len(),
                    _ => entry.span(),
                };
                source.error(at, fault.what).hint(fault.hint)
            })
        })
        .collect();
    FileErrors::none_of(wrong)?;
    let entries = file.measurement.into_iter();
    Ok(entries.map(Spanned::into_inner).collect())
}

/// Something wrong in an entry.
struct Fault {
    what: String,
    /// The text to point at; empty for the entry.
    at: String,
    hint: &'static str,
}

const UNDO: &str = "`coldsquare measure` writes the entries; undo any change made by hand";

fn faults(entry: &Measurement, job: &Job, measures: &[Measure]) -> Vec<Fault> {
    let mut faults = Vec::new();
    if entry.on.parse::<jiff::civil::Date>().is_err() {
        faults.push(Fault {
            what: format!("'{}' is not a date", entry.on),
            at: entry.on.clone(),
            hint: "write it as 2026-11-25",
        });
    }
    if entry.readings.is_empty() {
        faults.push(Fault {
            what: "a measurement without readings".into(),
            at: String::new(),
            hint: UNDO,
        });
    }
    for reading in &entry.readings {
        faults.extend(unknown_name(&reading.of, job, measures));
        let numbers = reading.values.iter().all(|value| value.is_finite());
        let count = matches!(reading.values.len(), 1 | 3);
        let uncertainty = reading.plus_minus.is_finite() && reading.plus_minus > 0.0;
        if !(numbers && count && uncertainty) {
            faults.push(Fault {
                what: format!(
                    "the reading of {} needs one or three numbers and an uncertainty greater than 0",
                    reading.of
                ),
                at: reading.of.clone(),
                hint: UNDO,
            });
        }
    }
    faults
}

fn unknown_name(of: &str, job: &Job, measures: &[Measure]) -> Option<Fault> {
    let known =
        |name: &str| measures.iter().any(|m| m.name == name) || gap_of(job).any(|gap| gap == name);
    if known(of) {
        return None;
    }
    let twist = measures.iter().find(|m| m.kind == MeasureKind::Twist);
    let new = match twist {
        Some(twist) if of.starts_with("wind ") => twist.name.clone(),
        _ => of.replace("stile", "upright"),
    };
    Some(if known(&new) {
        Fault {
            what: format!("'{of}' is now called '{new}'"),
            at: of.to_owned(),
            hint: "write the new name",
        }
    } else {
        Fault {
            what: format!("the job has no {of}"),
            at: of.to_owned(),
            hint: "was the job changed after it was measured? `coldsquare predict` lists the names",
        }
    })
}

/// The names of the gaps of a job.
pub(super) fn gap_of(job: &Job) -> impl Iterator<Item = String> {
    job.joints
        .iter()
        .map(|joint| format!("gap at {}", joint.name))
}

/// The text of a measurements file with one more entry at its end.
///
/// # Errors
/// [`Failure::Input`] when the text has errors.
pub fn added(
    before: &Source,
    job: &Job,
    measures: &[Measure],
    measurement: &Measurement,
) -> Result<String, Failure> {
    read(before, job, measures).map_err(|errors| Failure::Input(errors.to_string()))?;
    let entry = Entry {
        measurement: [measurement],
    };
    append_only::append(before.text(), HEADING, [entry])
}
