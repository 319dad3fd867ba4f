//! What one weld does as it cools, from the net heat that went into it: its starting factors, their doubt and range.
//!
//! Three things happen, by the rules of [`crate::formulas::shrinkage`]:
//!
//! 1. **Across the weld** the joint closes.
//! 2. **Along a wall**, wherever a member goes on past the weld, a strip pulls on the member like a tendon beside its
//!    neutral axis.
//! 3. **Through the thickness** an open wall (a flat bar, the leg of an angle) turns towards the weld. The walls of a
//!    tube hold each other and do not turn; there this is left out.

use crate::material::Material;
use coldsquare_core::formula::FormulaError;
use crate::formulas::shrinkage::{self, ShrinkingMetal};
use coldsquare_core::units::{JoulesPerMillimetre, Megapascals, Millimetres};

pub use crate::shop::factor::{Factor, Factors};

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
        shrinkage::tendon_force(JoulesPerMillimetre(net_heat_j_per_mm), metal(material))?;
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
        shrinkage::transverse_shrinkage(heat, Millimetres(walls_mm / 2.0), metal(material))?;
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
    let turn = shrinkage::angular_distortion(heat, Millimetres(walls_mm / 2.0), metal(material))?;
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
