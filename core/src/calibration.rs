//! From counts to volts and amps: gain, zero, their doubt and the limits of the sensor.
//!
//! A calibration is immutable and is applied to sums, never to samples, so it can be replaced after the fact.

use serde::{Deserialize, Serialize};

/// One channel: `value = gain · (count − zero)`.
///
/// The zero is a whole number of 1/256 counts, so that shifting a sum by it stays exact integer arithmetic.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Channel {
    /// Volts or amperes per count. Finite and not zero; negative when the sensor is mounted the other way round.
    pub gain_per_count: f64,
    /// Count at zero input, in 1/256 counts.
    pub zero_in_256ths: i32,
    /// Relative standard uncertainty of the gain (k = 1), 0 or more.
    pub gain_relative_uncertainty: f64,
    /// Standard uncertainty of the zero (k = 1), in volts or amperes, 0 or more.
    pub zero_uncertainty: f64,
    /// Lowest count that the sensor and converter can be trusted with; at or below it the sample is clipped.
    pub lowest_count: i32,
    /// Highest count that the sensor and converter can be trusted with; at or above it the sample is clipped.
    pub highest_count: i32,
}

/// Both channels, and the rate at which pairs are taken.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Calibration {
    /// Voltage between the work and the electrode.
    pub voltage: Channel,
    /// Welding current.
    pub current: Channel,
    /// Sample pairs per second, greater than zero.
    pub sample_rate_hz: f64,
    /// Relative standard uncertainty of the sample rate (k = 1), 0 or more.
    pub rate_relative_uncertainty: f64,
}

/// The counts between which a channel can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CountLimits {
    /// At or below this count a sample is clipped.
    pub lowest: i32,
    /// At or above this count a sample is clipped.
    pub highest: i32,
}

impl CountLimits {
    /// True for a count at or past a limit.
    #[inline]
    #[must_use]
    pub const fn clips(self, count: i32) -> bool {
        count <= self.lowest || count >= self.highest
    }
}

impl Channel {
    /// The counts between which the channel can be trusted.
    #[must_use]
    pub const fn limits(&self) -> CountLimits {
        CountLimits {
            lowest: self.lowest_count,
            highest: self.highest_count,
        }
    }

    /// The zero to the nearest whole count.
    #[must_use]
    pub const fn nearest_zero(&self) -> i32 {
        // Added in 64 bits, so that no zero overflows.
        ((self.zero_in_256ths as i64 + 128) >> 8) as i32
    }
}
