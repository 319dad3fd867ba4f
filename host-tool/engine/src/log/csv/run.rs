//! The rows of a recording: each from text to numbers, from there to a tick, and at the end to the records of a log.

use super::describe::{AMPS_PER_COUNT, VOLTS_PER_COUNT, scaled};
use super::drift::{drifts, headers};
use super::layout::Layout;
use super::number::{Moment, Number, moment, number};
use super::quick::Quick;
use super::recording::{Quantity, Recording};
use super::rows::{Line, LineError, Lines, fields, is_blank_line};
use super::ticks::{Detector, Ticks};
use super::time_base::TimeBase;
use crate::log::assemble::Parts;
use crate::log::error::LogError;
use crate::log::holes::SequenceGap;
use crate::recording::{RecordingOptions, TimeUnit};
use coldsquare_core::arc::ArcConfig;
use coldsquare_core::record::Header;
use coldsquare_core::samples::RawPair;
use std::io::Read;
use std::path::Path;

pub(super) fn line_error(path: &Path, error: LineError) -> LogError {
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

/// Bad rows that are named.
const NAMED_BAD_ROWS: usize = 3;

/// Reading in progress.
pub(super) struct Run<'a> {
    path: &'a Path,
    layout: &'a Layout,
    options: &'a RecordingOptions,
    time_scale: f64,
    /// Seconds between rows when there is no time column.
    counted_interval: Option<f64>,
    quick: Option<Quick>,
    recording: Recording,
    ticks: Ticks,
    detector: Detector,
    /// The first time of the recording: times are counted from it, so that seconds since 1970 keep their decimals.
    first: Option<Moment>,
    /// Days or hours since the first time of day, in seconds.
    wrapped: f64,
    /// The first rows that cannot be read.
    bad: Vec<LogError>,
}

impl<'a> Run<'a> {
    pub(super) fn new(
        path: &'a Path,
        layout: &'a Layout,
        options: &'a RecordingOptions,
        recording: Recording,
        time_base: &TimeBase,
        config: ArcConfig,
    ) -> Self {
        let (habit, habits) = scaled(&layout.sample, &recording.volts, &recording.amps).habits();
        Self {
            path,
            layout,
            options,
            time_scale: recording.time_unit.map_or(1.0, TimeUnit::seconds),
            counted_interval: layout.time.is_none().then_some(time_base.tick),
            quick: Quick::new(layout),
            recording,
            ticks: Ticks::new(time_base, habit, habits),
            detector: Detector::new(config),
            first: None,
            wrapped: 0.0,
            bad: Vec::new(),
        }
    }

    pub(super) fn rows(&mut self, mut lines: Lines<impl Read>) -> Result<(), LogError> {
        let path = self.path;
        while let Some(line) = lines.next().map_err(|error| line_error(path, error))? {
            if line.number < self.layout.first_row {
                continue;
            }
            if self.quick_row(&line) || is_blank_line(line.bytes) {
                continue;
            }
            if let Err(error) = self.row(&line) {
                self.recording.bad_rows += 1;
                if self.bad.len() < NAMED_BAD_ROWS {
                    self.bad.push(error);
                }
            }
        }
        Ok(())
    }

    /// Takes a row of plain numbers; false, and nothing taken, for any other.
    #[inline]
    fn quick_row(&mut self, line: &Line<'_>) -> bool {
        let Some((time, volts, amps)) = self.quick.as_ref().and_then(|quick| quick.row(line.bytes))
        else {
            return false;
        };
        let time = match (self.counted_interval, self.first) {
            (Some(interval), _) => self.recording.rows as f64 * interval,
            (None, Some(Moment::Numeric(first))) => (time - first) * self.time_scale,
            // The first row sets the kind of clock.
            _ => return false,
        };
        let counts = |value: f64, quantity: &Quantity, per_unit: f64| {
            let counts = (value * quantity.scale + quantity.offset) * per_unit;
            // As `round`, which is a call on many processors; the cast saturates.
            (counts + 0.5f64.copysign(counts)) as i32
        };
        let pair = RawPair::new(
            counts(volts, &self.recording.volts, 1.0 / VOLTS_PER_COUNT),
            counts(amps, &self.recording.amps, 1.0 / AMPS_PER_COUNT),
        );
        if self
            .ticks
            .row(time, Some(pair), &mut self.detector)
            .is_err()
        {
            return false;
        }
        self.recording.rows += 1;
        true
    }

    fn row(&mut self, line: &Line<'_>) -> Result<(), LogError> {
        let (mut time, mut volts, mut amps) = (None, None, None);
        let text = line.text();
        for (column, field) in fields(&text, self.layout.separator).enumerate() {
            if Some(column) == self.layout.time {
                time = Some(field);
            } else if column == self.layout.volts {
                volts = Some(field);
            } else if column == self.layout.amps {
                amps = Some(field);
            }
        }
        let time = self.time(line, time)?;
        let pair = match self.pair(line, volts, amps) {
            Ok(pair) => pair,
            Err(error) => {
                // Left out or not, its time stays: what was measured then is missing.
                if let Some(time) = time {
                    let _ = self.ticks.row(time, None, &mut self.detector);
                }
                return Err(error);
            }
        };
        self.recording.rows += 1;
        self.recording.missing_rows += u64::from(pair.is_none() || time.is_none());
        let Some(time) = time else { return Ok(()) };
        let (ticks, detector) = (&mut self.ticks, &mut self.detector);
        ticks
            .row(time, pair, detector)
            .map_err(|message| self.at(line, 0, message))
    }

