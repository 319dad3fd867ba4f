//! ADS1115: one slow 16-bit converter with a multiplexer, over I2C, through the crate `ads1x1x`.
//!
//! **For steady direct current only: spray transfer, and TIG on DC.** At most 860 readings a second, three for each pair,
//! give 200 pairs a second, with more than a millisecond between voltage and current. A short circuit lasts two to four
//! milliseconds, a pulse two, a half-wave of AC at 200 Hz two and a half: for all of these its readings are meaningless. It
//! measures less than a tenth of the power of a 200 Hz sine. The header of the log states 200 pairs a second.
//!
//! Voltage is between inputs 0 and 1, current between 2 and 3. As with [`mcp3208`](super::mcp3208), the current is read
//! between two voltages, whose sum is the voltage count.
//!
//! Source of the rates: ADS1113/4/5 data sheet (SBAS444), 7.3 and 8.6; values from memory.

use super::Ticks;
use super::schedule::SampleSchedule;
use crate::front_end::{FrontEnd, Reading};
use ads1x1x::{
    Ads1x1x, DataRate16Bit, Error, FullScaleRange, TargetAddr, channel, ic::Ads1115 as Chip,
    ic::Resolution16Bit, mode::OneShot,
};
use coldsquare_core::calibration::CountLimits;
use coldsquare_core::samples::RawPair;
use embedded_hal::i2c::I2c;

/// Time between pairs, µs: three readings of 1.16 ms plus bus time.
pub const PERIOD_US: u32 = 5000;

/// Sample pairs per second.
pub const SAMPLE_RATE_HZ: f64 = 200.0;

/// Time from one reading to the next, s: one conversion at 860 a second plus bus time.
pub const SKEW_S: f64 = 0.001_2;

/// Counts at which the voltage, the sum of two readings, clips.
pub const VOLTAGE_LIMITS: CountLimits = CountLimits {
    lowest: 2 * i16::MIN as i32,
    highest: 2 * i16::MAX as i32,
};

/// Counts at which the current clips.
pub const CURRENT_LIMITS: CountLimits = CountLimits {
    lowest: i16::MIN as i32,
    highest: i16::MAX as i32,
};

/// Progress of the current pair.
#[derive(Clone, Copy, Debug)]
enum Step {
    Idle,
    Before,
    Current { before: i16 },
    After { before: i16, current: i16 },
}

/// The converter, read at a steady rate.
pub struct Ads1115<I, T> {
    chip: Ads1x1x<I, Chip, Resolution16Bit, OneShot>,
    schedule: SampleSchedule<T>,
    step: Step,
}

// By hand, because the marker types of the chip's type do not implement it.
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
    /// The bus error when the converter does not answer.
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
            schedule: SampleSchedule::new(ticks, u64::from(PERIOD_US) << 8),
            step: Step::Idle,
        })
    }

    /// Returns the bus.
    pub fn into_bus(self) -> I {
        self.chip.destroy_ads1115()
    }

    /// Polls the current conversion. The first poll starts it, a later one finds it done.
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

/// The sum of both readings; at the limit if either is.
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
        let now = self.schedule.now();
        let due = self.schedule.due(now);
        if due == 0 {
            return Reading::Waiting;
        }
        if due >= 2 {
            // The current pair took too long, or the loop was late.
            self.step = Step::Idle;
            self.schedule.count(due - 1);
            return Reading::Dropped(due - 1);
        }
        if matches!(self.step, Step::Idle) {
            self.step = Step::Before;
        }
        match self.advance() {
            Ok(pair) => {
                self.step = Step::Idle;
                self.schedule.count(1);
                Reading::Pair(pair)
            }
            Err(nb::Error::WouldBlock) => Reading::Waiting,
            Err(nb::Error::Other(_)) => {
                self.step = Step::Idle;
                self.schedule.count(1);
                Reading::Dropped(1)
            }
        }
    }
}
