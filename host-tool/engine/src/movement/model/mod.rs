//! The model of a job's movement. It is made once and never changes; any number of orders can be simulated on it.
//!
//! The frame is a beam structure (`beam_model`) whose compliance between the `coordinates` is worked out once
//! (`reduced_compliance`). Welds are cut into short segments; `segment` says what each does to the structure.

pub(crate) mod beam_model;
mod check;
pub(crate) mod compliance_block;
mod condense;
pub(crate) mod contraction;
pub(crate) mod coordinates;
pub(crate) mod cut;
pub(crate) mod end;
pub(crate) mod reduced_compliance;
pub(crate) mod restraints;
pub(crate) mod seam_stiffness;
pub(crate) mod seam_wall;
pub(crate) mod segment;
pub(crate) mod weld_part;

use super::error::MovementError;
use super::joint_measures::joint_measures;
use super::measures::{Measure, measures};
use super::shrinkage::{SegmentShrinkage, Shrinkage};
use super::standing_measures::standing_measures;
use crate::algebra::Matrix6;
use crate::formulas::joint_shrinkage::JointCoefficients;
use crate::job::model::Job;
use crate::material::Material;
use crate::shop::factor::Factors;
use crate::structure::{Frame, Probe};
use beam_model::BeamModel;
use compliance_block::ComplianceBlock;
use condense::Solved;
use contraction::Contraction;
use coordinates::{ConstraintSpring, Layout, segment_springs, tack_springs};
use cut::segment_count;
use reduced_compliance::ReducedCompliance;
use restraints::Restraints;
use segment::{Segment, joint_stiffness, tacks_under};
use weld_part::{WeldPart, WeldSegments};

/// The model of one job.
#[derive(Clone, Debug)]
pub struct MovementModel {
    pub(crate) beams: BeamModel,
    material: Material,
    coefficients: JointCoefficients,
    pub(crate) layout: Layout,
    pub(crate) measures: Vec<Measure>,
    pub(crate) compliance: ReducedCompliance,
    /// The rows of the measures over all coordinates that welds push on, six rows to a block.
    pub(crate) observation_matrix: Vec<Vec<ComplianceBlock>>,
    /// The frame before the first weld, and the probe of each coordinate on it.
    pub(crate) tacked_frame: Frame,
    pub(crate) probes: Vec<Probe>,
    /// For each tack its pair of members and what it adds to the stiffness between them.
    pub(crate) tacks: Vec<(usize, Matrix6)>,
    /// By index of the weld.
    pub(crate) weld_segments: Vec<WeldSegments>,
    pub(crate) restraints: Restraints,
}

impl MovementModel {
    /// Solves the structure of a job and reduces it to what welds can do to it.
    ///
    /// # Errors
    /// [`MovementError`] when the job is too large, when a member or weld is impossible, or when nothing restrains a
    /// member before the first weld.
    pub fn new(job: &Job) -> Result<Self, MovementError> {
        Self::with_coefficients(job, &JointCoefficients::FITTED)
    }

    /// As [`MovementModel::new`], with other coefficients of the joints: for fitting them.
    ///
    /// # Errors
    /// As [`MovementModel::new`].
    pub fn with_coefficients(
        job: &Job,
        coefficients: &JointCoefficients,
    ) -> Result<Self, MovementError> {
        Self::build(job, coefficients, true)
    }

    /// For the final shape alone: a simulation on it measures nothing.
    pub(crate) fn of_shape(job: &Job) -> Result<Self, MovementError> {
        Self::build(job, &JointCoefficients::FITTED, false)
    }

    fn build(
        job: &Job,
        coefficients: &JointCoefficients,
        measured: bool,
    ) -> Result<Self, MovementError> {
        check::check(job)?;
        let beams = BeamModel::new(job, coefficients);
        let mut measures = measures(job, &beams);
        measures.extend(joint_measures(job, &beams));
        measures.extend(standing_measures(job, &beams));
        let layout = Layout::new(&beams, measures.len());
        check::check_size(layout)?;
        let tack_springs = springs_of_tacks(job, &beams, layout, coefficients);
        let restraints = Restraints::new(job, layout);
        let Solved {
            compliance,
            frame,
            probes,
        } = condense::condense(job, &beams, &measures, measured, &restraints, &tack_springs)
            .map_err(|error| MovementError::of_structure(job, error))?;
        let tacks = beams
            .tacks
            .iter()
            .zip(&tack_springs)
            .map(|(tack, springs)| {
                let stiffness = joint_stiffness(springs, layout.pair(tack.pair, 0));
                (tack.pair, stiffness)
            });
        let last = if measured {
            layout.size()
        } else {
            layout.measure(0)
        };
        Ok(Self {
            observation_matrix: compliance.blocks(layout.measure(0)..last),
            tacks: tacks.collect(),
            weld_segments: weld_segments(job, &beams, layout, coefficients),
            coefficients: *coefficients,
            beams,
            material: job.material.clone(),
            layout,
            measures,
            compliance,
            tacked_frame: frame,
            probes,
            restraints,
        })
    }

