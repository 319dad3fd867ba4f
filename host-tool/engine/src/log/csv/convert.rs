//! From the text of a recording to the records of a log.

use super::columns::detect;
use super::describe::{
    AMPS_PER_COUNT, VOLTS_PER_COUNT, arc_settings, calibration, describe, find_time_base, header,
};
use super::layout::Layout;
use super::number::{Moment, Number, moment, number};
use super::options::{CsvOptions, TimeUnit};
use super::recording::{Quantity, Recording};
use super::rows::{Line, LineError, Lines, fields, is_blank};
use super::ticks::{Detector, Ticks};
use super::time_base::TimeBase;
use crate::log::assemble::Parts;
use crate::log::error::LogError;
use coldsquare_core::arc::ArcConfig;
use coldsquare_core::record::Header;
use coldsquare_core::samples::RawPair;
use std::io::{BufRead, Cursor, Read};
use std::path::Path;

/// Lines that layout and time base are found from.
const MAX_HEAD_LINES: usize = 5000;

/// Reads a recording that begins with `head` and goes on with `rest`.
pub(in crate::log) fn read(
    path: &Path,
    head: &[u8],
    rest: impl BufRead,
    options: &CsvOptions,
) -> Result<(Recording, Parts), LogError> {
    let whole = |message: String| LogError::Recording {
        path: path.to_owned(),
        message,
    };
    let head_lines = head_lines(path, head)?;
    let layout = detect(&head_lines, options).map_err(whole)?;
    let rows: Vec<&(u64, String)> = head_lines
        .iter()
        .filter(|(number, line)| *number >= layout.first_row && layout.is_row(line))
        .collect();
    let time_base = find_time_base(&layout, &rows, options).map_err(whole)?;
    let recording = describe(&layout, &time_base, &rows, options).map_err(whole)?;
    let settings = arc_settings(&time_base, options);
    let calibration = calibration(&recording);
    let config =
        ArcConfig::new(&settings, &calibration).map_err(|error| whole(error.to_string()))?;
    let mut run = Run {
        path,
        layout: &layout,
        time_scale: recording.time_unit.map_or(1.0, TimeUnit::seconds),
        counted_interval: layout.time.is_none().then_some(time_base.tick),
        recording,
        ticks: Ticks::new(&time_base),
        detector: Detector::new(config),
        first: None,
        day: 0.0,
    };
    run.rows(Lines::new(Cursor::new(head).chain(rest)))?;
    let header = header(&calibration, config, &time_base, options);
    Ok(run.finish(header, &time_base))
}

/// The whole lines of the head. The last line may be cut off, so it is left out unless it is the only one.
fn head_lines(path: &Path, head: &[u8]) -> Result<Vec<(u64, String)>, LogError> {
    let mut lines = Lines::new(head);
    let mut found = Vec::new();
    while found.len() < MAX_HEAD_LINES {
        match lines.next().map_err(|error| line_error(path, error))? {
            Some(line) => found.push((line.number, line.text.into_owned())),
            None => break,
        }
    }
    if found.len() > 1 && !head.ends_with(b"\n") {
        found.pop();
    }
    found.retain(|(_, line)| !is_blank(line));
    Ok(found)
}

fn line_error(path: &Path, error: LineError) -> LogError {
    match error {
        LineError::File(cause) => LogError::File {
            path: path.to_owned(),
            cause,
        },
        LineError::TooLong(line) => LogError::At {
            path: path.to_owned(),
            line,
            column: 1,
            message: "this line is longer than any row of a recording".into(),
        },
    }
}

/// Reading in progress.
struct Run<'a> {
    path: &'a Path,
    layout: &'a Layout,
    time_scale: f64,
    /// Seconds between rows when there is no time column.
    counted_interval: Option<f64>,
    recording: Recording,
    ticks: Ticks,
    detector: Detector,
    /// The first time of the recording: times are counted from it, so that seconds since 1970 keep their decimals.
    first: Option<Moment>,
    /// Days since the first time of day, in seconds.
    day: f64,
}

