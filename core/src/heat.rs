//! Arc energy, heat input and travel speed, in the three forms that standards use.
//!
//! *Arc energy* is electrical energy per length of weld, before thermal efficiency (ASME IX QW-409.1 stops here).
//! *Heat input* is arc energy times the thermal efficiency k of the process (EN 1011-1, EN ISO 15614-1).
//! Means of volts and amps give the true value only for a steady arc; for short circuits, pulses and AC the
//! instantaneous forms are the right ones (ISO/TR 18491:2015; ASME IX QW-409.1(c)).

use crate::process::Process;
use crate::units::{
    Amperes, Joules, JoulesPerMillimetre, Millimetres, MillimetresPerSecond, Seconds, Volts, Watts,
};

/// Why a heat input could not be worked out: the class of fault and the quantity it lies in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum HeatError {
    /// The quantity is infinite or not a number.
    NotFinite(&'static str),
    /// The quantity must be greater than zero: there is no energy per length without length or speed.
    NotPositive(&'static str),
    /// The quantity must not be negative.
    Negative(&'static str),
}

impl core::fmt::Display for HeatError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NotFinite(name) => write!(f, "{name} is not a number; give a finite value"),
            Self::NotPositive(name) => write!(f, "{name} must be greater than zero"),
            Self::Negative(name) => write!(f, "{name} must not be negative"),
        }
    }
}

impl core::error::Error for HeatError {}

fn positive(name: &'static str, value: f64) -> Result<f64, HeatError> {
    if !value.is_finite() {
        Err(HeatError::NotFinite(name))
    } else if value <= 0.0 {
        Err(HeatError::NotPositive(name))
    } else {
        Ok(value)
    }
}

fn not_negative(name: &'static str, value: f64) -> Result<f64, HeatError> {
    if !value.is_finite() {
        Err(HeatError::NotFinite(name))
    } else if value < 0.0 {
        Err(HeatError::Negative(name))
    } else {
        Ok(value)
    }
}

/// Travel speed v = L / t from the length of the weld and the time the arc burned.
///
/// # Errors
/// [`HeatError`] when either is not finite or not greater than zero.
pub fn travel_speed(
    length: Millimetres,
    arc_time: Seconds,
) -> Result<MillimetresPerSecond, HeatError> {
    positive("weld length", length.0)?;
    positive("arc time", arc_time.0)?;
    Ok(length / arc_time)
}

/// Arc energy from mean values: E = U · I / v.
///
/// Source: EN 1011-1:2009, 8.7, without k; ASME IX QW-409.1(a). True for a steady arc only.
///
/// # Errors
/// [`HeatError`] when a value is not finite, volts or amps are negative, or the speed is not greater than zero.
pub fn arc_energy_from_means(
    arc_voltage: Volts,
    current: Amperes,
    speed: MillimetresPerSecond,
) -> Result<JoulesPerMillimetre, HeatError> {
    not_negative("arc voltage", arc_voltage.0)?;
    not_negative("current", current.0)?;
    arc_energy_from_power(arc_voltage * current, speed)
}

/// Arc energy from instantaneous energy: E = IE / L, with IE the sum of v · i · dt from arc start to arc end.
///
/// Source: ISO/TR 18491:2015; ASME IX QW-409.1(c)(1).
///
/// # Errors
/// [`HeatError`] when a value is not finite, the energy is negative, or the length is not greater than zero.
pub fn arc_energy_from_energy(
    energy: Joules,
    length: Millimetres,
) -> Result<JoulesPerMillimetre, HeatError> {
    not_negative("arc energy", energy.0)?;
    positive("weld length", length.0)?;
    Ok(energy / length)
}

/// Arc energy from instantaneous power: E = IP / v, with IP the mean of v · i (never mean v times mean i).
///
/// Source: ISO/TR 18491:2015; ASME IX QW-409.1(c)(2).
///
/// # Errors
/// [`HeatError`] when a value is not finite, the power is negative, or the speed is not greater than zero.
pub fn arc_energy_from_power(
    power: Watts,
    speed: MillimetresPerSecond,
) -> Result<JoulesPerMillimetre, HeatError> {
    not_negative("power", power.0)?;
    positive("travel speed", speed.0)?;
    Ok(power / speed)
}

/// Heat input Q = k · E, with k the thermal efficiency of the process (EN 1011-1:2009, Table 1).
#[must_use]
pub fn heat_input(arc_energy: JoulesPerMillimetre, process: Process) -> JoulesPerMillimetre {
    arc_energy * process.thermal_efficiency()
}
