//! How much each segment of weld shrinks, for the heat of its weld and the factors in use.

use super::effect::{angular_rad, tendon_force_n, transverse_mm, yield_force_n};
use super::model::beam_model::SegmentGeometry;
use crate::material::Material;
use crate::shop::factor::Factors;
use coldsquare_core::formula::FormulaError;

/// The shrinkage of every segment of weld of a model.
#[derive(Clone, Debug)]
pub struct Shrinkage {
    /// By index of the segment.
    pub(crate) segments: Vec<SegmentShrinkage>,
}

/// The shrinkage of one segment if it were free, and the force at which it yields.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct SegmentShrinkage {
    pub(crate) transverse_mm: f64,
    /// The greatest force across the weld, N.
    pub(crate) limit_n: f64,
    pub(crate) angular_rad: f64,
    /// Shrinkage force of each of its tendons, N.
    pub(crate) tendons_n: [f64; 2],
}

impl SegmentShrinkage {
    /// For the net heat of the weld, J/mm.
    pub(super) fn new(
        segment: &SegmentGeometry,
        material: &Material,
        heat: f64,
        factors: &Factors,
    ) -> Result<Self, FormulaError> {
        let mut tendons_n = [0.0; 2];
        for (force, tendon) in tendons_n.iter_mut().zip(&segment.tendons) {
            let factor = if tendon.is_longitudinal {
                factors.longitudinal
            } else {
                factors.transverse_strip
            };
            // The heat of the segment is spread over the length on which the tendon pulls.
            let per_length = heat * tendon.share * segment.length_mm / tendon.length_mm;
            *force = factor.value * tendon_force_n(material, per_length)?;
        }
        let angular_rad = if segment.has_open_walls {
            factors.angular.value * angular_rad(material, heat, segment.walls_mm)?
        } else {
            0.0
        };
        Ok(Self {
            limit_n: factors.yield_stress.value
                * yield_force_n(material, segment.length_mm, segment.throat_mm),
            transverse_mm: factors.transverse.value
                * transverse_mm(material, heat, segment.walls_mm)?,
            angular_rad,
            tendons_n,
        })
    }
}
