//! When samples are due.

use super::Ticks;

/// A time in 1/256 µs since the pace began; 64 bits of it last two thousand years.
pub(super) type Time = u64;

/// The steady beat at which samples are due, on a wrapping clock.
#[derive(Debug)]
pub(super) struct Pace<T> {
    ticks: T,
    last_micros: u32,
    now: Time,
    period: Time,
    beat: Time,
}

impl<T: Ticks> Pace<T> {
    /// Begins a beat now. `period` in 1/256 µs, at least 1.
    pub(super) fn new(mut ticks: T, period: Time) -> Self {
        let last_micros = ticks.micros();
        Self {
            ticks,
            last_micros,
            now: 0,
            period: if period == 0 { 1 } else { period },
            beat: 0,
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

    /// Whole beats since the last one that was counted.
    pub(super) fn due(&self, now: Time) -> u32 {
        let periods = now.saturating_sub(self.beat) / self.period;
        u32::try_from(periods).unwrap_or(u32::MAX)
    }

    /// Counts so many beats.
    pub(super) fn count(&mut self, beats: u32) {
        let passed = self.period.saturating_mul(u64::from(beats));
        self.beat = self.beat.saturating_add(passed);
    }

    /// Counts the beats up to one that was seen between two moments, and keeps in step with it. Gives how many: at
    /// least one, and as many as fit best.
    pub(super) fn count_seen(&mut self, earliest: Time, latest: Time) -> u32 {
        let middle = earliest / 2 + latest / 2;
        let periods = (middle.saturating_sub(self.beat) + self.period / 2) / self.period;
        let beats = u32::try_from(periods).unwrap_or(u32::MAX).max(1);
        self.count(beats);
        self.beat = self.beat.clamp(earliest.min(latest), latest);
        beats
    }
}
