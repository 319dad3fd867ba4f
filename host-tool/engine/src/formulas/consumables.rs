//! Wire, deposit, gas, energy and arc time: what a weld uses up.
//!
//! Everything is calculated from geometry and density. The trade's rules of thumb (lb/h from a constant, amperes from wall
//! thickness) are checked against that and used only where geometry gives no answer.
//!
//! ```
//! use coldsquare_core::units::Millimetres;
//! use coldsquare_engine::formulas::consumables::{fillet_area, weld_metal};
//! use coldsquare_engine::formulas::metal::Metal;
//!
//! // A metre of 3 mm fillet in steel.
//! let metal = weld_metal(fillet_area(Millimetres(3.0))?, Millimetres(1000.0), Metal::MildSteel)?;
//! assert!((metal.0 - 0.0353).abs() < 0.0001);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

use crate::formulas::metal::Metal;
use coldsquare_core::formula::{Allowed, Formula, FormulaError};
use coldsquare_core::units::{
    Amperes, Joules, Kilograms, Litres, Millimetres, MillimetresPerSecond, Seconds,
    SquareMillimetres,
};
use core::f64::consts::PI;

const CONSUMABLES: Formula = Formula {
    name: "use of consumables",
    clause: "geometry and density",
};

/// Joules in a kilowatt-hour, exact by definition.
pub const JOULES_PER_KILOWATT_HOUR: f64 = 3.6e6;

/// Metal transfer, which determines the share of the wire that ends up in the weld. The rest is spatter, fume, slag and
/// stubs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Transfer {
    /// Solid wire, short-circuit transfer.
    ShortCircuit,
    /// Solid wire, globular transfer.
    Globular,
    /// Solid wire, spray transfer.
    Spray,
    /// Solid wire, pulsed.
    Pulsed,
    /// Metal-cored wire.
    MetalCored,
    /// Flux-cored wire under gas.
    FluxCored,
    /// Self-shielded flux-cored wire.
    SelfShielded,
    /// Submerged arc.
    SubmergedArc,
    /// Covered electrodes, stubs thrown away.
    Covered,
}

impl Transfer {
    /// Least and greatest deposition efficiency, a fraction; equal where one value is given.
    ///
    /// Source: a table of MIG deposition rates for the solid wires; a welding handbook's filler-metal averages
    /// for the rest, whose row names are from memory.
    #[must_use]
    pub const fn deposition_efficiency(self) -> (f64, f64) {
        match self {
            Self::ShortCircuit => (0.90, 0.93),
            Self::Globular => (0.88, 0.90),
            Self::Spray | Self::Pulsed => (0.98, 0.98),
            Self::MetalCored => (0.93, 0.93),
            Self::FluxCored => (0.86, 0.86),
            Self::SelfShielded => (0.78, 0.78),
            Self::SubmergedArc => (0.99, 0.99),
            Self::Covered => (0.59, 0.66),
        }
    }
}

/// Cross-section of a round wire.
///
/// # Errors
/// [`FormulaError`] when the diameter is not 0.1 to 10 mm.
pub fn wire_area(diameter: Millimetres) -> Result<SquareMillimetres, FormulaError> {
    let diameter = CONSUMABLES.require(
        "wire diameter",
        diameter.0,
        "mm",
        Allowed::Between(0.1, 10.0),
    )?;
    Ok(SquareMillimetres(PI / 4.0 * diameter * diameter))
}

/// Mass of a length of wire.
///
/// # Errors
/// [`FormulaError`] when the diameter is not 0.1 to 10 mm, or the length is negative or no number.
pub fn wire_mass(
    diameter: Millimetres,
    length: Millimetres,
    metal: Metal,
) -> Result<Kilograms, FormulaError> {
    let area = wire_area(diameter)?;
    let length = CONSUMABLES.not_negative("wire length", length.0, "mm")?;
    mass(metal, area.0, length)
}

