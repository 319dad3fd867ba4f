//! From exact sums and a calibration to volts, amps, power, energy and heat input, each with its doubt.
//!
//! The zero is taken out of the sums in whole numbers (it is a whole number of 1/256 counts), and only then does one
//! multiplication by the gains leave the integers. So a bead measured again with a better calibration gives the very
//! bits that it would have given had the logger known that calibration (docs/decisions/0001).
//!
//! True power is the mean of v · i, never mean v times mean i: ISO/TR 18491:2015; ASME IX QW-409.1(c).

use crate::bead::{Bead, Window};
use crate::calibration::{Calibration, Channel};
use crate::samples::{Sums, WindowSums};
use crate::uncertainty::{Uncertain, rectangular};
use crate::units::{Amperes, Joules, Seconds, Volts, Watts};

/// Below this ratio of mean to RMS voltage the electrode changed sides. An arc on direct current, even one that
/// short-circuits a third of the time, stays above 0.8; an alternating one with 80 % of one side is at 0.6.
const LEAST_STEADY_SIDE: f64 = 0.75;

/// What was summed, and what is known to be missing or doubtful in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Stretch {
    /// The sums of the samples that were taken.
    pub sums: Sums,
    /// Samples that were due and never came.
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

/// Which way the current flowed, told from voltage and power.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Polarity {
    /// No power: nothing to tell it from.
    None,
    /// Direct current, electrode positive (DC+, DCEP).
    ElectrodePositive,
    /// Direct current, electrode negative (DC−, DCEN).
    ElectrodeNegative,
    /// The electrode changed sides: alternating current.
    Alternating,
    /// Power came out negative, so the clamp or the voltage lead sits the wrong way round. Its magnitude is right.
    ReversedLead,
}

/// What a stretch of samples amounts to in volts, amps and joules.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Measured {
    /// Samples taken.
    pub samples: u64,
    /// Samples that were due and never came; their time counts, their energy is taken from the mean power.
    pub dropped: u64,
    /// Samples at a limit of a channel; a sample clipped in both channels counts twice.
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
    /// |mean v · mean i|: what two panel meters would suggest, for comparison only.
    pub product_of_means: Watts,
    /// Magnitude of true power times duration.
    pub energy: Joules,
    /// Standard uncertainty (k = 1) of the energy; see [`measure`] for what is in it.
    pub energy_standard_uncertainty: Joules,
    /// Which way the current flowed.
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

/// Why sums could not be turned into a measurement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MeterError {
    /// There is no sample to take a mean of.
    NoSamples,
    /// A number of the calibration is infinite, not a number, or outside its range.
    Calibration(&'static str),
    /// No samples of ours can give these sums: the record they come from is damaged.
    ImpossibleSums,
}

