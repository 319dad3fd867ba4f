//! How much a weld shrinks for each joule: the published factors that a shop starts from before it has measured its own.
//!
//! All three kinds of shrinkage follow the net heat Q (arc energy per length times thermal efficiency), so a plan works
//! from the planned heat and a finished build from the measured heat. The factors are ours, set to agree with the
//! published rules where those were fitted (structural steel plate) and carried to other metals by their thermal
//! expansion:
//!
//! ```text
//! longitudinal:  F = K · E·α/(ρc) · Q    K such that mild steel gives White's 0.2 kN for each J/mm
//! transverse:    δ = 1.5 · α·θ·t         θ = Q/(ρc·t²), the temperature rise if the heat stayed in a square of side t
//! angular:       φ = 1.5 · α·θ / (1 + (θ/θ₀)²)                                           θ₀ = 3000 K
//! ```
//!
//! Transverse: 1.5 puts a butt weld between Blodgett's and Spraragen's rules at the heat for each mm³ of deposit that
//! published settings give. Angular: the slope is that of Blodgett's fillet rule at the same heat; past θ₀ the wall is
//! hot through its thickness and shrinks evenly, so it turns less again. The maximum is known from experiment (Satoh and
//! Terasaki 1976, from memory); its place is our guess. Not modelled: gap, preparation, number of runs, restraint (the
//! structure does that), phase change, buckling of thin sheet. Stainless steel distorts about three times as much as
//! mild steel at the same settings; these factors give 1.3 times, because the rest is heat that stays put and yield
//! stress that drops, which no single factor covers. So measure, and use the shop's own factor.
//!
//! ```
//! use coldsquare_core::units::JoulesPerMillimetre;
//! use coldsquare_engine::formulas::shrinkage::{ShrinkingMetal, tendon_force};
//!
//! let force = tendon_force(JoulesPerMillimetre(200.0), ShrinkingMetal::MILD_STEEL)?;
//! assert!((force.0 - 40_000.0).abs() < 1e-6);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

use coldsquare_core::formula::{Allowed, Formula, FormulaError};
use coldsquare_core::units::{JoulesPerMillimetre, Megapascals, Millimetres, Newtons};

const METAL: Formula = Formula {
    name: "shrinkage from heat",
    clause: "our own range: metals that light frames are made of",
};
const SHRINKAGE: Formula = Formula {
    name: "shrinkage from net heat",
    clause: "our own published factors, docs/theory.md",
};

/// Tendon force in steel for each J/mm of net heat, N. White 1977.
const TENDON_N_PER_J_MM: f64 = 200.0;

/// E·α/(ρc) of the steel that White's factor belongs to, N for each J/mm: [`ShrinkingMetal::MILD_STEEL`].
const STEEL_N_PER_J_MM: f64 = 210_000.0 * 12e-6 / 5.0e-3;

/// Transverse shrinkage as a share of the thermal expansion.
const TRANSVERSE: f64 = 1.5;

/// Angle for each unit of α·θ while the wall is cold through most of its thickness.
const ANGULAR: f64 = 1.5;

/// Temperature rise θ at which the wall turns most, K.
const MOST_ANGULAR_K: f64 = 3000.0;

/// The properties of a metal that shrinkage depends on. Means for heat flow under an arc, not room-temperature values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShrinkingMetal {
    /// Coefficient of thermal expansion α, 1/K, 1e-6 to 50e-6.
    pub thermal_expansion_per_k: f64,
    /// Heat capacity per volume ρc, J/(mm³·K), 0.0005 to 0.01.
    pub volumetric_heat_j_mm3k: f64,
    /// Young's modulus E, 10 to 500 GPa.
    pub youngs_modulus: Megapascals,
}

impl ShrinkingMetal {
    /// Mild steel: α and E of EN 1993-1-1, 3.2.6; ρc of Grong 1997, table 1.1 (from memory). The metal to which the
    /// published factors belong.
    pub const MILD_STEEL: Self = Self {
        thermal_expansion_per_k: 12e-6,
        volumetric_heat_j_mm3k: 5.0e-3,
        youngs_modulus: Megapascals(210_000.0),
    };

