//! What one weld does as it cools, for the net heat that went into it.
//!
//! Three things, by the rules of [`crate::formulas::shrinkage`]:
//!
//! 1. **Transverse shrinkage**: the joint closes across the weld.
//! 2. **Longitudinal shrinkage**: where a member goes on past the weld, a strip of its wall pulls on it like a tendon
//!    beside its neutral axis.
//! 3. **Angular distortion**: an open wall (a flat bar, the leg of an angle) turns towards the weld. The walls of a tube
//!    hold each other and do not turn; there it is left out.

use crate::formulas::shrinkage::{self, ShrinkingMetal};
use crate::material::Material;
use coldsquare_core::formula::FormulaError;
use coldsquare_core::units::{JoulesPerMillimetre, Megapascals, Millimetres};

/// The properties of a material that the rules need.
fn metal(material: &Material) -> ShrinkingMetal {
    ShrinkingMetal {
        thermal_expansion_per_k: material.thermal_expansion_per_k,
        volumetric_heat_j_mm3k: material.volumetric_heat_j_mm3k,
        youngs_modulus: Megapascals(material.youngs_modulus_mpa),
    }
}

/// Tendon force of a strip of wall, N, for the net heat per length of weld, J/mm.
///
/// # Errors
/// [`FormulaError`] when the heat or the material is outside the range of the rule.
pub(crate) fn tendon_force_n(
    material: &Material,
    net_heat_j_per_mm: f64,
) -> Result<f64, FormulaError> {
    let force = shrinkage::tendon_force(JoulesPerMillimetre(net_heat_j_per_mm), metal(material))?;
    Ok(force.0 * material.shrinkage_ratio)
}

/// Transverse shrinkage of a joint that is free to close, mm.
///
/// `walls_mm` is the sum of the walls into which the heat flows: two for a butt joint, three for a T-joint. The rule is
/// for a butt joint, so its thickness is half of that.
///
/// # Errors
/// [`FormulaError`] when the heat, the thickness or the material is outside the range of the rule.
pub(crate) fn transverse_mm(
    material: &Material,
    net_heat_j_per_mm: f64,
    walls_mm: f64,
) -> Result<f64, FormulaError> {
    let heat = JoulesPerMillimetre(net_heat_j_per_mm);
    let shrinkage =
        shrinkage::transverse_shrinkage(heat, Millimetres(walls_mm / 2.0), metal(material))?;
    Ok(shrinkage.0 * material.shrinkage_ratio)
}

/// Angular distortion of an open wall that is free to turn, rad. `walls_mm` as in [`transverse_mm`].
///
/// # Errors
/// [`FormulaError`] when the heat, the thickness or the material is outside the range of the rule.
pub(crate) fn angular_rad(
    material: &Material,
    net_heat_j_per_mm: f64,
    walls_mm: f64,
) -> Result<f64, FormulaError> {
    let heat = JoulesPerMillimetre(net_heat_j_per_mm);
    let angle = shrinkage::angular_distortion(heat, Millimetres(walls_mm / 2.0), metal(material))?;
    Ok(angle * material.shrinkage_ratio)
}

/// Stiffness of a weld and the metal beside it, for its length and throat, mm: N/mm along the weld, across it and out of
/// the face; N·mm/rad about the same axes.
///
/// The weld and the walls beside it count as a strip five throats wide (common practice, no source). That is hundreds
/// of times stiffer than the members of a light frame, so the exact value does not matter. What matters is that a lone
/// weld turns easily about its own line and about nothing else.
pub(crate) fn weld_stiffness(material: &Material, length_mm: f64, throat_mm: f64) -> [f64; 6] {
    let gauge_mm = 5.0 * throat_mm;
    let normal = material.youngs_modulus_mpa * throat_mm * length_mm / gauge_mm;
    let shear = material.shear_modulus_mpa() * throat_mm * length_mm / gauge_mm;
    let lever = length_mm * length_mm / 12.0;
    let hinge = normal * throat_mm * throat_mm / 12.0;
    [shear, normal, shear, hinge, shear * lever, normal * lever]
}

/// The force across a weld at which it or the wall beside it yields, N.
pub(crate) fn yield_force_n(material: &Material, length_mm: f64, throat_mm: f64) -> f64 {
    material.yield_mpa * throat_mm * length_mm
}
