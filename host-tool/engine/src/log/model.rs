//! A log as every later stage sees it, whatever it was read from.
//!
//! Positions count samples from the start of the log, dropped ones included; [`Log::seconds`] turns them into time.

use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::meter::{Measured, MeterError};
use coldsquare_core::record::{Event, Header, Marker, Tally};
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::Seconds;
use std::path::PathBuf;

use super::csv::{self, Recording};

/// A whole log.
#[derive(Clone, Debug)]
pub struct Log {
    /// What it was read from.
    pub source: Source,
    /// How it was measured: never empty. Each header speaks for the samples from its `start` to the next one's; the
    /// first speaks for what may lie before it as well.
    pub headers: Vec<Header>,
    /// Windows in order of position. Where nothing was lost they follow one another without a break.
    pub windows: Vec<Window>,
    /// Beads in order of position.
    pub beads: Vec<LoggedBead>,
    /// What the welder said, in the order in which it was said.
    pub markers: Vec<Marker>,
    /// What the logger noticed, in the order in which it noticed it.
    pub events: Vec<Event>,
    /// What could not be read, and what was assumed in reading.
    pub report: ReadingReport,
}

/// What a log was read from.
#[derive(Clone, Debug)]
pub struct Source {
    /// The file.
    pub path: PathBuf,
    /// What it is.
    pub kind: SourceKind,
}

/// What kind of file a log was read from.
#[derive(Clone, Debug)]
pub enum SourceKind {
    /// The journal of a logger of ours.
    Logger {
        /// The user says that the arc was steady, so that slow samples miss nothing.
        steady_arc: bool,
    },
    /// Columns of time, volts and amps from any instrument.
    Recording(Box<Recording>),
}

/// A bead of a log with what was measured on it.
#[derive(Clone, Debug)]
pub struct LoggedBead {
    /// Counts and sums as they were recorded.
    pub bead: Bead,
    /// When it began, from the first sample of the log.
    pub start: Seconds,
    /// Time from its first to its last lit sample, gaps included.
    pub duration: Seconds,
    /// Time its arc burned, gaps left out, with the doubt of the sample rate; s.
    pub arc_time: Uncertain,
    /// True when it burned too briefly to be more than a tack.
    pub is_tack: bool,
    /// How it came into the log.
    pub origin: BeadOrigin,
    /// Volts, amps and joules, with every doubt that is known, [`Log::waveform_doubt`] included. An error when it
    /// cannot be measured, for instance because all of its samples were dropped.
    pub measured: Result<Measured, MeterError>,
}

/// How a bead came into the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BeadOrigin {
    /// The detector closed it.
    Recorded,
    /// Its record is missing (power failed while it burned, or the record is damaged) and it was put together again
    /// from its windows. Its end may be missing.
    Rebuilt,
}

/// What could not be read, and what was assumed in reading.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadingReport {
    /// Bytes, records, and what was skipped or is missing. All zero but the bytes for a recording.
    pub tally: Tally,
    /// Samples between records that no window speaks for: their windows are missing.
    pub uncovered_samples: u64,
    /// Sentences for the reader, worst first: damage, assumptions, doubts.
    pub notes: Vec<String>,
}

impl Log {
    /// The header that speaks for a position.
    #[must_use]
    pub fn header_at(&self, position: u64) -> &Header {
        let after = self
            .headers
            .partition_point(|header| header.start <= position);
        &self.headers[after.saturating_sub(1)]
    }

    /// Time from the first sample of the log to a position. Time without power counts as no time: how long it was is
    /// only known where both headers have a wall clock.
    #[must_use]
    pub fn seconds(&self, position: u64) -> Seconds {
        let ends = self
            .headers
            .iter()
            .skip(1)
            .map(|header| header.start)
            .chain([u64::MAX]);
        let mut from = 0;
        let mut time = 0.0;
        for (header, end) in self.headers.iter().zip(ends) {
            let end = end.min(position);
            time += end.saturating_sub(from) as f64 / header.calibration.sample_rate_hz;
            from = from.max(end);
        }
        Seconds(time)
    }

    /// Wall-clock time of a position, ms since 1970-01-01T00:00:00Z, where the logger knew it.
    #[must_use]
    pub fn unix_ms(&self, position: u64) -> Option<u64> {
        let header = self.header_at(position);
        let clock = header.clock?;
        let samples = position.saturating_sub(header.start) as f64;
        Some(
            clock
                .unix_ms
                .saturating_add((1000.0 * samples / header.calibration.sample_rate_hz) as u64),
        )
    }

    /// The windows of a bead, in order; those of its gaps are not `lit`.
    #[must_use]
    pub fn windows_of(&self, bead: &Bead) -> &[Window] {
        let end = bead.start.saturating_add(bead.span());
        let first = self
            .windows
            .partition_point(|window| window.start < bead.start);
        let last = self.windows.partition_point(|window| window.start < end);
        self.windows.get(first..last).unwrap_or(&[])
    }

    /// Half-width, as a share of the energy, by which true power may be off because the samples are too slow to see
    /// short circuits and pulses; 0 where it is fast enough or the arc is known to be steady.
    #[must_use]
    pub fn waveform_doubt(&self) -> f64 {
        match &self.source.kind {
            SourceKind::Logger { steady_arc: true } => 0.0,
            SourceKind::Logger { steady_arc: false } => {
                let is_slow = |header: &Header| header.calibration.sample_rate_hz < csv::SLOW_HZ;
                if self.headers.iter().any(is_slow) {
                    csv::WAVEFORM_DOUBT
                } else {
                    0.0
                }
            }
            SourceKind::Recording(recording) => recording.waveform_doubt,
        }
    }
}
