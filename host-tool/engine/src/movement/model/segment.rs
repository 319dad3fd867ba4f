//! A segment of weld: how it joins a pair of members as they are at that moment, and how it then pulls on them.

use super::beam_model::{BeamModel, SegmentGeometry};
use super::contraction::Contraction;
use super::coordinates::ConstraintSpring;
use crate::algebra::{Matrix6, Vector6, add6};
use crate::movement::shrinkage::SegmentShrinkage;

/// A weld melts the tacks that are this near to it, mm.
const TACK_REACH_MM: f64 = 6.0;

/// What a segment of weld does to the reduced structure.
#[derive(Clone, Debug)]
pub(crate) struct Segment {
    /// Its index in the beam model and in the shrinkage.
    pub(crate) index: usize,
    /// What it adds to the stiffness of its pair.
    pub(crate) stiffness: Matrix6,
    /// How it contracts.
    pub(crate) contraction: Contraction,
    /// Tacks that it melts, by index.
    pub(crate) melted_tacks: Vec<usize>,
}

/// The stiffness between a pair of members from the springs between them; `first` is the pair's first coordinate.
pub(crate) fn joint_stiffness(springs: &[ConstraintSpring; 6], first: usize) -> Matrix6 {
    let mut sum = [[0.0; 6]; 6];
    for spring in springs {
        let mut direction = [0.0; 6];
        for &(coordinate, weight) in &spring.direction {
            direction[coordinate - first] += weight;
        }
        for (row, a) in sum.iter_mut().zip(direction) {
            row.iter_mut()
                .zip(direction)
                .for_each(|(entry, b)| *entry += spring.stiffness * a * b);
        }
    }
    sum
}

/// A change of what joins a pair of members.
#[derive(Clone, Copy, Debug)]
pub(crate) struct JoinedPair {
    /// The change of stiffness, less that of tacks that melt.
    pub(crate) change: Matrix6,
    /// The force on the pair as it is.
    pub(crate) force: Vector6,
    moved_before: Vector6,
}

impl JoinedPair {
    /// A stiffness that is without force where the pair is now (`moved_before`), and a force.
    pub(crate) const fn new(change: Matrix6, force: Vector6, moved_before: Vector6) -> Self {
        Self {
            change,
            force,
            moved_before,
        }
    }

    /// The force that the springs put on the pair when its movement is zero.
    pub(crate) fn force_at_zero(&self) -> Vector6 {
        std::array::from_fn(|i| {
            let row = &self.change[i];
            row.iter()
                .zip(&self.moved_before)
                .map(|(k, u)| k * u)
                .sum::<f64>()
                + self.force[i]
        })
    }
}

impl Segment {
    /// Joins a pair that has moved by `moved_before`. The weld is without force at that moment; a tack that melts loses
    /// the force that it held.
    pub(crate) fn join(
        &self,
        moved_before: Vector6,
        tacks: &[(usize, Matrix6)],
        melted: &mut [bool],
    ) -> JoinedPair {
        let mut joined = JoinedPair::new(self.stiffness, [0.0; 6], moved_before);
        for &tack in &self.melted_tacks {
            if !std::mem::replace(&mut melted[tack], true) {
                for (i, row) in tacks[tack].1.iter().enumerate() {
                    for (j, entry) in row.iter().enumerate() {
                        joined.change[i][j] -= entry;
                        joined.force[i] += entry * moved_before[j];
                    }
                }
            }
        }
        joined
    }

    /// Adds the pull of the cooling weld; `compliance` is that of the pair once it is joined, `reversed` whether the
    /// torch went against the direction as drawn.
    ///
    /// Edges that stand apart first swell into the gap, so they close by more.
    pub(crate) fn cool(
        &self,
        shrinkage: &SegmentShrinkage,
        compliance: &Matrix6,
        reversed: bool,
        joined: &mut JoinedPair,
    ) {
        let Contraction {
            closing,
            turning,
            tilting,
            ..
        } = &self.contraction;
        let gap_mm = self.contraction.opening_mm(&joined.moved_before).max(0.0);
        let closes_mm = shrinkage.closing_mm + shrinkage.closing_into_gap_mm.min(gap_mm);
        let tilts = if reversed {
            -shrinkage.tilting_rad
        } else {
            shrinkage.tilting_rad
        };
        let mut pull = [0.0; 6];
        closing.add_force(
            closing.limited(closes_mm, compliance, shrinkage.limit_n),
            &mut pull,
        );
        turning.add_force(shrinkage.turning_rad, &mut pull);
        tilting.add_force(tilts, &mut pull);
        add6(&mut joined.force, &pull);
    }
}

/// The tacks that a segment of weld melts.
pub(crate) fn tacks_under(beams: &BeamModel, segment: &SegmentGeometry) -> Vec<usize> {
    (0..beams.tacks.len())
        .filter(|&t| beams.tacks[t].pair == segment.pair)
        .filter(|&t| {
            let from_middle = beams.tacks[t].at - segment.at;
            let along = from_middle.dot(segment.line);
            let beside = (from_middle - segment.line * along).length();
            beside <= TACK_REACH_MM && along.abs() <= segment.length_mm / 2.0 + TACK_REACH_MM
        })
        .collect()
}
