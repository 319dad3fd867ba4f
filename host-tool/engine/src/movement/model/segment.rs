//! A segment of weld: how it joins a pair of members as they are at that moment, and how it then pulls on them.

use super::beam_model::{BeamModel, SegmentGeometry};
use super::coordinates::ConstraintSpring;
use crate::algebra::{Matrix6, Vector6};
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
    /// Transverse shrinkage, and angular distortion of open walls.
    pub(crate) transverse: ShrinkageMode,
    pub(crate) angular: ShrinkageMode,
    /// Tacks that it melts, by index.
    pub(crate) melted_tacks: Vec<usize>,
}

/// How a segment shrinks: a direction in the six coordinates of its pair, and the segment's own stiffness there.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ShrinkageMode {
    direction: Vector6,
    stiffness: f64,
}

impl ShrinkageMode {
    /// `first` is the first coordinate of the pair.
    pub(crate) fn new(spring: &ConstraintSpring, first: usize) -> Self {
        let mut direction = [0.0; 6];
        for &(coordinate, weight) in &spring.direction {
            direction[coordinate - first] += weight;
        }
        Self {
            direction,
            stiffness: spring.stiffness,
        }
    }

    /// How far a pair with this movement has moved along the mode.
    pub(crate) fn read(&self, moved: &Vector6) -> f64 {
        self.direction.iter().zip(moved).map(|(d, m)| d * m).sum()
    }

    /// The force of a shrinkage on a joint that cannot move, limited so that the weld does not yield. Of a force `pull`,
    /// `pull · (1 − k d·G·d)` is left in the weld after the joint has moved (stiffness k, direction d, compliance G),
    /// and that cannot be more than the limit.
    fn pull(&self, compliance: &Matrix6, shrinkage: f64, limit: f64) -> f64 {
        let d = &self.direction;
        let along: f64 = (0..6)
            .map(|i| d[i] * (0..6).map(|j| compliance[i][j] * d[j]).sum::<f64>())
            .sum();
        let pull = self.stiffness * shrinkage;
        let left = pull * (1.0 - self.stiffness * along);
        if left > limit {
            pull * limit / left
        } else {
            pull
        }
    }
}

/// The stiffness between a pair of members from the springs between them; `first` is the pair's first coordinate.
pub(crate) fn joint_stiffness(springs: &[ConstraintSpring; 6], first: usize) -> Matrix6 {
    let mut sum = [[0.0; 6]; 6];
    for mode in springs
        .iter()
        .map(|spring| ShrinkageMode::new(spring, first))
    {
        for (row, a) in sum.iter_mut().zip(mode.direction) {
            row.iter_mut()
                .zip(mode.direction)
                .for_each(|(entry, b)| *entry += mode.stiffness * a * b);
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

    /// Adds the pull of the cooling weld; `compliance` is that of the pair once it is joined.
    pub(crate) fn cool(
        &self,
        shrinkage: &SegmentShrinkage,
        compliance: &Matrix6,
        joined: &mut JoinedPair,
    ) {
        for (mode, amount, limit) in [
            (&self.transverse, shrinkage.transverse_mm, shrinkage.limit_n),
            (&self.angular, shrinkage.angular_rad, f64::INFINITY),
        ] {
            if amount != 0.0 {
                let pull = mode.pull(compliance, amount, limit);
                joined
                    .force
                    .iter_mut()
                    .zip(&mode.direction)
                    .for_each(|(f, d)| *f -= pull * d);
            }
        }
    }
}

/// The tacks that a segment of weld melts.
pub(crate) fn tacks_under(beams: &BeamModel, segment: &SegmentGeometry) -> Vec<usize> {
    (0..beams.tacks.len())
        .filter(|&t| beams.tacks[t].pair == segment.pair)
        .filter(|&t| {
            let from_middle = beams.tacks[t].at - segment.at;
            let along = from_middle.dot(segment.axes[0]);
            let beside = (from_middle - segment.axes[0] * along).length();
            beside <= TACK_REACH_MM && along.abs() <= segment.length_mm / 2.0 + TACK_REACH_MM
        })
        .collect()
}
