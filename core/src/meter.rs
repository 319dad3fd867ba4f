//! From exact sums and a calibration to volts, amps, power and energy with its uncertainty.
//!
//! The zero (a whole number of 1/256 counts) is subtracted in integers; a single multiplication by the gains then gives
//! floating-point values. A bead measured again with a better calibration therefore gives exactly the bits that the
//! logger would have given with that calibration (docs/decisions/0001).
//!
//! True power is the mean of v · i, never mean v times mean i: ISO/TR 18491:2015; ASME IX QW-409.1(c).
//!
//! ```
//! use coldsquare_core::calibration::{Calibration, Channel};
//! use coldsquare_core::meter::{Stretch, measure};
//! use coldsquare_core::samples::{RawPair, WindowSums};
//!
//! let channel = Channel {
//!     gain_per_count: 0.1,
//!     zero_in_256ths: 0,
//!     gain_relative_uncertainty: 0.01,
//!     zero_uncertainty: 0.1,
//!     lowest_count: -8000,
//!     highest_count: 8000,
//! };
//! let calibration = Calibration {
//!     voltage: channel,
//!     current: channel,
//!     sample_rate_hz: 1000.0,
//!     rate_relative_uncertainty: 0.0,
//! };
//! let mut window = WindowSums::EMPTY;
//! window.add_repeated(RawPair::new(200, 1000), 2000);
//! let measured = measure(&Stretch { sums: window.into(), ..Stretch::default() }, &calibration)?;
//! // 20 V and 100 A for 2 s.
//! assert!((measured.energy.0 - 4000.0).abs() < 1e-6);
//! # Ok::<(), coldsquare_core::meter::MeterError>(())
//! ```

#[cfg(test)]
mod tests;

use crate::bead::{Bead, Window};
use crate::calibration::{Calibration, Channel};
use crate::samples::{Sums, WindowSums};
use crate::uncertainty::{Uncertain, rectangular};
use crate::units::{Amperes, Joules, Seconds, Volts, Watts};

/// Below this ratio of mean to RMS voltage the current is alternating. A direct-current arc, even one that
/// short-circuits a third of the time, stays above 0.8; an alternating one with 80 % of one polarity is at 0.6.
const MIN_MEAN_TO_RMS: f64 = 0.75;

/// The sums to measure, with the counts of lost and clipped samples.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Stretch {
    /// The sums of the measured samples.
    pub sums: Sums,
    /// Samples that were due and did not arrive.
    pub dropped: u64,
    /// Samples whose voltage reached a limit.
    pub clipped_voltage: u64,
    /// Samples whose current reached a limit.
    pub clipped_current: u64,
}

impl From<&Bead> for Stretch {
    fn from(bead: &Bead) -> Self {
        Self {
            sums: bead.sums,
            dropped: bead.dropped.into(),
            clipped_voltage: bead.clipped_voltage.into(),
            clipped_current: bead.clipped_current.into(),
        }
    }
}

impl From<&Window> for Stretch {
    fn from(window: &Window) -> Self {
        Self {
            sums: window.sums.into(),
            dropped: window.dropped.into(),
            clipped_voltage: window.clipped_voltage.into(),
            clipped_current: window.clipped_current.into(),
        }
    }
}

/// The polarity of the electrode, from the signs of voltage and power.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Polarity {
    /// No power, so there is no polarity.
    None,
    /// Direct current, electrode positive (DC+, DCEP).
    ElectrodePositive,
    /// Direct current, electrode negative (DC−, DCEN).
    ElectrodeNegative,
    /// Alternating current.
    Alternating,
    /// Power is negative: the clamp or the voltage lead is the wrong way round. Its magnitude is right.
    ReversedLead,
}

