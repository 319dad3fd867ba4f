//! Logs, from the logger or from a recording of any instrument: one model for both.
//!
//! A new kind of file is recognised in [`read`] and ends in `Parts`, from which `assemble` makes the log. How columns of a
//! recording are found is in `csv::layout`.
//!
//! ```text
//! logger's log -> record frames -> records --\
//!                                              +--> windows, beads, markers, events -> Log
//! recording ----> rows -> samples ------------/
//! ```

mod assemble;
pub mod csv;
mod error;
mod holes;
mod instrument;
mod journal;
mod model;
mod notices;
mod of_job;
mod rates;
pub mod recalibration;
mod sampling;
pub mod seal;
pub mod side;
mod standstill;
pub mod steady;
mod table;
#[cfg(test)]
mod tests;
mod utf16;

pub use error::LogError;
pub use instrument::{Drift, Stuck};
pub use model::{BeadOrigin, Ends, Hole, Log, LoggedBead, ReadingReport, Source, SourceKind};
pub use of_job::read_of_job;

use crate::card::{self, CardLog};
use crate::files::Files;
use crate::recording::RecordingOptions;
use assemble::Parts;
use coldsquare_core::record::Header;
use recalibration::Recalibration;
use std::io::{Cursor, Read};
use std::path::Path;

/// Bytes read to recognise a file: a few thousand rows or records.
const HEAD: u64 = 1 << 18;

/// Reads a log: a logger's own, or a recording of time, volts and amps as text.
///
/// The first 256 KiB of the file decide which it is; a large file of anything else is not read. A later calibration
/// beside it is applied and noted.
///
/// # Errors
/// [`LogError`] says which file, where in it, and what to do.
pub fn read(files: &dyn Files, path: &Path, options: &RecordingOptions) -> Result<Log, LogError> {
    let mut file = files.open(path).map_err(LogError::file(path))?;
    let mut head = Vec::new();
    file.by_ref()
        .take(HEAD)
        .read_to_end(&mut head)
        .map_err(LogError::file(path))?;
    let beside = Beside {
        later: recalibration::load(files, path)?.pop(),
        header: match &options.calibration_of {
            Some(other) => Some(header_of(files, other)?),
            None => None,
        },
    };
    read_with(path, &head, file, options, &beside)
}

/// What is known of a log from other files.
#[derive(Default)]
struct Beside {
    /// The latest calibration.
    later: Option<Recalibration>,
    /// A header of the same logger, for a log that has none.
    header: Option<Header>,
}

/// The first header of another log.
fn header_of(files: &dyn Files, path: &Path) -> Result<Header, LogError> {
    let file = files.open(path).map_err(LogError::file(path))?;
    let parts = journal::read(path, file)?;
    let mut headers = parts.headers.into_iter();
    headers.next().ok_or_else(|| LogError::NoHeader {
        path: path.to_owned(),
        counts: Vec::new(),
    })
}

/// Reads a log that begins with `head` and goes on with `rest`; `path` is for messages.
///
/// ```
/// use coldsquare_engine::{log::read_from, recording::RecordingOptions};
/// use std::path::Path;
///
/// let mut recording = String::from("time_ms,volts,amps\n");
/// for k in 0..5000 {
///     let (volts, amps) = if k < 4000 { (19.0, 120.0) } else { (0.0, 0.0) };
///     recording += &format!("{k},{volts},{amps}\n");
/// }
/// let name = Path::new("weld.csv");
/// let log = read_from(name, recording.as_bytes(), std::io::empty(), &RecordingOptions::default())?;
/// assert_eq!(log.beads.len(), 1);
/// # Ok::<(), coldsquare_engine::log::LogError>(())
/// ```
///
/// # Errors
/// See [`read`].
pub fn read_from(
    path: &Path,
    head: &[u8],
    rest: impl Read,
    options: &RecordingOptions,
) -> Result<Log, LogError> {
    read_with(path, head, rest, options, &Beside::default())
}

fn read_with(
    path: &Path,
    head: &[u8],
    rest: impl Read,
    options: &RecordingOptions,
    beside: &Beside,
) -> Result<Log, LogError> {
    let mut log = read_any(path, head, rest, options, beside)?;
    log.seal.named = options.sealed_by;
    if log.seal.is_in_doubt() {
        log.report.notes.insert(0, log.seal.sentence());
    }
    Ok(log)
}