impl Run<'_> {
    fn rows(&mut self, mut lines: Lines<impl BufRead>) -> Result<(), LogError> {
        let path = self.path;
        while let Some(line) = lines.next().map_err(|error| line_error(path, error))? {
            if line.number >= self.layout.first_row && !is_blank(&line.text) {
                self.row(&line)?;
            }
        }
        Ok(())
    }

    fn row(&mut self, line: &Line<'_>) -> Result<(), LogError> {
        let (mut time, mut volts, mut amps) = (None, None, None);
        for (column, field) in fields(&line.text, self.layout.separator).enumerate() {
            if Some(column) == self.layout.time {
                time = Some(field);
            } else if column == self.layout.volts {
                volts = Some(field);
            } else if column == self.layout.amps {
                amps = Some(field);
            }
        }
        let pair = self.pair(line, volts, amps)?;
        let time = self.time(line, time)?;
        self.recording.rows += 1;
        self.recording.missing_rows += u64::from(pair.is_none() || time.is_none());
        let Some(time) = time else { return Ok(()) };
        let (ticks, detector) = (&mut self.ticks, &mut self.detector);
        ticks
            .row(time, pair, detector)
            .map_err(|message| self.at(line, 0, message))
    }

    fn pair(
        &self,
        line: &Line<'_>,
        volts: Option<(usize, &str)>,
        amps: Option<(usize, &str)>,
    ) -> Result<Option<RawPair>, LogError> {
        let value = |field: Option<(usize, &str)>, what: &str| {
            let Some((at, text)) = field else {
                return Ok(Number::Missing);
            };
            number(text, self.layout.decimal).ok_or_else(|| {
                self.at(
                    line,
                    at,
                    format!("'{}' is not a number ({what})", shortened(text)),
                )
            })
        };
        let counts = |number: Number, quantity: &Quantity, unit: f64| match number {
            Number::Value(value) => {
                Some(((value * quantity.scale + quantity.offset) / unit).round() as i32)
            }
            Number::Missing => None,
        };
        let volts = counts(
            value(volts, "volts")?,
            &self.recording.volts,
            VOLTS_PER_COUNT,
        );
        let amps = counts(value(amps, "amps")?, &self.recording.amps, AMPS_PER_COUNT);
        Ok(volts
            .zip(amps)
            .map(|(volts, amps)| RawPair::new(volts, amps)))
    }

    /// Seconds since the first time of the recording.
    fn time(
        &mut self,
        line: &Line<'_>,
        field: Option<(usize, &str)>,
    ) -> Result<Option<f64>, LogError> {
        if let Some(interval) = self.counted_interval {
            return Ok(Some(self.recording.rows as f64 * interval));
        }
        let Some((at, text)) = field else {
            return Ok(None);
        };
        let Some(moment) = moment(text, self.layout.decimal) else {
            let message = format!("'{}' is not a time", shortened(text));
            return Err(self.at(line, at, message));
        };
        if moment == Moment::Missing {
            return Ok(None);
        }
        let first = *self.first.get_or_insert(moment);
        let seconds = match (first, moment) {
            (Moment::Numeric(first), Moment::Numeric(now)) => (now - first) * self.time_scale,
            (Moment::Absolute(first), Moment::Absolute(now))
            | (Moment::Local(first), Moment::Local(now)) => now - first,
            (Moment::OfDay(first), Moment::OfDay(now)) => {
                // A large step back is midnight.
                if now - first + self.day < self.ticks.last_time() - 43_200.0 {
                    self.day += 86_400.0;
                }
                now - first + self.day
            }
            _ => {
                let message = format!(
                    "'{}' has another format than the first time",
                    shortened(text)
                );
                return Err(self.at(line, at, message));
            }
        };
        Ok(Some(seconds))
    }

    /// An error at a byte of a line; the message counts characters, as editors do.
    fn at(&self, line: &Line<'_>, byte: usize, message: String) -> LogError {
        LogError::At {
            path: self.path.to_owned(),
            line: line.number,
            column: line
                .text
                .get(..byte)
                .map_or(0, |before| before.chars().count())
                + 1,
            message,
        }
    }

    fn finish(mut self, header: Header, time_base: &TimeBase) -> (Recording, Parts) {
        self.ticks.finish(&mut self.detector);
        let counts = self.ticks.counts;
        self.recording.merged_rows = counts.merged;
        self.recording.gaps = counts.gaps;
        self.recording.time_went_back = counts.went_back;
        let mut parts = Parts {
            headers: vec![header],
            windows: self.detector.windows,
            beads: self.detector.beads,
            ..Parts::default()
        };
        parts.report.notes = self
            .recording
            .notes(time_base.unit_is_guess, self.layout.by_order);
        (self.recording, parts)
    }
}

/// Text short enough for a message.
fn shortened(text: &str) -> String {
    const MAX_CHARS: usize = 40;
    let mut shown: String = text.trim().chars().take(MAX_CHARS).collect();
    if text.trim().chars().count() > MAX_CHARS {
        shown.push('…');
    }
    shown
}
