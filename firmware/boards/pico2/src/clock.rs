//! The time of day, as a computer told it; it is forgotten with the power.

use crate::hardware::Micros;
use coldsquare_core::record::{ClockSource, WallClock};
use coldsquare_firmware::clock::Clock;

/// The board's timer, and what was told.
pub struct ToldClock {
    micros: Micros,
    /// The time of day at which the timer stood at 0, ms.
    began_unix_ms: Option<u64>,
}

impl ToldClock {
    /// Nobody has told it anything yet.
    pub const fn new(micros: Micros) -> Self {
        Self {
            micros,
            began_unix_ms: None,
        }
    }
}

impl Clock for ToldClock {
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