/// Metal deposited in this time: wire fed, times the deposition efficiency (over 0, up to 1).
///
/// # Errors
/// [`FormulaError`] when a value is out of its range.
pub fn deposit(
    diameter: Millimetres,
    wire_feed: MillimetresPerSecond,
    arc_time: Seconds,
    efficiency: f64,
    metal: Metal,
) -> Result<Kilograms, FormulaError> {
    let feed = CONSUMABLES.not_negative("wire feed speed", wire_feed.0, "mm/s")?;
    let time = CONSUMABLES.not_negative("arc time", arc_time.0, "s")?;
    let wire = wire_mass(diameter, Millimetres(feed * time), metal)?;
    Ok(wire * checked_efficiency(efficiency)?)
}

/// Section of a flat-faced fillet of equal legs: half the leg squared.
///
/// # Errors
/// [`FormulaError`] when the leg is not 0.5 to 50 mm.
pub fn fillet_area(leg: Millimetres) -> Result<SquareMillimetres, FormulaError> {
    let leg = CONSUMABLES.require("fillet leg", leg.0, "mm", Allowed::Between(0.5, 50.0))?;
    Ok(SquareMillimetres(0.5 * leg * leg))
}

/// Mass of weld metal along a weld.
///
/// # Errors
/// [`FormulaError`] when a value is negative or no number.
pub fn weld_metal(
    area: SquareMillimetres,
    length: Millimetres,
    metal: Metal,
) -> Result<Kilograms, FormulaError> {
    let area = CONSUMABLES.not_negative("weld section", area.0, "mm²")?;
    let length = CONSUMABLES.not_negative("weld length", length.0, "mm")?;
    mass(metal, area, length)
}

/// Wire or rod to buy for this much weld metal: P = W / E, with the deposition efficiency over 0, up to 1.
///
/// # Errors
/// [`FormulaError`] when a value is out of its range.
pub fn filler_needed(weld_metal: Kilograms, efficiency: f64) -> Result<Kilograms, FormulaError> {
    let mass = CONSUMABLES.not_negative("weld metal", weld_metal.0, "kg")?;
    kilograms(mass / checked_efficiency(efficiency)?)
}

/// Shielding gas: flow times the time it runs (arc time plus pre- and post-flow).
///
/// # Errors
/// [`FormulaError`] when a value is negative or no number.
pub fn gas_used(flow_l_min: f64, gas_time: Seconds) -> Result<Litres, FormulaError> {
    let flow = CONSUMABLES.not_negative("gas flow", flow_l_min, "l/min")?;
    let time = CONSUMABLES.not_negative("gas time", gas_time.0, "s")?;
    let litres = CONSUMABLES.result(flow * (time / 60.0), "l")?;
    Ok(Litres(litres))
}

/// Energy from the socket, kWh: arc energy over the efficiency of the power source (over 0, up to 1).
///
/// # Errors
/// [`FormulaError`] when a value is out of its range.
pub fn mains_energy_kwh(arc_energy: Joules, source_efficiency: f64) -> Result<f64, FormulaError> {
    let arc = CONSUMABLES.not_negative("arc energy", arc_energy.0, "J")?;
    let efficiency = checked_efficiency(source_efficiency)?;
    CONSUMABLES.result(arc / JOULES_PER_KILOWATT_HOUR / efficiency, "kWh")
}

/// Operating factor: arc time over the whole working time, 0 to 1.
///
/// # Errors
/// [`FormulaError`] when the working time is not over 0, or the arc burned longer than that.
pub fn operating_factor(arc_time: Seconds, working_time: Seconds) -> Result<f64, FormulaError> {
    let whole = CONSUMABLES.positive("working time", working_time.0, "s")?;
    let arc = CONSUMABLES.require("arc time", arc_time.0, "s", Allowed::Between(0.0, whole))?;
    Ok(arc / whole)
}

const BURN_OFF: Formula = Formula {
    name: "wire feed from current",
    clause: "burn-off rule for solid steel wire in short arc, from makers' manuals",
};