    /// Bad rows are an error unless the user wants them left out. The first three are named.
    pub(super) fn refuse_bad_rows(&mut self) -> Result<(), LogError> {
        if self.options.skip_bad_rows.unwrap_or(false) || self.bad.is_empty() {
            return Ok(());
        }
        let count = self.recording.bad_rows;
        let others: Vec<String> = self
            .bad
            .iter()
            .skip(1)
            .filter_map(|error| match error {
                LogError::At {
                    line,
                    column,
                    message,
                    ..
                } => Some(format!("{line}:{column}: {message}")),
                _ => None,
            })
            .collect();
        let mut first = self.bad.swap_remove(0);
        if let LogError::At { message, .. } = &mut first {
            for other in others {
                *message += &format!("; {other}");
            }
            *message += &match count {
                1 => "; correct this row, or leave it out with --skip-bad-rows".to_owned(),
                _ => format!(
                    "; {count} such rows: correct them, or leave them out with --skip-bad-rows"
                ),
            };
        }
        Err(first)
    }

    fn pair(
        &mut self,
        line: &Line<'_>,
        volts: Option<(usize, &str)>,
        amps: Option<(usize, &str)>,
    ) -> Result<Option<RawPair>, LogError> {
        let mut fillers = 0;
        let mut value = |field: Option<(usize, &str)>, what: &str| {
            let Some((at, text)) = field else {
                return Ok(Number::Missing);
            };
            let number = number(text, self.layout.decimal).ok_or_else(|| {
                self.at(
                    line,
                    at,
                    format!("'{}' is not a number ({what})", shortened(text)),
                )
            });
            let is_filler = matches!(number, Ok(Number::Missing))
                && !matches!(text.trim().to_ascii_lowercase().as_str(), "" | "nan");
            fillers += u64::from(is_filler);
            number
        };
        let counts = |number: Number, quantity: &Quantity, unit: f64| match number {
            Number::Value(value) => {
                Some(((value * quantity.scale + quantity.offset) / unit).round() as i32)
            }
            Number::Missing => None,
        };
        let (volts, amps) = (value(volts, "volts")?, value(amps, "amps")?);
        self.recording.fillers += fillers;
        let volts = counts(volts, &self.recording.volts, VOLTS_PER_COUNT);
        let amps = counts(amps, &self.recording.amps, AMPS_PER_COUNT);
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
        let Some(moment) = moment(text, self.layout.decimal, self.layout.dates) else {
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
            (Moment::OfDay(first), Moment::OfDay(now)) => self.unwrapped(now - first, 86_400.0),
            (Moment::OfHour(first), Moment::OfHour(now)) => self.unwrapped(now - first, 3600.0),
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

    /// A time of day or hour that goes on after its end: a large step back is midnight, or the full hour.
    fn unwrapped(&mut self, since_first: f64, period: f64) -> f64 {
        if since_first + self.wrapped < self.ticks.last_time() - period / 2.0 {
            self.wrapped += period;
        }
        since_first + self.wrapped
    }

    /// An error at a byte of a line; the message counts characters, as editors do.
    fn at(&self, line: &Line<'_>, byte: usize, message: String) -> LogError {
        LogError::At {
            path: self.path.to_owned(),
            line: line.number,
            column: line
                .text()
                .get(..byte)
                .map_or(0, |before| before.chars().count())
                + 1,
            message,
        }
    }

    pub(super) fn finish(mut self, header: Header, time_base: &TimeBase) -> (Recording, Parts) {
        self.ticks.finish(&mut self.detector);
        let counts = self.ticks.counts;
        self.recording.merged_rows = counts.merged;
        self.recording.gaps = counts.gaps;
        self.recording.long_gaps = counts.long_gaps;
        self.recording.frozen = counts.frozen;
        self.recording.frozen_s = counts.frozen_ticks as f64 * time_base.tick;
        self.recording.time_went_back = counts.went_back;
        self.recording.stuck = std::mem::take(&mut self.ticks.still.stuck);
        if self.options.amps_offset.is_none() {
            let (windows, beads) = (&self.detector.windows, &self.detector.beads);
            self.recording.drifts = drifts(windows, beads, &header);
        }
        let headers = headers(header, &self.recording.drifts, &self.detector.beads);
        let mut parts = Parts {
            headers,
            windows: self.detector.windows,
            beads: self.detector.beads,
            ..Parts::default()
        };
        let at_break = |&position: &u64| SequenceGap {
            from: position,
            until: position,
            records: 0,
        };
        parts.gaps = self.ticks.breaks.iter().map(at_break).collect();
        parts.report.notes = time_base
            .doubt
            .iter()
            .chain(&self.layout.notes)
            .cloned()
            .collect();
        let notes = self
            .recording
            .notes(time_base.unit_is_guess, self.layout.by_order);
        parts.report.notes.extend(notes);
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
