//! What one joule shrinks: the factors a shop starts from, before it has measured its own.
//!
//! All three follow the net heat Q (arc energy per length times thermal efficiency), so a plan works from the
//! planned heat and a finished build from the measured one. They are our own, set so that they agree with the
//! published rules where those were made (structural steel plate), carried to other metals by what heat makes
//! them swell:
//!
//! ```text
//! along:   F = K · E·α/(ρc) · Q        K such that mild steel gives White's 0.2 kN for each J/mm
//! across:  δ = 1.5 · α·θ·t             θ = Q/(ρc·t²), the rise if the heat stayed in a square of the thickness
//! turning: φ = 1.5 · α·θ / (1 + (θ/θ₀)²)                                            θ₀ = 3000 K
//! ```
//!
//! Across: 1.5 puts a butt weld between Blodgett's and Spraragen's rules at the heat for each mm³ of deposit
//! that published settings give. Turning: the slope is that of Blodgett's fillet rule at the same heat; past θ₀
//! the wall is hot through its thickness and shrinks evenly, so it turns less again. The maximum is known from
//! experiment (Satoh and Terasaki 1976, from memory), its place is our guess. Not modelled: gap, preparation,
//! number of runs, restraint (the structure does that), phase change, buckling of thin sheet. Stainless steel
//! is known to distort about three times as much as mild steel at the same settings; these factors give 1.3
//! times, because the rest is heat that stays put and yield that drops, which no single factor holds. So
//! measure, and use the shop's own factor.

use crate::formula::{Allowed, Formula, FormulaError};
use crate::shrinkage::{ShrinkingMetal, TENDON_N_PER_J_MM};
use crate::units::{JoulesPerMillimetre, Millimetres, Newtons};

const STARTING: Formula = Formula {
    name: "shrinkage from net heat",
    clause: "our own starting factors, docs/theory.md",
};

/// E·α/(ρc) of the steel that White's factor belongs to, N for each J/mm: [`ShrinkingMetal::MILD_STEEL`].
const STEEL_N_PER_J_MM: f64 = 210_000.0 * 12e-6 / 5.0e-3;

/// Share of the swelling that ends up as closing across the weld.
const ACROSS: f64 = 1.5;

/// Turn for each unit of α·θ while the wall is cold through most of its thickness.
const TURNING: f64 = 1.5;

/// Rise θ at which the wall turns most, K.
const MOST_TURNED_K: f64 = 3000.0;

/// Longitudinal tendon force, before the yield of the bar limits it: 0.2 kN in mild steel for each J/mm of net heat
/// (0 to 10 000), other metals by E·α/(ρc).
///
/// # Errors
/// [`FormulaError`] when a value is out of its range.
pub fn tendon_force(
    net_heat: JoulesPerMillimetre,
    metal: ShrinkingMetal,
) -> Result<Newtons, FormulaError> {
    let heat = checked_heat(net_heat)?;
    let relative = metal.modulus()? * metal.swelling_mm3_j()? / STEEL_N_PER_J_MM;
    Ok(Newtons(TENDON_N_PER_J_MM * relative * heat))
}

/// How much a joint that is free to move closes across the weld, from net heat (0 to 10 000 J/mm) and the
/// thickness that carries the weld (0.5 to 25 mm): the wall for a butt, the throat where it is less.
///
/// # Errors
/// [`FormulaError`] when a value is out of its range.
pub fn transverse_closing(
    net_heat: JoulesPerMillimetre,
    thickness: Millimetres,
    metal: ShrinkingMetal,
) -> Result<Millimetres, FormulaError> {
    let (heat, thickness) = (checked_heat(net_heat)?, checked_thickness(thickness)?);
    Ok(Millimetres(
        ACROSS * metal.swelling_mm3_j()? * heat / thickness,
    ))
}

