//! A log as every later stage sees it, from whatever file.
//!
//! Positions count samples from the start of the log, dropped ones included; [`Log::seconds`] turns them into time.

use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::meter::{Measured, MeterError};
use coldsquare_core::record::{Event, Header, Marker, ReadCounts};
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::Seconds;
use std::path::PathBuf;

use super::csv::Recording;
use super::seal::Seal;

/// A whole log.
#[derive(Clone, Debug)]
pub struct Log {
    /// What it was read from.
    pub source: Source,
    /// How it was measured: never empty. Each header holds from its `start` to the start of the next; the first holds for
    /// anything before it too.
    pub headers: Vec<Header>,
    /// Windows in order of position, without a break unless something was lost.
    pub windows: Vec<Window>,
    /// Beads in order of position.
    pub beads: Vec<LoggedBead>,
    /// The welder's markers, in order of time.
    pub markers: Vec<Marker>,
    /// The logger's events, in order of time.
    pub events: Vec<Event>,
    /// Where records or many samples are missing, in order of position.
    pub holes: Vec<Hole>,
    /// What could not be read, and what was assumed.
    pub report: ReadingReport,
    /// Whether it is as its logger wrote it.
    pub seal: Seal,
}

/// A place where records or many samples are missing: what happened there is not known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hole {
    /// Position of the first sample that is missing.
    pub from: u64,
    /// Position of the first sample after it; the same as `from` when every window is there and only other records are
    /// missing.
    pub until: u64,
    /// Records missing by their numbers; 0 when only samples are missing.
    pub records: u64,
    /// The most beads that can have been lost in it, where the numbers of the beads around it tell; `None` where they
    /// do not.
    pub beads: Option<u32>,
}

/// Whether the log holds both ends of a bead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ends {
    /// The moment when its arc was first lit is in the log.
    pub start: bool,
    /// The moment when its arc went out is in the log.
    pub end: bool,
}

impl Ends {
    /// Both are there.
    pub const WHOLE: Self = Self {
        start: true,
        end: true,
    };
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
#[non_exhaustive]
pub enum SourceKind {
    /// The logger's own log.
    Logger {
        /// The user declares a steady arc, so that slow sampling misses nothing.
        steady_arc: bool,
    },
    /// Columns of time, volts and amps from any instrument.
    Recording(Box<Recording>),
}

/// A bead of a log with what was measured on it.
#[derive(Clone, Debug)]
pub struct LoggedBead {
    /// Counts and sums as recorded.
    pub bead: Bead,
    /// When it began, from the first sample of the log.
    pub start: Seconds,
    /// Time from the first to the last sample with the arc on, gaps included.
    pub duration: Seconds,
    /// Arc time, gaps left out, s; with the uncertainty of the sampling rate, and of when the arc began and ended
    /// between two samples.
    pub arc_time: Uncertain,
    /// True when its arc time is too short for more than a tack.
    pub is_tack: bool,
    /// How it came into the log.
    pub origin: BeadOrigin,
    /// Which of its ends are in the log. What is measured on a bead that is not whole holds for the part that was logged.
    pub ends: Ends,
    /// Volts, amps and joules, with every known uncertainty, [`Log::waveform_uncertainty`] included. An error if it cannot
    /// be measured, for instance because all its samples were dropped.
    pub measured: Result<Measured, MeterError>,
    /// Volts and amps while the arc burned, gaps left out; those of `measured` where the log has no windows of it.
    pub burning: Option<Measured>,
}

impl LoggedBead {
    /// Energy over arc time, W: volts times amps times arc time is this times arc time only where volts and amps do not
    /// move together.
    #[must_use]
    pub fn power(&self) -> Option<f64> {
        let energy = self.measured.as_ref().ok()?.energy.0;
        (self.arc_time.value > 0.0).then(|| energy / self.arc_time.value)
    }
}

/// How a bead came into the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BeadOrigin {
    /// The detector closed it.
    Recorded,
    /// Its record is missing (power failed during the bead, or the record is damaged), and it was rebuilt from its windows.
    /// [`LoggedBead::ends`] says whether its ends are there.
    Rebuilt,
}

/// What could not be read, and what was assumed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadingReport {
    /// Bytes, records, and what was skipped or is missing. For a recording all but the bytes are zero.
    pub tally: ReadCounts,
    /// Samples between records that are in no window: their windows are missing.
    pub uncovered_samples: u64,
    /// Sentences for the user, worst first: damage, assumptions, warnings.
    pub notes: Vec<String>,
}

impl Log {
    /// The header that holds at a position.
    #[must_use]
    pub fn header_at(&self, position: u64) -> &Header {
        let after = self
            .headers
            .partition_point(|header| header.start <= position);
        &self.headers[after.saturating_sub(1)]
    }

    /// Time from the first sample of the log to a position. Time without power is not counted: it is only known if both
    /// headers have a wall clock.
    #[must_use]
    pub fn seconds(&self, position: u64) -> Seconds {
        let (mut from, mut time) = (0, 0.0);
        let mut headers = self.headers.iter().peekable();
        while let Some(header) = headers.next() {
            let rate = header.calibration.sample_rate_hz;
            // Headers that only repeat the rate make no difference, not even to the last digit.
            let is_same =
                |next: &&Header| next.calibration.sample_rate_hz.to_bits() == rate.to_bits();
            if headers.peek().is_some_and(is_same) {
                continue;
            }
            let end = headers
                .peek()
                .map_or(u64::MAX, |next| next.start)
                .min(position);
            time += end.saturating_sub(from) as f64 / rate;
            from = from.max(end);
        }
        Seconds(time)
    }

    /// Wall-clock time of a position, ms since 1970-01-01T00:00:00Z, if the logger knew it.
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

    /// The windows of a bead, in order, those of its gaps included.
    #[must_use]
    pub fn windows_of(&self, bead: &Bead) -> &[Window] {
        let end = bead.start.saturating_add(bead.span());
        let first = self
            .windows
            .partition_point(|window| window.start < bead.start);
        let last = self.windows.partition_point(|window| window.start < end);
        self.windows.get(first..last).unwrap_or(&[])
    }

    /// By how much the energy may be wrong, as a share of it (half-width), because sampling is too slow for short circuits
    /// and pulses; 0 if it is fast enough or the arc is steady.
    #[must_use]
    pub fn waveform_uncertainty(&self) -> f64 {
        match &self.source.kind {
            SourceKind::Logger { steady_arc: true } => 0.0,
            SourceKind::Logger { steady_arc: false } => {
                let is_slow =
                    |header: &Header| header.calibration.sample_rate_hz < super::rates::SLOW_HZ;
                if self.headers.iter().any(is_slow) {
                    super::rates::WAVEFORM_UNCERTAINTY
                } else {
                    0.0
                }
            }
            SourceKind::Recording(recording) => recording.waveform_uncertainty,
        }
    }
}

#[cfg(test)]
mod tests;
