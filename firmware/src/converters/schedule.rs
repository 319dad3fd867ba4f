//! When samples are due.

use super::Ticks;

/// Time since the schedule began, in 1/256 µs; 64 bits last two thousand years.
pub(super) type Time = u64;

/// The steady schedule at which samples are due, on a clock that wraps.
#[derive(Debug)]
pub(super) struct SampleSchedule<T> {
    ticks: T,
    last_micros: u32,
    now: Time,
    period: Time,
    /// When the last counted sample was due.
    last_due: Time,
}

impl<T: Ticks> SampleSchedule<T> {
    /// Begins now. `period` in 1/256 µs, at least 1.
    pub(super) fn new(mut ticks: T, period: Time) -> Self {
        let last_micros = ticks.micros();
        Self {
            ticks,
            last_micros,
            now: 0,
            period: if period == 0 { 1 } else { period },
            last_due: 0,
        }
    }

    /// The time now.
    pub(super) fn now(&mut self) -> Time {
        let micros = self.ticks.micros();
        let passed = micros.wrapping_sub(self.last_micros);
        self.last_micros = micros;
        self.now = self.now.saturating_add(u64::from(passed) << 8);
        self.now
    }

    /// The time between samples.
    pub(super) const fn period(&self) -> Time {
        self.period
    }

    /// Samples due since the last one that was counted.
    pub(super) fn due(&self, now: Time) -> u32 {
        let periods = now.saturating_sub(self.last_due) / self.period;
        u32::try_from(periods).unwrap_or(u32::MAX)
    }

    /// Counts this many samples.
    pub(super) fn count(&mut self, samples: u32) {
        let passed = self.period.saturating_mul(u64::from(samples));
        self.last_due = self.last_due.saturating_add(passed);
    }

    /// Counts the samples up to one that was observed between two times, and adjusts the schedule to it. Returns how many:
    /// the nearest whole number, at least one.
    pub(super) fn count_observed(&mut self, earliest: Time, latest: Time) -> u32 {
        let middle = earliest / 2 + latest / 2;
        let periods = (middle.saturating_sub(self.last_due) + self.period / 2) / self.period;
        let samples = u32::try_from(periods).unwrap_or(u32::MAX).max(1);
        self.count(samples);
        self.last_due = self.last_due.clamp(earliest.min(latest), latest);
        samples
    }
}
