//! ADS131M02: two 24-bit delta-sigma converters that sample at the same time, over SPI, with a CRC in each frame.
//!
//! ```text
//! DOUT  answer 24 | voltage 24 | current 24 | CRC-16, 8 zero bits     chip select low for the whole frame, SPI mode 1
//! DIN   command   | data       | 0          | 0
//! ```
//!
//! Voltage is on channel 0, current on channel 1. The answer to the null command is the status register. A frame counts
//! only if its checksum is right and its status shows that the converter still has its settings.
//!
//! | event | what the logger sees | what the driver does |
//! |---|---|---|
//! | wrong checksum | one pair lost | continues with the next frame, which chip select starts afresh |
//! | the same, [`BAD_FRAMES`] times in a row | each pair lost | restarts the converter |
//! | bus error | pairs lost meanwhile | tries again on each call |
//! | the converter was reset (supply dip) | pairs lost until it is set up | sets it up again and verifies it |
//! | no conversion for [`SILENT_PERIODS`] periods | as many pairs lost as were due | restarts it repeatedly |
//! | both channels stuck on one count for [`STILL_FRAMES`] frames | pairs lost from then on | restarts it |
//! | the logger was late and conversions were overwritten | those pairs lost | discards stale conversions |
//!
//! Source of registers, commands and times: ADS131M02 data sheet (SBAS853), 8.5 serial interface and 8.6 register map;
//! values from memory, partly confirmed by public drivers of the family.

mod registers;

use super::Ticks;
use super::schedule::{SampleSchedule, Time};
use crate::front_end::{FrontEnd, Reading};
use coldsquare_core::samples::RawPair;
use embedded_hal::delay::DelayNs;
use embedded_hal::digital::InputPin;
use embedded_hal::spi::SpiDevice;
pub use registers::{FRAME, FULL_SCALE_VOLTS, Gain, Oversampling, Settings, StartError};
use registers::{NOTHING, RESET, STATUS_RESET, exchange, open, set_up};

/// Time between voltage and current, s: both modulators run on one clock.
pub const SKEW_S: f64 = 0.0;

/// The converter is restarted after this many frames in a row with a wrong checksum.
pub const BAD_FRAMES: u8 = 8;

/// The converter counts as lost after this many periods without a conversion.
pub const SILENT_PERIODS: u32 = 16;

/// This many frames in a row with the same counts on both channels mean a fault: the noise of 24 bits rules it out.
pub const STILL_FRAMES: u16 = 256;

/// The converter.
#[derive(Debug)]
pub struct Ads131m02<S, D, T> {
    spi: S,
    data_ready: D,
    schedule: SampleSchedule<T>,
    settings: Settings,
    /// The last time at which no conversion was waiting.
    clear: Time,
    bad_frames: u8,
    still: u16,
    last: RawPair,
    /// A pair that waits until the loss before it was reported.
    pending: Option<RawPair>,
    /// It was reset and must be set up next.
    restarting: bool,
}

impl<S: SpiDevice, D: InputPin, T: Ticks> Ads131m02<S, D, T> {
    /// Starts the converter and verifies every setting. `ticks` should run on the clock that the converter gets.
    ///
    /// # Errors
    /// [`StartError`] says what is wrong; check the wiring.
    pub fn start(
        mut spi: S,
        data_ready: D,
        ticks: T,
        delay: &mut impl DelayNs,
        settings: Settings,
    ) -> Result<Self, StartError<S::Error>> {
        exchange(&mut spi, RESET, 0).map_err(StartError::Bus)?;
        // The registers need at least 5 µs after a reset (data sheet 6.7, from memory); 1 ms does no harm.
        delay.delay_ms(1);
        set_up(&mut spi, &settings)?;
        Ok(Self {
            spi,
            data_ready,
            schedule: SampleSchedule::new(ticks, settings.period()),
            settings,
            clear: 0,
            bad_frames: 0,
            still: 0,
            last: RawPair::default(),
            pending: None,
            restarting: false,
        })
    }

    /// Reads a conversion that became ready between two times.
    fn take(&mut self, earliest: Time, now: Time) -> Reading {
        let Ok(frame) = exchange(&mut self.spi, NOTHING, 0) else {
            // It still waits in the converter; the next call tries again.
            return Reading::Waiting;
        };
        let missed = self.schedule.count_observed(earliest, now) - 1;
        let pair = self.checked(&frame);
        self.clear = self.schedule.now();
        match (missed, pair) {
            (0, Some(pair)) => Reading::Pair(pair),
            (_, None) => Reading::Dropped(missed.saturating_add(1)),
            (_, Some(pair)) => {
                self.pending = Some(pair);
                Reading::Dropped(missed)
            }
        }
    }

    /// The pair of a frame; `None` if it cannot be trusted.
    fn checked(&mut self, frame: &[u8; FRAME]) -> Option<RawPair> {
        let Some((status, pair)) = open(frame) else {
            self.bad_frames += 1;
            if self.bad_frames >= BAD_FRAMES {
                self.restart();
            }
            return None;
        };
        self.bad_frames = 0;
        if status & STATUS_RESET != 0 {
            // It was reset and lost its settings, so its counts have another scale.
            self.restarting = true;
            return None;
        }
        self.still = if pair == self.last {
            self.still.saturating_add(1)
        } else {
            0
        };
        self.last = pair;
        if self.still >= STILL_FRAMES {
            self.restart();
            return None;
        }
        Some(pair)
    }

    /// Resets the converter. The next call sets it up, long after the reset has taken effect.
    fn restart(&mut self) {
        self.bad_frames = 0;
        self.restarting = exchange(&mut self.spi, RESET, 0).is_ok();
    }

    /// Reports as lost what was due while the converter was silent.
    fn give_up(&mut self, due: u32, now: Time) -> Reading {
        self.schedule.count(due);
        self.clear = now;
        self.restart();
        Reading::Dropped(due)
    }
}

impl<S: SpiDevice, D: InputPin, T: Ticks> FrontEnd for Ads131m02<S, D, T> {
    fn next(&mut self) -> Reading {
        if let Some(pair) = self.pending.take() {
            return Reading::Pair(pair);
        }
        if self.restarting {
            // If that fails, silence or the status of the next frame triggers it again.
            self.restarting = false;
            let _ = set_up(&mut self.spi, &self.settings);
        }
        let now = self.schedule.now();
        let due = self.schedule.due(now);
        // A pin that cannot be read counts as one that never changes.
        if !self.data_ready.is_low().unwrap_or(false) {
            self.clear = now;
            return if due >= SILENT_PERIODS {
                self.give_up(due, now)
            } else {
                Reading::Waiting
            };
        }
        let unwatched = now.saturating_sub(self.clear);
        if unwatched * 2 < 3 * self.schedule.period() {
            return self.take(self.clear, now);
        }
        // The converter buffers two conversions of unknown age: both are discarded (data sheet 8.5.1.9.1, from memory). The
        // next one is read as it becomes ready and shows how many were missed.
        let discarded = (0..2).all(|_| exchange(&mut self.spi, NOTHING, 0).is_ok());
        if discarded {
            self.clear = now;
        }
        if due >= SILENT_PERIODS {
            self.schedule.count(due);
            return Reading::Dropped(due);
        }
        Reading::Waiting
    }
}