    /// How much each segment shrinks for the net heat of its weld (J/mm, by index of the weld, all runs together).
    ///
    /// # Errors
    /// [`MovementError::Rule`] when a heat or a wall is outside the range of a rule.
    pub fn shrinkage(
        &self,
        net_heat_j_per_mm: &[f64],
        factors: &Factors,
    ) -> Result<Shrinkage, MovementError> {
        self.shrinkage_each(net_heat_j_per_mm, &vec![*factors; self.welds()])
    }

    /// As [`MovementModel::shrinkage`], with factors for each weld by index.
    ///
    /// # Errors
    /// [`MovementError::Rule`] when a heat or a wall is outside the range of a rule.
    pub fn shrinkage_each(
        &self,
        net_heat_j_per_mm: &[f64],
        each: &[Factors],
    ) -> Result<Shrinkage, MovementError> {
        let segments = self.beams.segments.iter().map(|segment| {
            let weld = segment.weld;
            SegmentShrinkage::new(
                segment,
                &self.material,
                net_heat_j_per_mm[weld],
                &each[weld],
                &self.coefficients,
            )
            .map_err(|rule| MovementError::Rule {
                // Weld numbers follow the file order, from 1.
                weld: u16::try_from(weld + 1).unwrap_or(u16::MAX),
                rule,
            })
        });
        Ok(Shrinkage {
            segments: segments.collect::<Result<_, _>>()?,
        })
    }

    /// The measures, in the order of every outcome.
    #[must_use]
    pub fn measures(&self) -> &[Measure] {
        &self.measures
    }

    /// The beam model.
    #[must_use]
    pub const fn beam_model(&self) -> &BeamModel {
        &self.beams
    }

    /// Number of welds.
    #[must_use]
    pub fn welds(&self) -> usize {
        self.weld_segments.len()
    }

    /// The number of segments of a weld, 1 or more.
    #[must_use]
    pub(crate) fn segment_count(&self, weld: usize) -> usize {
        self.weld_segments[weld].count()
    }

    /// The whole of a weld, in the direction as drawn.
    #[must_use]
    pub fn whole_weld(&self, weld: usize) -> WeldPart {
        WeldPart {
            weld,
            segments: 0..self.segment_count(weld),
            reversed: false,
        }
    }

    /// A sequence of whole welds, by index, each in the direction as drawn.
    #[must_use]
    pub fn whole_welds(&self, order: &[usize]) -> Vec<WeldPart> {
        order.iter().map(|&weld| self.whole_weld(weld)).collect()
    }
}

fn springs_of_tacks(
    job: &Job,
    beams: &BeamModel,
    layout: Layout,
    coefficients: &JointCoefficients,
) -> Vec<[ConstraintSpring; 6]> {
    (0..beams.tacks.len())
        .map(|tack| tack_springs(beams, layout, tack, &job.material, coefficients))
        .collect()
}

/// What the segments of each weld do to the structure.
fn weld_segments(
    job: &Job,
    beams: &BeamModel,
    layout: Layout,
    coefficients: &JointCoefficients,
) -> Vec<WeldSegments> {
    let mut segments = vec![Vec::new(); job.welds.len()];
    for (index, geometry) in beams.segments.iter().enumerate() {
        let springs = segment_springs(beams, layout, geometry, &job.material, coefficients);
        let stiffness = joint_stiffness(&springs, layout.pair(geometry.pair, 0));
        let arm = geometry.at - beams.pairs[geometry.pair].at;
        segments[geometry.weld].push(Segment {
            index,
            stiffness,
            contraction: Contraction::new(geometry, arm, &stiffness),
            melted_tacks: tacks_under(beams, geometry),
        });
    }
    job.welds
        .iter()
        .zip(segments)
        .map(|(weld, segments)| WeldSegments {
            joins_at_both_ends: segments.len() > segment_count(job, weld),
            segments,
        })
        .collect()
}
