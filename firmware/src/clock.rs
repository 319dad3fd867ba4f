//! Time of day. Time within a log is counted in samples and needs no clock.

use coldsquare_core::record::WallClock;

/// Something that may know the time of day.
pub trait Clock {
    /// The time of day and where it came from; `None` when nobody has set it.
    fn now(&mut self) -> Option<WallClock>;
}
