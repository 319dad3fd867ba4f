//! Time of day, and time that passes. Time within a log is counted in samples and needs neither.

use coldsquare_core::record::WallClock;

/// Something that may know the time of day.
pub trait Clock {
    /// The time of day and where it came from; `None` when nobody has set it.
    fn now(&mut self) -> Option<WallClock>;

    /// Sets it, milliseconds since 1970-01-01T00:00:00Z, as told by a computer; false for one that cannot be set.
    fn set(&mut self, unix_ms: u64) -> bool {
        let _ = unix_ms;
        false
    }

    /// Whether [`Clock::set`] does something.
    fn can_be_set(&self) -> bool {
        false
    }
}

/// A count of microseconds that goes on for ever and wraps; any free-running timer.
pub trait Ticks {
    /// Microseconds since some beginning, modulo 2^32. Asked at least once an hour.
    fn micros(&mut self) -> u32;
}

impl<F: FnMut() -> u32> Ticks for F {
    fn micros(&mut self) -> u32 {
        self()
    }
}