/// Wires of the burn-off rule: diameter in inches, inches per minute of wire for each ampere.
const BURN_OFF_RATES: [(f64, f64); 4] = [(0.024, 3.5), (0.030, 2.0), (0.035, 1.6), (0.045, 1.0)];

/// Wire feed that burns off at this current (20 to 250 A): solid steel wire of 0.6, 0.8, 0.9 or 1.1 to 1.2 mm,
/// short arc.
///
/// Source: makers' manuals for MIG with solid wire in short arc; a starting setting to try on scrap first. The rule is
/// given for 0.024, 0.030, 0.035 and 0.045 in; the metric wire next to it (no more than 6 % thicker, 5 % thinner) uses
/// its rate.
///
/// # Errors
/// [`FormulaError`] when the current is out of its range, or no such wire is in the rule.
pub fn wire_feed_for(
    current: Amperes,
    diameter: Millimetres,
) -> Result<MillimetresPerSecond, FormulaError> {
    let current = BURN_OFF.require("current", current.0, "A", Allowed::Between(20.0, 250.0))?;
    let wanted = BURN_OFF.require(
        "wire diameter",
        diameter.0,
        "mm",
        Allowed::Between(0.58, 1.21),
    )?;
    let nearest = BURN_OFF_RATES
        .iter()
        .map(|&(inches, rate)| (Millimetres::from_inches(inches).0, rate))
        .min_by(|a, b| (a.0 - wanted).abs().total_cmp(&(b.0 - wanted).abs()));
    let (known, rate) = nearest.unwrap_or((f64::NAN, f64::NAN));
    // 0.024 in is 0.61 mm, 0.030 in 0.76, 0.035 in 0.89, 0.045 in 1.14: 1.0 mm has no rate in the rule.
    BURN_OFF.require(
        "wire diameter",
        wanted,
        "mm",
        Allowed::Between(known * 0.95, known * 1.06),
    )?;
    Ok(MillimetresPerSecond::from_inches_per_minute(current * rate))
}

/// Mass of a length of this section.
fn mass(metal: Metal, area_mm2: f64, length_mm: f64) -> Result<Kilograms, FormulaError> {
    kilograms(area_mm2 * length_mm * metal.density_kg_m3() * 1e-9)
}

fn checked_efficiency(efficiency: f64) -> Result<f64, FormulaError> {
    CONSUMABLES.require("efficiency", efficiency, "", Allowed::Between(0.01, 1.0))
}

fn kilograms(mass: f64) -> Result<Kilograms, FormulaError> {
    CONSUMABLES.result(mass, "kg").map(Kilograms)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::num::f64::ANY;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_input_gives_a_sound_result_or_an_error(a in ANY, b in ANY, c in ANY) {
            let steel = Metal::MildSteel;
            let masses = [
                wire_mass(Millimetres(a), Millimetres(b), steel),
                wire_mass(Millimetres(1.0), Millimetres(b), steel),
                deposit(Millimetres(1.0), MillimetresPerSecond(a), Seconds(b), 0.9, steel),
                deposit(Millimetres(1.0), MillimetresPerSecond(a), Seconds(b), c, steel),
                weld_metal(SquareMillimetres(a), Millimetres(b), steel),
                filler_needed(Kilograms(a), b),
                filler_needed(Kilograms(a), 0.01),
            ];
            for mass in masses.into_iter().flatten() {
                prop_assert!(mass.0 >= 0.0 && mass.is_finite());
            }
            let numbers = [
                mains_energy_kwh(Joules(a), b),
                operating_factor(Seconds(a), Seconds(b)),
                gas_used(a, Seconds(b)).map(Litres::value),
                fillet_area(Millimetres(a)).map(SquareMillimetres::value),
                wire_feed_for(Amperes(a), Millimetres(b)).map(MillimetresPerSecond::value),
                wire_feed_for(Amperes(100.0), Millimetres(b)).map(MillimetresPerSecond::value),
            ];
            for number in numbers.into_iter().flatten() {
                prop_assert!(number >= 0.0 && number.is_finite());
            }
        }
    }
}