/// Volts, amps, power and energy over some time.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Measured {
    /// Samples measured.
    pub samples: u64,
    /// Samples that were due and did not arrive. Their time counts, their energy is estimated from the mean power.
    pub dropped: u64,
    /// Samples at a limit of a channel; one that clips both channels counts twice.
    pub clipped: u64,
    /// Time covered, dropped samples included.
    pub duration: Seconds,
    /// Mean of v, with its sign.
    pub mean_voltage: Volts,
    /// Mean of i, with its sign.
    pub mean_current: Amperes,
    /// √(mean of v²).
    pub rms_voltage: Volts,
    /// √(mean of i²).
    pub rms_current: Amperes,
    /// Mean of v · i, with its sign: negative when a lead is reversed.
    pub true_power: Watts,
    /// |mean v · mean i|, as two panel meters would show; for comparison only.
    pub product_of_means: Watts,
    /// Magnitude of true power times duration.
    pub energy: Joules,
    /// Standard uncertainty (k = 1) of the energy; see [`measure`] for its contributions.
    pub energy_standard_uncertainty: Joules,
    /// Polarity of the electrode.
    pub polarity: Polarity,
}

impl Measured {
    /// The energy with its standard uncertainty, J.
    #[must_use]
    pub const fn uncertain_energy(&self) -> Uncertain {
        Uncertain {
            value: self.energy.0,
            standard: self.energy_standard_uncertainty.0,
        }
    }

    /// Expanded uncertainty (k = 2) of the energy.
    #[must_use]
    pub const fn energy_expanded_uncertainty(&self) -> Joules {
        Joules(self.uncertain_energy().expanded())
    }
}

/// Why the sums cannot be measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MeterError {
    /// There are no samples.
    NoSamples,
    /// A number of the calibration is infinite, not a number, or outside its range.
    Calibration(&'static str),
    /// No samples can give these sums: the record is damaged.
    ImpossibleSums,
}

impl core::fmt::Display for MeterError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NoSamples => write!(
                f,
                "there are no samples here, so there is nothing to measure"
            ),
            Self::Calibration(what) => write!(
                f,
                "the calibration's {what} is not a usable number; calibrate again or correct it"
            ),
            Self::ImpossibleSums => write!(
                f,
                "these sums cannot come from samples; the record is damaged, leave it out"
            ),
        }
    }
}

impl core::error::Error for MeterError {}

/// Sums with the zeros subtracted, exact: v in 1/256 counts, i in 1/256 counts, products in 1/65 536 counts².
struct Shifted {
    v: i128,
    i: i128,
    vv: i128,
    ii: i128,
    vi: i128,
}

impl Shifted {
    /// Σ(256·a − p)(256·b − q) = 65 536·Σab − 256·q·Σa − 256·p·Σb + n·p·q, with zeros p and q in 1/256 counts.
    /// `None` on overflow: 2^64 samples of 24 bits stay below 2^127, so only damaged sums overflow.
    fn new(sums: &Sums, zero_v: i32, zero_i: i32) -> Option<Self> {
        let (n, p, q) = (i128::from(sums.n), i128::from(zero_v), i128::from(zero_i));
        let mean = |sum: i128, zero: i128| sum.checked_mul(256)?.checked_sub(n.checked_mul(zero)?);
        let product = |sum: i128, a: i128, b: i128, zero_a: i128, zero_b: i128| {
            sum.checked_mul(65_536)?
                .checked_sub(a.checked_mul(256 * zero_b)?)?
                .checked_sub(b.checked_mul(256 * zero_a)?)?
                .checked_add(n.checked_mul(zero_a * zero_b)?)
        };
        let shifted = Self {
            v: mean(sums.v, p)?,
            i: mean(sums.i, q)?,
            vv: product(sums.vv, sums.v, sums.v, p, p)?,
            ii: product(sums.ii, sums.i, sums.i, q, q)?,
            vi: product(sums.vi, sums.v, sums.i, p, q)?,
        };
        (shifted.vv >= 0 && shifted.ii >= 0).then_some(shifted)
    }
}

