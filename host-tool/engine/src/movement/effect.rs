//! What one weld does as it cools, from the net heat that went into it: its starting factors, their doubt and range.
//!
//! Three things happen, by the rules of [`coldsquare_core::heat_shrinkage`]:
//!
//! 1. **Across the weld** the joint closes.
//! 2. **Along a wall**, wherever a member goes on past the weld, a strip pulls on the member like a tendon beside its
//!    neutral axis.
//! 3. **Through the thickness** an open wall (a flat bar, the leg of an angle) turns towards the weld. The walls of a
//!    tube hold each other and do not turn; there this is left out.

use crate::material::Material;
use coldsquare_core::formula::FormulaError;
use coldsquare_core::heat_shrinkage;
use coldsquare_core::shrinkage::ShrinkingMetal;
use coldsquare_core::units::{JoulesPerMillimetre, Megapascals, Millimetres};

/// A multiplier of a published rule, with its relative standard uncertainty (k = 1). 1 is the rule itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// The value.
    pub value: f64,
    /// Relative standard uncertainty.
    pub relative_uncertainty: f64,
}

/// How a shop's welds shrink against the published starting rules, for each way in which a weld shrinks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factors {
    /// Strips along a member: the tendon force.
    pub along: Factor,
    /// Strips across a member.
    pub across_strip: Factor,
    /// Closing of a joint across the weld.
    pub closing: Factor,
    /// Turning of an open wall.
    pub turning: Factor,
    /// The yield stress that stops a weld's pull, against the least that the material is sold with.
    pub yielding: Factor,
    /// What differs from weld to weld in one shop (fit-up, speed, position): relative standard uncertainty of one weld.
    pub weld_to_weld: f64,
}

impl Factors {
    /// The factors before a shop has measured anything.
    ///
    /// Doubts: `along` 20 %, because published tendon forces lie between 0.15 and 0.30 kN per J/mm; `closing` 30 %,
    /// because the rules in use differ by a factor of two; `across_strip` and `turning` 40 %, `yielding` 20 % (steel is
    /// delivered with up to 40 % more than its least yield stress) and the scatter between welds 15 %, common practice,
    /// no source.
    #[must_use]
    pub const fn starting() -> Self {
        const fn one(relative_uncertainty: f64) -> Factor {
            Factor {
                value: 1.0,
                relative_uncertainty,
            }
        }
        Self {
            along: one(0.20),
            across_strip: one(0.40),
            closing: one(0.30),
            turning: one(0.40),
            yielding: one(0.20),
            weld_to_weld: 0.15,
        }
    }
}

/// What the starting rules need to know of a material.
fn metal(material: &Material) -> ShrinkingMetal {
    ShrinkingMetal {
        thermal_expansion_per_k: material.thermal_expansion_per_k,
        volumetric_heat_j_mm3k: material.volumetric_heat_j_mm3k,
        youngs_modulus: Megapascals(material.youngs_modulus_mpa),
    }
}

/// Pull of a strip of wall along its member, N, for a net heat per length, J/mm.
///
/// # Errors
/// [`FormulaError`] when the heat or the material is outside what the rule holds for.
pub fn strip_force_n(material: &Material, net_heat_j_per_mm: f64) -> Result<f64, FormulaError> {
    let force =
        heat_shrinkage::tendon_force(JoulesPerMillimetre(net_heat_j_per_mm), metal(material))?;
    Ok(force.0 * material.shrinkage_ratio)
}

/// How far a joint that nothing holds closes across a weld, mm.
///
/// `walls_mm` is the sum of the walls that carry the heat away: two for a butt, three for a T. The rule is for a butt,
/// so it gets half of that as its thickness.
///
/// # Errors
/// [`FormulaError`] when the heat, the thickness or the material is outside what the rule holds for.
pub fn closing_mm(
    material: &Material,
    net_heat_j_per_mm: f64,
    walls_mm: f64,
) -> Result<f64, FormulaError> {
    let heat = JoulesPerMillimetre(net_heat_j_per_mm);
    let closing =
        heat_shrinkage::transverse_closing(heat, Millimetres(walls_mm / 2.0), metal(material))?;
    Ok(closing.0 * material.shrinkage_ratio)
}

/// How far an open wall that nothing holds turns towards a weld, rad.
///
/// # Errors
/// [`FormulaError`] when the heat, the thickness or the material is outside what the rule holds for.
pub fn turning_rad(
    material: &Material,
    net_heat_j_per_mm: f64,
    walls_mm: f64,
) -> Result<f64, FormulaError> {
    let heat = JoulesPerMillimetre(net_heat_j_per_mm);
    let turn = heat_shrinkage::angular_turn(heat, Millimetres(walls_mm / 2.0), metal(material))?;
    Ok(turn * material.shrinkage_ratio)
}

/// Stiffness of a weld and the metal beside it along its six directions, for its length and throat:
/// N/mm along, across and out of the face; N·mm/rad about the same axes.
///
/// The weld and the walls beside it are taken as a strip five throats wide (common practice, no source). This is
/// hundreds of times stiffer than the members of a light frame, so its exact value does not matter; what matters is
/// that a lone weld turns easily about its own line and about nothing else.
#[must_use]
pub fn weld_stiffness(material: &Material, length_mm: f64, throat_mm: f64) -> [f64; 6] {
    let gauge_mm = 5.0 * throat_mm;
    let normal = material.youngs_modulus_mpa * throat_mm * length_mm / gauge_mm;
    let shear = material.shear_modulus_mpa() * throat_mm * length_mm / gauge_mm;
    let lever = length_mm * length_mm / 12.0;
    let hinge = normal * throat_mm * throat_mm / 12.0;
    [shear, normal, shear, hinge, shear * lever, normal * lever]
}

/// The greatest force across a weld before it or the wall beside it yields, N.
#[must_use]
pub fn yield_force_n(material: &Material, length_mm: f64, throat_mm: f64) -> f64 {
    material.yield_mpa * throat_mm * length_mm
}
