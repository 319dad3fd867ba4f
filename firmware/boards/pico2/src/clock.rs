//! The time of day, set by a computer and lost with the power.

use crate::hardware::Micros;
use coldsquare_core::record::{ClockSource, WallClock};
use coldsquare_firmware::clock::Clock;

/// The board's timer with a time of day.
pub struct SetClock {
    micros: Micros,
    /// The time of day when the timer was 0, ms.
    began_unix_ms: Option<u64>,
}

impl SetClock {
    /// Not set yet.
    pub const fn new(micros: Micros) -> Self {
        Self {
            micros,
            began_unix_ms: None,
        }
    }
}

impl Clock for SetClock {
    fn now(&mut self) -> Option<WallClock> {
        self.began_unix_ms.map(|began| WallClock {
            unix_ms: began.saturating_add(self.micros.ms()),
            source: ClockSource::Host,
        })
    }

    fn set(&mut self, unix_ms: u64) -> bool {
        self.began_unix_ms = unix_ms.checked_sub(self.micros.ms());
        self.began_unix_ms.is_some()
    }

    fn can_be_set(&self) -> bool {
        true
    }
}
