//! ADS1115: one slow converter of 16 bits behind a switch, over I2C, through the crate `ads1x1x`.
//!
//! **For steady direct current only: spray transfer, and TIG on DC.** At most 860 readings a second, three of them a
//! pair, leave 200 pairs a second, and voltage and current are more than a millisecond apart. A short circuit lasts two
//! to four milliseconds, a pulse two, a half-wave of AC at 200 Hz two and a half: of these it sees nothing that means
//! anything. Of the power of a 200 Hz sine less than a tenth is left. The log says
//! 200 pairs a second in its header.
//!
//! Voltage is between inputs 0 and 1, current between 2 and 3. As with [`mcp3208`](super::mcp3208) the current is read
//! between two voltages, and their sum is counted.
//!
//! Source of the rates: ADS1113/4/5 data sheet (SBAS444), 7.3 and 8.6; values from memory.

use super::Ticks;
use super::pace::Pace;
use crate::front_end::{FrontEnd, Reading};
use ads1x1x::{
    Ads1x1x, DataRate16Bit, Error, FullScaleRange, TargetAddr, channel, ic::Ads1115 as Chip,
    ic::Resolution16Bit, mode::OneShot,
};
use coldsquare_core::calibration::CountLimits;
use coldsquare_core::samples::RawPair;
use embedded_hal::i2c::I2c;

/// Time between pairs, µs: three readings of 1.16 ms, with what the bus takes.
pub const PERIOD_US: u32 = 5000;

/// Sample pairs per second.
pub const SAMPLE_RATE_HZ: f64 = 200.0;

/// Between a reading and the next, s: one conversion at 860 a second, plus the bus.
pub const SKEW_S: f64 = 0.001_2;

/// Counts of the voltage, which is the sum of two readings, at which it is clipped.
pub const VOLTAGE_LIMITS: CountLimits = CountLimits {
    lowest: 2 * i16::MIN as i32,
    highest: 2 * i16::MAX as i32,
};

/// Counts of the current at which it is clipped.
pub const CURRENT_LIMITS: CountLimits = CountLimits {
    lowest: i16::MIN as i32,
    highest: i16::MAX as i32,
};

/// What has been read of the present pair.
#[derive(Clone, Copy, Debug)]
enum Step {
    Idle,
    Before,
    Current { before: i16 },
    After { before: i16, current: i16 },
}

/// The converter, read at a steady pace.
pub struct Ads1115<I, T> {
    chip: Ads1x1x<I, Chip, Resolution16Bit, OneShot>,
    pace: Pace<T>,
    step: Step,
}

// By hand, because the marks of kind in the chip's type have none.
impl<I, T> core::fmt::Debug for Ads1115<I, T> {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.debug_struct("Ads1115")
            .field("step", &self.step)
            .finish_non_exhaustive()
    }
}

impl<I: I2c, T: Ticks> Ads1115<I, T> {
    /// Sets the fastest rate and the range of both inputs.
    ///
    /// # Errors
    /// What the bus says when nobody answers.
    pub fn start(
        i2c: I,
        address: TargetAddr,
        range: FullScaleRange,
        ticks: T,
    ) -> Result<Self, Error<I::Error>> {
        let mut chip = Ads1x1x::new_ads1115(i2c, address);
        chip.set_data_rate(DataRate16Bit::Sps860)?;
        chip.set_full_scale_range(range)?;
        Ok(Self {
            chip,
            pace: Pace::new(ticks, u64::from(PERIOD_US) << 8),
            step: Step::Idle,
        })
    }

    /// Gives the bus back.
    pub fn into_bus(self) -> I {
        self.chip.destroy_ads1115()
    }

    /// One look at the conversion that is going on. Each is started by the first look and done some looks later.
    fn advance(&mut self) -> nb::Result<RawPair, Error<I::Error>> {
        match self.step {
            Step::Idle => {}
            Step::Before => {
                let before = self.chip.read(channel::DifferentialA0A1)?;
                self.step = Step::Current { before };
            }
            Step::Current { before } => {
                let current = self.chip.read(channel::DifferentialA2A3)?;
                self.step = Step::After { before, current };
            }
            Step::After { before, current } => {
                let after = self.chip.read(channel::DifferentialA0A1)?;
                return Ok(RawPair::new(voltage(before, after), current.into()));
            }
        }
        Err(nb::Error::WouldBlock)
    }
}

/// The sum of both readings; at the limit when either is.
fn voltage(before: i16, after: i16) -> i32 {
    if before == i16::MAX || after == i16::MAX {
        VOLTAGE_LIMITS.highest
    } else if before == i16::MIN || after == i16::MIN {
        VOLTAGE_LIMITS.lowest
    } else {
        i32::from(before) + i32::from(after)
    }
}

impl<I: I2c, T: Ticks> FrontEnd for Ads1115<I, T> {
    fn next(&mut self) -> Reading {
        let now = self.pace.now();
        let due = self.pace.due(now);
        if due == 0 {
            return Reading::Waiting;
        }
        if due >= 2 {
            // Whatever was being read has taken too long, or nobody asked.
            self.step = Step::Idle;
            self.pace.count(due - 1);
            return Reading::Dropped(due - 1);
        }
        if matches!(self.step, Step::Idle) {
            self.step = Step::Before;
        }
        match self.advance() {
            Ok(pair) => {
                self.step = Step::Idle;
                self.pace.count(1);
                Reading::Pair(pair)
            }
            Err(nb::Error::WouldBlock) => Reading::Waiting,
            Err(nb::Error::Other(_)) => {
                self.step = Step::Idle;
                self.pace.count(1);
                Reading::Dropped(1)
            }
        }
    }
}