impl core::fmt::Display for MeterError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NoSamples => write!(
                f,
                "no samples were taken here, so there is nothing to measure"
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

/// Sums with the zeros taken out, exact: v in 1/256 counts, i in 1/256 counts, products in 1/65 536 counts².
struct Shifted {
    v: i128,
    i: i128,
    vv: i128,
    ii: i128,
    vi: i128,
}

impl Shifted {
    /// Σ(256·a − p)(256·b − q) = 65 536·Σab − 256·q·Σa − 256·p·Σb + n·p·q, with zeros p and q in 1/256 counts.
    /// Nothing on overflow: 2^64 samples of 24 bits stay below 2^127, so only damaged sums get there.
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

/// Volts, amps, power and energy of a stretch, by a calibration.
///
/// The standard uncertainty of the energy E over the time T (GUM, JCGM 100:2008, 5.1.2) holds
/// - the gains of both channels and the sample rate: relative doubts, times E;
/// - the zeros: doubt of the voltage zero times |mean i| · T, and the other way round. Rounding to whole counts is
///   taken with the zeros as 1/√12 count, as if every sample of the stretch were rounded the same way: too much for
///   a noisy arc, right for a steady one;
/// - dropped samples: while they were missing, power may have been anything from nothing to twice the mean, so their
///   energy counts with mean power and with a half-width of the same size (4.3.7);
/// - clipped samples: the true value lies past the limit, by at most as much again, so the half-width is limit times
///   the RMS of the other channel times the clipped time. The energy itself is left as summed: a lower bound.
///
/// # Errors
/// [`MeterError`] when there are no samples, the calibration holds a number that is not usable, or the sums are
/// impossible. Never panics, whatever the numbers.
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
    measured.energy_standard_uncertainty = energy_doubt(&measured, stretch, calibration);
    let sound = measured.energy.is_finite() && measured.energy_standard_uncertainty.is_finite();
    sound.then_some(measured).ok_or(MeterError::ImpossibleSums)
}

/// True when the voltage lead or the clamp is the wrong way round: the power of a window is negative. The same as
/// [`measure`] says with [`Polarity::ReversedLead`], in a fiftieth of the instructions.
#[must_use]
pub fn is_reversed(window: &WindowSums, calibration: &Calibration) -> bool {
    let (voltage, current) = (&calibration.voltage, &calibration.current);
    let (p, q) = (
        i64::from(voltage.zero_in_256ths),
        i64::from(current.zero_in_256ths),
    );
    // As in `Shifted`. The sums of a window are 64 bits wide, so that nothing here comes near 2^127.
    let zeros = i128::from(p * q) * i128::from(window.n);
    let power = i128::from(window.vi) * 65_536
        - (i128::from(window.v) * i128::from(q) + i128::from(window.i) * i128::from(p)) * 256
        + zeros;
    let turned = (voltage.gain_per_count < 0.0) != (current.gain_per_count < 0.0);
    if turned { power > 0 } else { power < 0 }
}

fn polarity(measured: &Measured) -> Polarity {
    let Measured {
        mean_voltage,
        rms_voltage,
        true_power,
        ..
    } = measured;
    if true_power.0 == 0.0 {
        Polarity::None
    } else if true_power.0 < 0.0 {
        Polarity::ReversedLead
    } else if mean_voltage.0.abs() < LEAST_STEADY_SIDE * rms_voltage.0 {
        Polarity::Alternating
    } else if mean_voltage.0 > 0.0 {
        Polarity::ElectrodePositive
    } else {
        Polarity::ElectrodeNegative
    }
}

fn energy_doubt(measured: &Measured, stretch: &Stretch, calibration: &Calibration) -> Joules {
    let (voltage, current) = (&calibration.voltage, &calibration.current);
    let energy = measured.energy.0;
    let time = measured.duration.0;
    let share = |samples: u64| samples as f64 / (measured.samples as f64 + measured.dropped as f64);
    let clipped = |channel: &Channel, samples: u64, other_rms: f64| {
        rectangular(farthest(channel) * other_rms * time * share(samples))
    };
    let contributions = [
        energy * voltage.gain_relative_uncertainty,
        energy * current.gain_relative_uncertainty,
        energy * calibration.rate_relative_uncertainty,
        zero_doubt(voltage) * measured.mean_current.0 * time,
        zero_doubt(current) * measured.mean_voltage.0 * time,
        rectangular(energy * share(measured.dropped)),
        clipped(voltage, stretch.clipped_voltage, measured.rms_current.0),
        clipped(current, stretch.clipped_current, measured.rms_voltage.0),
    ];
    Joules(contributions.into_iter().fold(0.0, libm::hypot))
}

/// Doubt of the zero together with rounding to whole counts, ± half a count (GUM F.2.2.1), in volts or amperes.
fn zero_doubt(channel: &Channel) -> f64 {
    libm::hypot(
        channel.zero_uncertainty,
        rectangular(channel.gain_per_count / 2.0),
    )
}

/// Magnitude of the farther of the two limits, in volts or amperes.
fn farthest(channel: &Channel) -> f64 {
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
    let doubt = |doubt: f64| doubt.is_finite() && doubt >= 0.0;
    usable(gain(voltage.gain_per_count), "voltage gain")?;
    usable(gain(current.gain_per_count), "current gain")?;
    usable(
        doubt(voltage.gain_relative_uncertainty),
        "doubt of the voltage gain",
    )?;
    usable(
        doubt(current.gain_relative_uncertainty),
        "doubt of the current gain",
    )?;
    usable(doubt(voltage.zero_uncertainty), "doubt of the voltage zero")?;
    usable(doubt(current.zero_uncertainty), "doubt of the current zero")?;
    let rate = calibration.sample_rate_hz;
    usable(rate.is_finite() && rate > 0.0, "sample rate")?;
    usable(
        doubt(calibration.rate_relative_uncertainty),
        "doubt of the sample rate",
    )
}
