//! From the text of a recording to the records of a log.

use super::columns::{Refused, detect};
use super::describe::{arc_settings, calibration, describe, find_time_base, header};
use super::recording::Recording;
use super::rows::{Lines, is_blank, line_end};
use super::run::{Run, line_error};
use crate::log::assemble::Parts;
use crate::log::error::LogError;
use crate::recording::RecordingOptions;
use coldsquare_core::arc::ArcConfig;
use std::io::{Cursor, Read};
use std::path::Path;

/// Lines that layout and time base are found from.
const MAX_HEAD_LINES: usize = 5000;

/// Bytes that are looked at when the head does not tell which columns are which.
const LONG_HEAD: u64 = 8 << 20;

/// Reads a recording that begins with `head` and goes on with `rest`.
pub(in crate::log) fn read(
    path: &Path,
    head: &[u8],
    mut rest: impl Read,
    options: &RecordingOptions,
) -> Result<(Recording, Parts), LogError> {
    let whole = |message: String| LogError::Recording {
        path: path.to_owned(),
        message,
    };
    let end = line_end(head);
    let mut head = std::borrow::Cow::Borrowed(head);
    let mut lines = head_lines(path, &head, end)?;
    let mut found = detect(&lines, options);
    if match &found {
        Ok(layout) => !layout.arc_seen,
        Err(refused) => matches!(refused, Refused::Columns(_)),
    } {
        let more = rest.by_ref().take(LONG_HEAD).read_to_end(head.to_mut());
        if more.map_err(LogError::file(path))? > 0 {
            lines = head_lines(path, &head, end)?;
            found = detect(&lines, options);
        }
    }
    let layout = found.map_err(|(Refused::Rows(why) | Refused::Columns(why))| whole(why))?;
    let rows: Vec<&(u64, String)> = lines
        .iter()
        .filter(|(number, line)| *number >= layout.first_row && layout.is_row(line))
        .take(MAX_HEAD_LINES)
        .collect();
    let time_base = find_time_base(&layout, &rows, options).map_err(whole)?;
    let recording = describe(&layout, &time_base, &rows, options).map_err(whole)?;
    drop(rows);
    drop(lines);
    let settings = arc_settings(&time_base, options);
    let calibration = calibration(&recording, &layout.sample);
    let config =
        ArcConfig::new(&settings, &calibration).map_err(|error| whole(error.to_string()))?;
    let mut run = Run::new(path, &layout, options, recording, &time_base, config);
    run.rows(Lines::new(Cursor::new(&head[..]).chain(rest), end))?;
    run.refuse_bad_rows()?;
    let header = header(&calibration, config, &time_base, options);
    Ok(run.finish(header, &time_base))
}

/// The whole lines of the head. The last line may be cut off, so it is left out unless it is the only one.
fn head_lines(path: &Path, head: &[u8], end: u8) -> Result<Vec<(u64, String)>, LogError> {
    let mut lines = Lines::new(head, end);
    let mut found = Vec::new();
    while let Some(line) = lines.next().map_err(|error| line_error(path, error))? {
        found.push((line.number, line.text().into_owned()));
    }
    if found.len() > 1 && head.last() != Some(&end) {
        found.pop();
    }
    found.retain(|(_, line)| !is_blank(line));
    Ok(found)
}
