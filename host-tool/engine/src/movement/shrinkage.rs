//! How much each segment of weld shrinks, for the heat of its weld and the factors in use.

use super::effect::{joint_metal, yield_force_n};
use super::model::beam_model::{SegmentGeometry, Tendon, TendonPull};
use super::model::contraction::Closing;
use crate::formulas::joint_shrinkage::{JointCoefficients, JointMetal};
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
    /// How far it closes its joint, mm.
    pub(crate) closing_mm: f64,
    /// How much more it closes where the edges stand apart, at most, mm.
    pub(crate) closing_into_gap_mm: f64,
    /// The greatest force across the weld, N.
    pub(crate) limit_n: f64,
    /// How far it turns the wall that stands on the other, rad.
    pub(crate) turning_rad: f64,
    /// How far it tilts its member towards where it ends, rad.
    pub(crate) tilting_rad: f64,
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
        coefficients: &JointCoefficients,
    ) -> Result<Self, FormulaError> {
        let metal = joint_metal(material, factors.yield_stress.value);
        let mut tendons_n = [0.0; 2];
        for (force, tendon) in tendons_n.iter_mut().zip(&segment.tendons) {
            *force = tendon_n(
                tendon,
                segment.length_mm,
                heat,
                metal,
                factors,
                coefficients,
            )?;
        }
        let closing = Closing::of(segment);
        let thinnest_mm = segment.walls[0]
            .thickness_mm
            .min(segment.walls[1].thickness_mm);
        let contraction = metal.free_contraction_mm(heat, thinnest_mm)? * closing.per_contraction;
        let free_mm = factors.transverse.value * contraction * segment.covered;
        let corner = coefficients.closing_at_corner;
        let (closes, into_gap) = if closing.is_butt {
            let straight = corner + (1.0 - corner) * closing.in_one_plane;
            (
                coefficients.closing_butt * straight,
                coefficients.closing_into_gap * straight,
            )
        } else {
            let stiff = 1.0 / (1.0 + (closing.softness / coefficients.closing_soft).powi(4));
            (coefficients.closing_fillet * stiff, 0.0)
        };
        let turning_rad = if closing.is_butt {
            0.0
        } else {
            metal.turning_rad(segment.leg_over_wall, coefficients)
        };
        let tilting_rad = if segment.is_inside_corner {
            -metal.folding_rad(coefficients)
        } else if closing.is_butt {
            0.0
        } else {
            let stiff = 1.0 / (1.0 + (closing.softness / coefficients.tilting_soft).powi(2));
            coefficients.tilting * stiff * free_mm / segment.length_mm
        };
        Ok(Self {
            closing_mm: closes * free_mm,
            closing_into_gap_mm: into_gap * free_mm,
            limit_n: yield_force_n(metal.yield_mpa, segment.length_mm, segment.throat_mm),
            turning_rad: factors.angular.value * turning_rad,
            tilting_rad,
            tendons_n,
        })
    }
}

/// The force of a tendon, N.
fn tendon_n(
    tendon: &Tendon,
    length_mm: f64,
    heat: f64,
    metal: JointMetal,
    factors: &Factors,
    coefficients: &JointCoefficients,
) -> Result<f64, FormulaError> {
    let into_wall = heat * tendon.share;
    // A T-beam or a fence may have hundreds of welds in one joint, far apart: only the next few share their steel.
    let neighbours = tendon.neighbours.min(3) as f64;
    let alone = 1.0 / (1.0 + coefficients.crowding * neighbours);
    match tendon.pull {
        TendonPull::Along { gives_per_mm2 } => {
            // The heat of the segment is spread over the length on which the tendon pulls.
            let per_length = into_wall * length_mm / tendon.length_mm;
            let force = metal.tendon_n(per_length, gives_per_mm2, coefficients)?;
            Ok(factors.longitudinal.value * alone * force)
        }
        TendonPull::Across {
            width_mm,
            ends_here,
        } => {
            let pull = metal.strip_n_mm(
                into_wall,
                tendon.thickness_mm,
                width_mm,
                length_mm,
                coefficients,
            )?;
            let share = if ends_here {
                coefficients.strip_end
            } else {
                1.0
            };
            Ok(factors.transverse_strip.value * alone * share * pull / tendon.length_mm)
        }
        TendonPull::Corner {
            modulus_mm3,
            size_mm,
            inside,
        } => {
            let coefficient = if inside {
                coefficients.turning_corner
            } else {
                coefficients.turning_corner_elsewhere
            };
            let free = metal.free_contraction_mm(heat, tendon.thickness_mm)?;
            let turns = 0.5 * coefficient * free / size_mm;
            let modulus = metal.metal.youngs_modulus.0;
            Ok(factors.angular.value * turns * modulus * modulus_mm3 / tendon.length_mm)
        }
    }
}
