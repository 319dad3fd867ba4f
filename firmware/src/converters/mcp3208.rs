//! MCP3204 and MCP3208: one inexpensive 12-bit converter with a multiplexer, over SPI.
//!
//! Voltage and current are sampled one after the other. The current is read between two voltages, and the voltage count is
//! their sum, 0 to 8190, so nothing is rounded. A voltage that changes steadily within the few microseconds is thereby
//! measured as if at the time of the current.
//!
//! **Remaining error from the skew.** With τ between successive readings, the power of a sine of frequency f is measured
//! as cos(2πfτ) times the true value at any phase; without the second voltage it would also be off by tan φ · 2πfτ at
//! phase φ. If voltage and current change together within a rise time r, each polarity change loses 2·τ²/r of power; a
//! perfectly steep edge loses 2·τ, and averaging does not help. At 200 Hz AC and τ = 24 µs (24 clocks at 1 MHz), as
//! calculated by a test:
//!
//! | waveform | power is off by |
//! |---|---|
//! | sine, in phase | −0.05 % |
//! | sine, current 30° behind, with the voltage read once | +1.7 % |
//! | the same, with the voltage read before and after | −0.05 % |
//! | square with edges of 200 µs | −0.2 % |
//! | square with ideal edges | −1.9 % |
//!
//! So, for AC TIG with this converter, state 2 % uncertainty of the gain in its calibration, or use a faster SPI clock
//! (2 MHz at 5 V halves all of these errors), or the converter that samples both at once.
//!
//! Each input needs a filter: a resistor and a capacitor with a corner frequency below half the pair rate.
//!
//! Source of the bits: MCP3204/3208 data sheet (DS21298), 5.0 and 6.1; values from memory.

use super::Ticks;
use super::schedule::SampleSchedule;
use crate::front_end::{FrontEnd, Reading};
use coldsquare_core::calibration::CountLimits;
use coldsquare_core::samples::RawPair;
use embedded_hal::spi::SpiDevice;

/// The greatest count of one reading.
pub const MAX_READING: i32 = 4095;

/// Counts at which the voltage, the sum of two readings, clips.
pub const VOLTAGE_LIMITS: CountLimits = CountLimits {
    lowest: 0,
    highest: 2 * MAX_READING,
};

/// Counts at which the current clips.
pub const CURRENT_LIMITS: CountLimits = CountLimits {
    lowest: 0,
    highest: MAX_READING,
};

/// Which inputs the sensors are on, 0 to 7.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Inputs {
    /// The divider.
    pub voltage: u8,
    /// The clamp.
    pub current: u8,
}

/// The converter, read at a steady rate.
#[derive(Debug)]
pub struct Mcp3208<S, T> {
    spi: S,
    inputs: Inputs,
    schedule: SampleSchedule<T>,
}

impl<S: SpiDevice, T: Ticks> Mcp3208<S, T> {
    /// Reads a pair every `period_us`: 100 for 10 000 pairs a second. The converter needs no set-up.
    pub fn new(spi: S, ticks: T, inputs: Inputs, period_us: u16) -> Self {
        Self {
            spi,
            inputs,
            schedule: SampleSchedule::new(ticks, u64::from(period_us) << 8),
        }
    }

    /// Voltage, current, voltage; `None` if the bus failed or the converter did not answer.
    fn pair(&mut self) -> Option<RawPair> {
        let before = self.read(self.inputs.voltage)?;
        let current = self.read(self.inputs.current)?;
        let after = self.read(self.inputs.voltage)?;
        let voltage = if before == MAX_READING || after == MAX_READING {
            VOLTAGE_LIMITS.highest
        } else if before == 0 || after == 0 {
            VOLTAGE_LIMITS.lowest
        } else {
            before + after
        };
        Some(RawPair::new(voltage, current))
    }

    /// Sends a start bit, single-ended mode and three bits for the input; receives a null bit and twelve bits. If the null
    /// bit is high, no converter drives the line.
    fn read(&mut self, input: u8) -> Option<i32> {
        let mut bytes = [0b110 | (input >> 2 & 1), input << 6, 0];
        self.spi.transfer_in_place(&mut bytes).ok()?;
        let [_, high, low] = bytes;
        (high & 0b1_0000 == 0).then(|| i32::from(high & 0b1111) << 8 | i32::from(low))
    }
}

impl<S: SpiDevice, T: Ticks> FrontEnd for Mcp3208<S, T> {
    fn next(&mut self) -> Reading {
        let now = self.schedule.now();
        match self.schedule.due(now) {
            0 => Reading::Waiting,
            1 => {
                self.schedule.count(1);
                self.pair().map_or(Reading::Dropped(1), Reading::Pair)
            }
            // The latest pair can still be read, on the next call.
            late => {
                self.schedule.count(late - 1);
                Reading::Dropped(late - 1)
            }
        }
    }
}
