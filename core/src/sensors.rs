//! Clamp, divider and converter by their data sheets, and the calibration channel that they form together.
//!
//! The uncertainty of such a channel comes from the tolerances of the data sheets. Checking it against a known current or
//! voltage (`coldsquare calibrate`) reduces it.
//!
//! ```
//! use coldsquare_core::calibration::CountLimits;
//! use coldsquare_core::sensors::{ConverterInput, HallClamp};
//!
//! // A clamp of 1 mV/A on an input of ± 0.6 V in 24 bits: ± 600 A.
//! let input = ConverterInput {
//!     volts_per_count: 0.6 / 8_388_608.0,
//!     accuracy: 0.001,
//!     zero_count: 0,
//!     limits: CountLimits { lowest: -8_388_607, highest: 8_388_607 },
//! };
//! let clamp = HallClamp { millivolts_per_ampere: 1.0, accuracy: 0.01, zero_amperes: 1.0 };
//! assert!((clamp.channel(&input).gain_per_count * 8_388_608.0 - 600.0).abs() < 1e-9);
//! ```

use crate::calibration::{Channel, CountLimits};
use crate::uncertainty::rectangular;

/// A Hall clamp with a voltage output.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HallClamp {
    /// Output per ampere, mV/A, positive in the direction of the arrow on the clamp.
    pub millivolts_per_ampere: f64,
    /// Its accuracy, ± share of the reading.
    pub accuracy: f64,
    /// What it may still show at no current once it is zeroed, ± amperes.
    pub zero_amperes: f64,
}

/// An isolated divider for the arc voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IsolatedDivider {
    /// Volts at the leads per volt at its output.
    pub ratio: f64,
    /// Its accuracy, ± share of the reading.
    pub accuracy: f64,
    /// What it may show with the leads shorted, ± volts at the leads.
    pub zero_volts: f64,
}

/// An input of a converter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConverterInput {
    /// Volts at its pin per count.
    pub volts_per_count: f64,
    /// Its accuracy, ± share: mostly that of the reference.
    pub accuracy: f64,
    /// Count at zero input of the sensor.
    pub zero_count: i32,
    /// The counts at which it clips.
    pub limits: CountLimits,
}

impl HallClamp {
    /// The channel with this input, amperes.
    #[must_use]
    pub fn channel(&self, input: &ConverterInput) -> Channel {
        let amperes_per_volt = 1000.0 / self.millivolts_per_ampere;
        input.channel(amperes_per_volt, self.accuracy, self.zero_amperes)
    }
}

impl IsolatedDivider {
    /// The channel with this input, volts.
    #[must_use]
    pub fn channel(&self, input: &ConverterInput) -> Channel {
        input.channel(self.ratio, self.accuracy, self.zero_volts)
    }
}

impl ConverterInput {
    /// `per_volt`: volts or amperes for each volt at the input. Tolerances count as rectangular (JCGM 100:2008, 4.3.7) and
    /// add in quadrature (5.1.6).
    fn channel(&self, per_volt: f64, accuracy: f64, zero: f64) -> Channel {
        Channel {
            gain_per_count: per_volt * self.volts_per_count,
            zero_in_256ths: self.zero_count.saturating_mul(256),
            gain_relative_uncertainty: libm::hypot(
                rectangular(accuracy),
                rectangular(self.accuracy),
            ),
            zero_uncertainty: rectangular(zero),
            lowest_count: self.limits.lowest,
            highest_count: self.limits.highest,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1 mV/A on ± 0.6 V in 24 bits is ± 600 A; 1 to 100 on ± 1.2 V is ± 120 V.
    #[test]
    fn full_scale_of_the_parts_is_full_scale_of_the_channel() {
        const FULL: i32 = 1 << 23;
        let input = |full_scale_volts: f64| ConverterInput {
            volts_per_count: full_scale_volts / f64::from(FULL),
            accuracy: 0.0,
            zero_count: 12,
            limits: CountLimits {
                lowest: -FULL + 1,
                highest: FULL - 1,
            },
        };
        let clamp = HallClamp {
            millivolts_per_ampere: 1.0,
            accuracy: 0.01,
            zero_amperes: 1.0,
        };
        let current = clamp.channel(&input(0.6));
        assert!((current.gain_per_count * f64::from(FULL) - 600.0).abs() < 1e-9);
        assert!((current.gain_relative_uncertainty - 0.01 / 3_f64.sqrt()).abs() < 1e-12);
        assert_eq!(current.nearest_zero(), 12);
        // A more sensitive clamp reads fewer amperes at full scale.
        let sensitive = HallClamp {
            millivolts_per_ampere: 10.0,
            ..clamp
        };
        let current = sensitive.channel(&input(0.6));
        assert!((current.gain_per_count * f64::from(FULL) - 60.0).abs() < 1e-9);
        let divider = IsolatedDivider {
            ratio: 100.0,
            accuracy: 0.005,
            zero_volts: 0.1,
        };
        let voltage = divider.channel(&input(1.2));
        assert!((voltage.gain_per_count * f64::from(FULL) - 120.0).abs() < 1e-9);
        assert!((voltage.zero_uncertainty - 0.1 / 3_f64.sqrt()).abs() < 1e-12);
    }
}
