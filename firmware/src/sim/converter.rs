//! From volts and amps to counts: range, resolution, zero.

use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::samples::RawPair;

/// A converter with its sensors, without skew between the channels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Converter {
    /// Its true gains and zeros; it clips at the limits.
    pub calibration: Calibration,
}

impl Converter {
    /// A cheap 12-bit converter: ±100 V and ±600 A over 4 096 counts, zeros near the middle and not on a count.
    #[must_use]
    pub const fn twelve_bit(sample_rate_hz: f64) -> Self {
        Self {
            calibration: calibration(
                channel(100.0 / 2048.0, 2048 * 256 + 700, 0, 4095),
                channel(600.0 / 2048.0, 2048 * 256 - 1_111, 0, 4095),
                sample_rate_hz,
            ),
        }
    }

    /// A 24-bit delta-sigma converter: ±120 V and ±1 000 A.
    #[must_use]
    pub const fn twenty_four_bit(sample_rate_hz: f64) -> Self {
        const MAX: i32 = (1 << 23) - 1;
        Self {
            calibration: calibration(
                channel(120.0 / 8_388_608.0, 5_000 * 256 + 17, -MAX, MAX),
                channel(1_000.0 / 8_388_608.0, -3_210 * 256 - 99, -MAX, MAX),
                sample_rate_hz,
            ),
        }
    }

    /// Its counts at these volts and amps.
    #[must_use]
    pub fn count(&self, volts: f64, amps: f64) -> RawPair {
        RawPair::new(
            count(&self.calibration.voltage, volts),
            count(&self.calibration.current, amps),
        )
    }

    /// The largest error of v · i from counting while neither channel clips, W: half a count of each channel times the
    /// magnitude of the other, plus half a count of both together.
    #[must_use]
    pub fn power_bound(&self, volts: f64, amps: f64) -> f64 {
        let half_volt = self.calibration.voltage.gain_per_count.abs() / 2.0;
        let half_amp = self.calibration.current.gain_per_count.abs() / 2.0;
        half_volt * amps.abs() + half_amp * volts.abs() + half_volt * half_amp
    }
}

// The limits are far inside 32 bits, and `as` saturates.
fn count(channel: &Channel, value: f64) -> i32 {
    let zero = f64::from(channel.zero_in_256ths) / 256.0;
    let count = (value / channel.gain_per_count + zero).round() as i32;
    count.clamp(channel.lowest_count, channel.highest_count)
}

const fn channel(
    gain_per_count: f64,
    zero_in_256ths: i32,
    lowest_count: i32,
    highest_count: i32,
) -> Channel {
    Channel {
        gain_per_count,
        zero_in_256ths,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.0,
        lowest_count,
        highest_count,
    }
}

/// Typical shop sensors: divider and clamp within 1 % (k = 1), zeros within 0.05 V and 0.5 A.
const fn calibration(voltage: Channel, current: Channel, sample_rate_hz: f64) -> Calibration {
    Calibration {
        voltage: Channel {
            zero_uncertainty: 0.05,
            ..voltage
        },
        current: Channel {
            zero_uncertainty: 0.5,
            ..current
        },
        sample_rate_hz,
        rate_relative_uncertainty: 0.0001,
    }
}