/// Measures volts, amps, power and energy with a calibration.
///
/// The standard uncertainty of the energy E over the time T (GUM, JCGM 100:2008, 5.1.2) includes
/// - the gains of both channels and the sampling rate: relative uncertainties, times E;
/// - the zeros: uncertainty of the voltage zero times |mean i| · T, and the other way round. Rounding to whole counts is
///   added to the zeros as 1/√12 count, as if every sample were rounded the same way: too much for a noisy arc, right for
///   a steady one;
/// - dropped samples: their power may have been anything from zero to twice the mean, so their energy counts with the
///   mean power and with a half-width of the same size (4.3.7);
/// - clipped samples: the true value is beyond the limit, by at most as much again, so the half-width is limit times the
///   RMS of the other channel times the clipped time. The energy itself stays as summed: a lower bound.
///
/// # Errors
/// [`MeterError`] when there are no samples, a number of the calibration is not usable, or the sums are impossible.
pub fn measure(stretch: &Stretch, calibration: &Calibration) -> Result<Measured, MeterError> {
    check(calibration)?;
    let sums = &stretch.sums;
    if sums.n == 0 {
        return Err(MeterError::NoSamples);
    }
    let (voltage, current) = (&calibration.voltage, &calibration.current);
    let shifted = Shifted::new(sums, voltage.zero_in_256ths, current.zero_in_256ths)
        .ok_or(MeterError::ImpossibleSums)?;

    let n = sums.n as f64;
    let mean = |sum: i128, gain: f64| gain * (sum as f64 / 256.0) / n;
    let rms = |sum: i128, gain: f64| gain.abs() * libm::sqrt(sum as f64 / 65_536.0 / n);
    let duration = (n + stretch.dropped as f64) / calibration.sample_rate_hz;
    let mean_voltage = mean(shifted.v, voltage.gain_per_count);
    let mean_current = mean(shifted.i, current.gain_per_count);
    let power =
        voltage.gain_per_count * current.gain_per_count * (shifted.vi as f64 / 65_536.0) / n;

    let mut measured = Measured {
        samples: sums.n,
        dropped: stretch.dropped,
        clipped: stretch
            .clipped_voltage
            .saturating_add(stretch.clipped_current),
        duration: Seconds(duration),
        mean_voltage: Volts(mean_voltage),
        mean_current: Amperes(mean_current),
        rms_voltage: Volts(rms(shifted.vv, voltage.gain_per_count)),
        rms_current: Amperes(rms(shifted.ii, current.gain_per_count)),
        true_power: Watts(power),
        product_of_means: Watts((mean_voltage * mean_current).abs()),
        energy: Joules(power.abs() * duration),
        energy_standard_uncertainty: Joules(0.0),
        polarity: Polarity::None,
    };
    measured.polarity = polarity(&measured);
    measured.energy_standard_uncertainty = energy_uncertainty(&measured, stretch, calibration);
    let sound = measured.energy.is_finite() && measured.energy_standard_uncertainty.is_finite();
    sound.then_some(measured).ok_or(MeterError::ImpossibleSums)
}

/// True if the voltage lead or the clamp is the wrong way round, because the power of the window is negative. The same
/// answer as [`Polarity::ReversedLead`] from [`measure`], in a fiftieth of the instructions.
#[must_use]
pub fn is_reversed(window: &WindowSums, calibration: &Calibration) -> bool {
    let (voltage, current) = (&calibration.voltage, &calibration.current);
    let (p, q) = (
        i64::from(voltage.zero_in_256ths),
        i64::from(current.zero_in_256ths),
    );
    // As in `Shifted`. The sums of a window have 64 bits, so nothing here comes near 2^127.
    let zeros = i128::from(p * q) * i128::from(window.n);
    let power = i128::from(window.vi) * 65_536
        - (i128::from(window.v) * i128::from(q) + i128::from(window.i) * i128::from(p)) * 256
        + zeros;
    let turned = |channel: &Channel| channel.gain_per_count.is_sign_negative();
    if turned(voltage) == turned(current) {
        power < 0
    } else {
        power > 0
    }
}

