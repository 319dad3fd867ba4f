//! Time of day. Time within a log is counted in samples and needs no clock.

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
