//! Arc energy and heat input, from measured energy or from mean values.
//!
//! *Arc energy* is electrical energy per length of weld, before thermal efficiency (ASME IX QW-409.1 stops here).
//! *Heat input* is arc energy times the thermal efficiency k of the process (EN 1011-1, EN ISO 15614-1).
//! Means of volts and amps give the true value only for a steady arc. Short circuits, pulses and AC need the energy that
//! the logger sums sample by sample (ISO/TR 18491:2015; ASME IX QW-409.1(c)): [`coldsquare_core::meter`].
//!
//! ```
//! use coldsquare_core::process::Process;
//! use coldsquare_core::uncertainty::Uncertain;
//! use coldsquare_engine::formulas::heat_input::heat_input;
//!
//! let energy = Uncertain::from_relative(60_000.0, 0.02);
//! let weld = heat_input(energy, Uncertain::rectangular(240.0, 1.0), Process::MagSolid)?;
//! assert_eq!(weld.arc_energy.value, 250.0);
//! assert_eq!(weld.heat_input.value, 200.0);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

use super::uncertainty::product_of_powers;
use coldsquare_core::formula::{Formula, FormulaError};
use coldsquare_core::process::Process;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::{Amperes, JoulesPerMillimetre, MillimetresPerSecond, Volts};

const ARC_ENERGY: Formula = Formula {
    name: "arc energy",
    clause: "EN 1011-1:2009, 8.7",
};

/// Arc energy from mean values: E = U · I / v.
///
/// Source: EN 1011-1:2009, 8.7, without k; ASME IX QW-409.1(a). True for a steady arc only.
///
/// # Errors
/// [`FormulaError`] when a value is not finite, volts or amps are negative, or the speed is not greater than zero.
pub fn arc_energy_from_means(
    arc_voltage: Volts,
    current: Amperes,
    speed: MillimetresPerSecond,
) -> Result<JoulesPerMillimetre, FormulaError> {
    ARC_ENERGY.not_negative("arc voltage", arc_voltage.0, "V")?;
    ARC_ENERGY.not_negative("current", current.0, "A")?;
    ARC_ENERGY.positive("travel speed", speed.0, "mm/s")?;
    Ok(arc_voltage * current / speed)
}

/// Energy per length, before and after thermal efficiency, each with its uncertainty, J/mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatInput {
    /// E / L: ISO/TR 18491:2015; ASME IX QW-409.1(c)(1).
    pub arc_energy: Uncertain,
    /// k · E / L: EN 1011-1:2009, 8.7. k counts as exact, because the standard fixes it by convention.
    pub heat_input: Uncertain,
}

/// Heat input from measured energy (J) and the length of the weld (mm): uncertainties combined by GUM 5.1.6.
///
/// # Errors
/// [`FormulaError`] when energy, length or an uncertainty is not finite, the length is not greater than zero, or an
/// uncertainty is negative.
pub fn heat_input(
    energy: Uncertain,
    weld_length: Uncertain,
    process: Process,
) -> Result<HeatInput, FormulaError> {
    ARC_ENERGY.positive("weld length", weld_length.value, "mm")?;
    let arc_energy = product_of_powers(&[(energy, 1.0), (weld_length, -1.0)])?;
    Ok(HeatInput {
        arc_energy,
        heat_input: arc_energy.scaled(process.thermal_efficiency()),
    })
}