fn polarity(measured: &Measured) -> Polarity {
    let Measured {
        mean_voltage,
        rms_voltage,
        true_power,
        ..
    } = measured;
    let least = MIN_MEAN_TO_RMS * rms_voltage.0;
    if true_power.0 < 0.0 {
        Polarity::ReversedLead
    } else if true_power.0 == 0.0 {
        Polarity::None
    } else if mean_voltage.0 >= least {
        Polarity::ElectrodePositive
    } else if mean_voltage.0 <= -least {
        Polarity::ElectrodeNegative
    } else {
        Polarity::Alternating
    }
}

fn energy_uncertainty(measured: &Measured, stretch: &Stretch, calibration: &Calibration) -> Joules {
    let (voltage, current) = (&calibration.voltage, &calibration.current);
    let energy = measured.energy.0;
    let time = measured.duration.0;
    let share = |samples: u64| samples as f64 / (measured.samples as f64 + measured.dropped as f64);
    let clipped = |channel: &Channel, samples: u64, other_rms: f64| {
        rectangular(largest_magnitude(channel) * other_rms * time * share(samples))
    };
    let contributions = [
        energy * voltage.gain_relative_uncertainty,
        energy * current.gain_relative_uncertainty,
        energy * calibration.rate_relative_uncertainty,
        zero_uncertainty(voltage) * measured.mean_current.0 * time,
        zero_uncertainty(current) * measured.mean_voltage.0 * time,
        rectangular(energy * share(measured.dropped)),
        clipped(voltage, stretch.clipped_voltage, measured.rms_current.0),
        clipped(current, stretch.clipped_current, measured.rms_voltage.0),
    ];
    Joules(contributions.into_iter().fold(0.0, libm::hypot))
}

/// Standard uncertainty of the zero, with rounding to whole counts of ± half a count (GUM F.2.2.1), in volts or amperes.
fn zero_uncertainty(channel: &Channel) -> f64 {
    libm::hypot(
        channel.zero_uncertainty,
        rectangular(channel.gain_per_count / 2.0),
    )
}

/// The larger magnitude of the two limits, in volts or amperes.
fn largest_magnitude(channel: &Channel) -> f64 {
    let magnitude = |count: i32| {
        (channel.gain_per_count * (f64::from(count) - f64::from(channel.zero_in_256ths) / 256.0))
            .abs()
    };
    magnitude(channel.lowest_count).max(magnitude(channel.highest_count))
}

fn check(calibration: &Calibration) -> Result<(), MeterError> {
    let Calibration {
        voltage, current, ..
    } = calibration;
    let usable = |good: bool, what| good.then_some(()).ok_or(MeterError::Calibration(what));
    let gain = |gain: f64| gain.is_finite() && gain != 0.0;
    let uncertainty = |value: f64| value.is_finite() && value >= 0.0;
    usable(gain(voltage.gain_per_count), "voltage gain")?;
    usable(gain(current.gain_per_count), "current gain")?;
    usable(
        uncertainty(voltage.gain_relative_uncertainty),
        "uncertainty of the voltage gain",
    )?;
    usable(
        uncertainty(current.gain_relative_uncertainty),
        "uncertainty of the current gain",
    )?;
    usable(
        uncertainty(voltage.zero_uncertainty),
        "uncertainty of the voltage zero",
    )?;
    usable(
        uncertainty(current.zero_uncertainty),
        "uncertainty of the current zero",
    )?;
    let rate = calibration.sample_rate_hz;
    usable(rate.is_finite() && rate > 0.0, "sample rate")?;
    usable(
        uncertainty(calibration.rate_relative_uncertainty),
        "uncertainty of the sample rate",
    )
}
