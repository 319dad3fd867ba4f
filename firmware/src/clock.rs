//! Time of day, and elapsed time. Time within a log is counted in samples and needs neither.

use coldsquare_core::record::WallClock;

/// A clock that may know the time of day.
pub trait Clock {
    /// The time of day and its source; `None` if it was never set.
    fn now(&mut self) -> Option<WallClock>;

    /// Sets it to a computer's time, milliseconds since 1970-01-01T00:00:00Z; false if it cannot be set.
    fn set(&mut self, unix_ms: u64) -> bool {
        let _ = unix_ms;
        false
    }

    /// Whether [`Clock::set`] works.
    fn can_be_set(&self) -> bool {
        false
    }
}

/// A free-running timer in microseconds that wraps.
pub trait Ticks {
    /// Microseconds since some start, modulo 2^32. Read it at least once an hour.
    fn micros(&mut self) -> u32;
}

impl<F: FnMut() -> u32> Ticks for F {
    fn micros(&mut self) -> u32 {
        self()
    }
}
