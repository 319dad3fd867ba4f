//! From counts to volts and amps: gain, zero, their uncertainty and the limits of the sensor.
//!
//! A calibration is immutable and applies to sums, never to samples, so it can be replaced afterwards.
//!
//! ```
//! use coldsquare_core::calibration::Channel;
//!
//! let current = Channel {
//!     gain_per_count: 0.1,
//!     zero_in_256ths: 256 * 20 - 100,
//!     gain_relative_uncertainty: 0.01,
//!     zero_uncertainty: 0.5,
//!     lowest_count: -2000,
//!     highest_count: 2000,
//! };
//! assert_eq!(current.nearest_zero(), 20);
//! assert!(current.limits().clips(2000));
//! ```

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
    /// At or below this count the sensor or converter clips.
    pub lowest_count: i32,
    /// At or above this count the sensor or converter clips.
    pub highest_count: i32,
}

/// Both channels, and the sampling rate.
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

/// The counts between which a channel does not clip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CountLimits {
    /// At or below this count a sample clips.
    pub lowest: i32,
    /// At or above this count a sample clips.
    pub highest: i32,
}

impl CountLimits {
    /// True for a count at or beyond a limit.
    #[inline]
    #[must_use]
    pub const fn clips(self, count: i32) -> bool {
        count <= self.lowest || count >= self.highest
    }
}

impl Channel {
    /// The counts between which the channel does not clip.
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
        // In 64 bits, so that no zero overflows.
        ((self.zero_in_256ths as i64 + 128) >> 8) as i32
    }
}
