//! The metal of a job, as the rules of shrinkage see it.
//!
//! [`crate::formulas::joint_shrinkage`] says what one weld does as it cools, for the net heat that went into it.

use crate::formulas::joint_shrinkage::JointMetal;
use crate::formulas::shrinkage::{self, ShrinkingMetal};
use crate::material::Material;
use coldsquare_core::formula::FormulaError;
use coldsquare_core::units::{JoulesPerMillimetre, Megapascals};

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

/// The metal of a joint, with its yield stress as a multiple of the least that the material is sold with.
pub(crate) fn joint_metal(material: &Material, yield_factor: f64) -> JointMetal {
    JointMetal {
        metal: metal(material),
        yield_mpa: yield_factor * material.yield_mpa,
        shrinkage_ratio: material.shrinkage_ratio,
    }
}

/// The force across a weld at which it or the wall beside it yields, N.
pub(crate) fn yield_force_n(yield_mpa: f64, length_mm: f64, throat_mm: f64) -> f64 {
    yield_mpa * throat_mm * length_mm
}