    /// Thermal expansion for each joule, in one direction: α/(ρc), mm³/J.
    pub(super) fn expansion_mm3_j(self) -> Result<f64, FormulaError> {
        let alpha = METAL.require(
            "thermal expansion",
            self.thermal_expansion_per_k,
            "1/K",
            Allowed::Between(1e-6, 50e-6),
        )?;
        let heat = METAL.require(
            "heat capacity per volume",
            self.volumetric_heat_j_mm3k,
            "J/(mm³·K)",
            Allowed::Between(5e-4, 1e-2),
        )?;
        Ok(alpha / heat)
    }

    fn modulus(self) -> Result<f64, FormulaError> {
        METAL.require(
            "Young's modulus",
            self.youngs_modulus.0,
            "MPa",
            Allowed::Between(1e4, 5e5),
        )
    }
}

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
    let relative = metal.modulus()? * metal.expansion_mm3_j()? / STEEL_N_PER_J_MM;
    Ok(Newtons(TENDON_N_PER_J_MM * relative * heat))
}

/// Transverse shrinkage of a joint without restraint, from net heat (0 to 10 000 J/mm) and the thickness that carries
/// the weld (0.5 to 25 mm): the wall for a butt, the throat where it is less.
///
/// # Errors
/// [`FormulaError`] when a value is out of its range.
pub fn transverse_shrinkage(
    net_heat: JoulesPerMillimetre,
    thickness: Millimetres,
    metal: ShrinkingMetal,
) -> Result<Millimetres, FormulaError> {
    let (heat, thickness) = (checked_heat(net_heat)?, checked_thickness(thickness)?);
    Ok(Millimetres(
        TRANSVERSE * metal.expansion_mm3_j()? * heat / thickness,
    ))
}

/// Angular distortion of one wall without restraint, towards the weld, radians, from net heat (0 to 10 000 J/mm) and
/// the thickness of the wall (0.5 to 25 mm).
///
/// # Errors
/// [`FormulaError`] when a value is out of its range.
pub fn angular_distortion(
    net_heat: JoulesPerMillimetre,
    thickness: Millimetres,
    metal: ShrinkingMetal,
) -> Result<f64, FormulaError> {
    let (heat, thickness) = (checked_heat(net_heat)?, checked_thickness(thickness)?);
    let expansion = metal.expansion_mm3_j()? * heat / (thickness * thickness);
    let rise_k = heat / (metal.volumetric_heat_j_mm3k * thickness * thickness);
    let through = rise_k / MOST_ANGULAR_K;
    Ok(ANGULAR * expansion / (1.0 + through * through))
}

pub(super) fn checked_heat(net_heat: JoulesPerMillimetre) -> Result<f64, FormulaError> {
    SHRINKAGE.require(
        "net heat",
        net_heat.0,
        "J/mm",
        Allowed::Between(0.0, 10_000.0),
    )
}

pub(super) fn checked_thickness(thickness: Millimetres) -> Result<f64, FormulaError> {
    SHRINKAGE.require("thickness", thickness.0, "mm", Allowed::Between(0.5, 25.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::num::f64::ANY;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_input_gives_a_finite_result_or_an_error(
            a in ANY, b in ANY,
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
            let (heat, mm) = (JoulesPerMillimetre(a), Millimetres);
            let results = [
                tendon_force(heat, metal).map(Newtons::value),
                transverse_shrinkage(heat, mm(b), metal).map(Millimetres::value),
                angular_distortion(heat, mm(b), metal),
            ];
            for result in results.into_iter().flatten() {
                prop_assert!(result.is_finite());
            }
        }

        #[test]
        fn tendon_force_and_transverse_shrinkage_follow_the_heat(heat in 1.0..4000.0f64, thickness in 0.5..25.0f64) {
            let steel = ShrinkingMetal::MILD_STEEL;
            let (one, two) = (JoulesPerMillimetre(heat), JoulesPerMillimetre(2.0 * heat));
            let wall = Millimetres(thickness);
            let twice_force = tendon_force(two, steel).unwrap() / tendon_force(one, steel).unwrap();
            let twice_closing = transverse_shrinkage(two, wall, steel).unwrap()
                / transverse_shrinkage(one, wall, steel).unwrap();
            prop_assert!((twice_force - 2.0).abs() < 1e-12 && (twice_closing - 2.0).abs() < 1e-12);
        }
    }
}