/// How far one wall that is free to move turns towards the weld, radians, from net heat (0 to 10 000 J/mm) and the
/// thickness of the wall (0.5 to 25 mm).
///
/// # Errors
/// [`FormulaError`] when a value is out of its range.
pub fn angular_turn(
    net_heat: JoulesPerMillimetre,
    thickness: Millimetres,
    metal: ShrinkingMetal,
) -> Result<f64, FormulaError> {
    let (heat, thickness) = (checked_heat(net_heat)?, checked_thickness(thickness)?);
    let swelling = metal.swelling_mm3_j()? * heat / (thickness * thickness);
    let rise_k = heat / (metal.volumetric_heat_j_mm3k * thickness * thickness);
    let through = rise_k / MOST_TURNED_K;
    Ok(TURNING * swelling / (1.0 + through * through))
}

fn checked_heat(net_heat: JoulesPerMillimetre) -> Result<f64, FormulaError> {
    STARTING.require(
        "net heat",
        net_heat.0,
        "J/mm",
        Allowed::Between(0.0, 10_000.0),
    )
}

fn checked_thickness(thickness: Millimetres) -> Result<f64, FormulaError> {
    STARTING.require("thickness", thickness.0, "mm", Allowed::Between(0.5, 25.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shrinkage::{
        allowance, blodgett_angular, blodgett_camber, blodgett_force, blodgett_transverse, bow,
        okerblom_force, shortening, spraragen_transverse,
    };
    use crate::units::{Megapascals, SquareMillimetres};
    use proptest::num::f64::ANY;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_input_gives_a_finite_result_or_an_error(
            a in ANY, b in ANY, c in ANY, d in ANY,
            metal in prop::array::uniform3(ANY), wild_metal in any::<bool>(),
        ) {
            let metal = if wild_metal {
                ShrinkingMetal {
                    thermal_expansion_per_k: metal[0],
                    volumetric_heat_j_mm3k: metal[1],
                    youngs_modulus: Megapascals(metal[2]),
                }
            } else {
                ShrinkingMetal::MILD_STEEL
            };
            let (heat, mm, area) = (JoulesPerMillimetre(a), Millimetres, SquareMillimetres(a));
            let results = [
                tendon_force(heat, metal).map(Newtons::value),
                transverse_closing(heat, mm(b), metal).map(Millimetres::value),
                angular_turn(heat, mm(b), metal),
                crate::shrinkage::tendon_force(heat).map(Newtons::value),
                okerblom_force(heat, metal).map(Newtons::value),
                blodgett_force(area, metal.youngs_modulus).map(Newtons::value),
                blodgett_camber(area, mm(b), mm(c), d).map(Millimetres::value),
                bow(Newtons(a), mm(b), mm(c), d).map(Millimetres::value),
                bow(Newtons(a), mm(10.0), mm(1000.0), d).map(Millimetres::value),
                shortening(Newtons(a), mm(b), c).map(Millimetres::value),
                blodgett_transverse(area, mm(b)).map(Millimetres::value),
                spraragen_transverse(area, mm(b), mm(c)).map(Millimetres::value),
                blodgett_angular(mm(a), mm(b)),
                allowance::across_fillet(mm(a), mm(b)).map(Millimetres::value),
                allowance::along_fillet(mm(a)).map(Millimetres::value),
                allowance::along_butt(mm(a)).map(Millimetres::value),
            ];
            for result in results.into_iter().flatten() {
                prop_assert!(result.is_finite());
            }
        }

        #[test]
        fn force_and_closing_follow_the_heat(heat in 1.0..4000.0f64, thickness in 0.5..25.0f64) {
            let steel = ShrinkingMetal::MILD_STEEL;
            let (one, two) = (JoulesPerMillimetre(heat), JoulesPerMillimetre(2.0 * heat));
            let wall = Millimetres(thickness);
            let twice_force = tendon_force(two, steel).unwrap() / tendon_force(one, steel).unwrap();
            let twice_closing = transverse_closing(two, wall, steel).unwrap()
                / transverse_closing(one, wall, steel).unwrap();
            prop_assert!((twice_force - 2.0).abs() < 1e-12 && (twice_closing - 2.0).abs() < 1e-12);
        }
    }
}
