//! MCP3204 and MCP3208: one cheap converter of 12 bits behind a switch, over SPI.
//!
//! Voltage and current are sampled one after the other. Current is taken between two readings of the voltage, and the
//! sum of both voltages is what is counted: 0 to 8190, so nothing is rounded. What moves steadily within the few
//! microseconds is thereby read as if at the moment of the current.
//!
//! **What is left of the skew.** With τ between neighbouring readings, the power of a sine of frequency f comes out by
//! cos(2πfτ) too small, whatever its phase; without the second voltage it would also be wrong by tan φ · 2πfτ at phase φ.
//! An edge that voltage and current take together within a rise time r costs 2·τ²/r of power a polarity change, a
//! perfectly steep one 2·τ, and no averaging helps there. At 200 Hz AC and τ = 24 µs (24 clocks at 1 MHz), as a
//! test works it out:
//!
//! | waveform | power is off by |
//! |---|---|
//! | sine, in phase | −0.05 % |
//! | sine, current 30° behind, if the voltage were read once | +1.7 % |
//! | the same, voltage on both sides | −0.05 % |
//! | square with edges of 200 µs | −0.2 % |
//! | square with edges of no length | −1.9 % |
//!
//! So: give AC TIG with this converter a gain doubt of 2 % in its calibration, or take a faster SPI clock (2 MHz at 5 V
//! halves all of them), or the converter that samples both at once.
//!
//! It needs a filter before each input: a resistor and a capacitor with a corner below half the pair rate.
//!
//! Source of the bits: MCP3204/3208 data sheet (DS21298), 5.0 and 6.1; values from memory.

use super::Ticks;
use super::pace::Pace;
use crate::front_end::{FrontEnd, Reading};
use coldsquare_core::calibration::CountLimits;
use coldsquare_core::samples::RawPair;
use embedded_hal::spi::SpiDevice;

/// Greatest count of one reading.
pub const MOST: i32 = 4095;

/// Counts of the voltage, which is the sum of two readings, at which it is clipped.
pub const VOLTAGE_LIMITS: CountLimits = CountLimits {
    lowest: 0,
    highest: 2 * MOST,
};

/// Counts of the current at which it is clipped.
pub const CURRENT_LIMITS: CountLimits = CountLimits {
    lowest: 0,
    highest: MOST,
};

/// Which inputs the sensors are on, 0 to 7.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Inputs {
    /// The divider.
    pub voltage: u8,
    /// The clamp.
    pub current: u8,
}

/// The converter, read at a steady pace.
#[derive(Debug)]
pub struct Mcp3208<S, T> {
    spi: S,
    inputs: Inputs,
    pace: Pace<T>,
}

impl<S: SpiDevice, T: Ticks> Mcp3208<S, T> {
    /// A pair every `period_us`: 100 for 10 000 pairs a second. There is nothing to set up.
    pub fn new(spi: S, ticks: T, inputs: Inputs, period_us: u16) -> Self {
        Self {
            spi,
            inputs,
            pace: Pace::new(ticks, u64::from(period_us) << 8),
        }
    }

    /// Voltage, current, voltage; `None` when the bus failed or nobody answered.
    fn pair(&mut self) -> Option<RawPair> {
        let before = self.read(self.inputs.voltage)?;
        let current = self.read(self.inputs.current)?;
        let after = self.read(self.inputs.voltage)?;
        let voltage = if before == MOST || after == MOST {
            VOLTAGE_LIMITS.highest
        } else if before == 0 || after == 0 {
            VOLTAGE_LIMITS.lowest
        } else {
            before + after
        };
        Some(RawPair::new(voltage, current))
    }

    /// Start bit, single-ended, three bits of the input; a null bit and twelve bits come back. A line that nobody
    /// drives is high, and so is then the null bit.
    fn read(&mut self, input: u8) -> Option<i32> {
        let mut bytes = [0b110 | (input >> 2 & 1), input << 6, 0];
        self.spi.transfer_in_place(&mut bytes).ok()?;
        let [_, high, low] = bytes;
        (high & 0b1_0000 == 0).then(|| i32::from(high & 0b1111) << 8 | i32::from(low))
    }
}

impl<S: SpiDevice, T: Ticks> FrontEnd for Mcp3208<S, T> {
    fn next(&mut self) -> Reading {
        let now = self.pace.now();
        match self.pace.due(now) {
            0 => Reading::Waiting,
            1 => {
                self.pace.count(1);
                self.pair().map_or(Reading::Dropped(1), Reading::Pair)
            }
            // The latest one can still be taken, at the next turn.
            late => {
                self.pace.count(late - 1);
                Reading::Dropped(late - 1)
            }
        }
    }
}