fn read_any(
    path: &Path,
    head: &[u8],
    rest: impl Read,
    options: &RecordingOptions,
    beside: &Beside,
) -> Result<Log, LogError> {
    let not_a_log = |why| LogError::NotALog {
        path: path.to_owned(),
        why,
    };
    let source = |kind| Source {
        path: path.to_owned(),
        kind,
    };
    let logger = SourceKind::Logger {
        steady_arc: options.steady_arc.unwrap_or(false),
    };
    if head.is_empty() {
        return Err(LogError::Empty(path.to_owned()));
    }
    if card::is_journal(head) {
        let source = source(logger);
        return read_journal(source, head, rest, beside);
    }
    if card::is_card(head) {
        return Err(not_a_log(
            "it is the image of a memory card; fetch the log from it first: coldsquare pull IMAGE LOG",
        ));
    }
    if journal::looks_like_a_log(head) {
        let mut parts = journal::read(path, Cursor::new(head).chain(rest))?;
        prepare(&mut parts, beside);
        return assemble::assemble(source(logger), parts);
    }
    if let Some(kind) = table::kind(head) {
        return read_table(path, kind, head, rest, options, beside);
    }
    if let Some(order) = utf16::order(head) {
        let text = utf16::Utf8::new(Cursor::new(head).chain(rest), order);
        return read_text(path, text, options, beside);
    }
    if !csv::looks_like_text(head) {
        return Err(not_a_log("it begins with neither a whole record nor text"));
    }
    if is_job(head) {
        return Err(not_a_log(
            "it is a job file; commands that take a job and a log take the job first: coldsquare map JOB LOG",
        ));
    }
    let (recording, mut parts) = csv::read(path, head, rest, options)?;
    prepare(&mut parts, beside);
    assemble::assemble(source(SourceKind::Recording(Box::new(recording))), parts)
}

/// Whether a text is a job file: a line that begins one of its tables.
fn is_job(head: &[u8]) -> bool {
    const TABLES: [&str; 5] = [
        "[frame]",
        "[[member]]",
        "[procedure]",
        "[[procedure]]",
        "[[weld]]",
    ];
    let text = String::from_utf8_lossy(head);
    text.lines().any(|line| TABLES.contains(&line.trim()))
}

/// A recording in the file of another program.
fn read_table(
    path: &Path,
    kind: table::Kind,
    head: &[u8],
    mut rest: impl Read,
    options: &RecordingOptions,
    beside: &Beside,
) -> Result<Log, LogError> {
    let refused = |message| LogError::Recording {
        path: path.to_owned(),
        message,
    };
    if let Some(message) = kind.refusal() {
        return Err(refused(message));
    }
    let mut bytes = head.to_vec();
    rest.read_to_end(&mut bytes).map_err(LogError::file(path))?;
    let table = kind
        .read(bytes, options.dataset.as_deref())
        .map_err(refused)?;
    let options = RecordingOptions {
        rate_hz: options
            .rate_hz
            .or(table.rate_hz.filter(|_| options.time.is_none())),
        ..options.clone()
    };
    read_text(path, table::TableText::new(table), &options, beside)
}

/// A recording whose text is made as it is read.
fn read_text(
    path: &Path,
    mut text: impl Read,
    options: &RecordingOptions,
    beside: &Beside,
) -> Result<Log, LogError> {
    let mut head = Vec::new();
    text.by_ref()
        .take(HEAD)
        .read_to_end(&mut head)
        .map_err(LogError::file(path))?;
    let (recording, mut parts) = csv::read(path, &head, text, options)?;
    prepare(&mut parts, beside);
    let source = Source {
        path: path.to_owned(),
        kind: SourceKind::Recording(Box::new(recording)),
    };
    assemble::assemble(source, parts)
}

/// The log in a journal file that was copied from a card.
fn read_journal(
    source: Source,
    head: &[u8],
    rest: impl Read,
    beside: &Beside,
) -> Result<Log, LogError> {
    let mut journal = Vec::new();
    Cursor::new(head)
        .chain(rest)
        .read_to_end(&mut journal)
        .map_err(LogError::file(&source.path))?;
    let CardLog { bytes, notes } = card::log_of(&journal).map_err(|why| LogError::Recording {
        path: source.path.clone(),
        message: why.to_string(),
    })?;
    if bytes.is_empty() {
        return Err(LogError::Empty(source.path));
    }
    let mut parts = journal::read(&source.path, Cursor::new(bytes))?;
    parts.report.notes.extend(notes);
    prepare(&mut parts, beside);
    assemble::assemble(source, parts)
}

/// Puts what other files say of a log into its parts.
fn prepare(parts: &mut Parts, beside: &Beside) {
    if parts.headers.is_empty()
        && let Some(header) = &beside.header
    {
        parts.headers.push(header.clone());
        parts.report.notes.insert(
            0,
            "every header is lost; volts, amps and times are by the calibration of the log that was named".into(),
        );
    }
    if let Some(later) = &beside.later {
        parts
            .headers
            .iter_mut()
            .for_each(|header| later.apply(header));
        parts
            .report
            .notes
            .push(format!("read with {}", later.describe()));
    }
}
