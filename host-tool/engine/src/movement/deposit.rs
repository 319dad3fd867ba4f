//! One piece of weld: how it joins a pair of members where they stand, and how it then pulls on them.

use super::coordinates::Tie;
use super::engine::SeamShrinkage;
use super::frame::{FrameModel, Seam};
use super::matrix6::Matrix6;

/// A tack is taken up by a weld that comes this near to it, mm.
const TACK_REACH_MM: f64 = 6.0;

/// What laying one piece of weld means for the condensed structure.
#[derive(Clone, Debug)]
pub(super) struct Deposit {
    pub(super) seam: usize,
    /// What it adds to the stiffness of its pair.
    pub(super) stiffness: Matrix6,
    /// The way in which it closes the joint, and the way in which it turns open walls.
    pub(super) across: Way,
    pub(super) turn: Way,
    /// Tacks it runs over, by index.
    pub(super) melted: Vec<usize>,
}

/// One way in which a weld shrinks: its direction in the six coordinates of the pair, and its own stiffness there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    direction: [f64; 6],
    stiffness: f64,
}

impl Way {
    /// How far a pair that has moved so has moved along this way.
    pub(super) fn read(&self, moved: &[f64; 6]) -> f64 {
        self.direction.iter().zip(moved).map(|(d, m)| d * m).sum()
    }

    pub(super) fn of(tie: &Tie, first: usize) -> Self {
        let mut direction = [0.0; 6];
        for &(coordinate, weight) in &tie.direction {
            direction[coordinate - first] += weight;
        }
        Self {
            direction,
            stiffness: tie.stiffness,
        }
    }

    /// The force with which a shrinkage pulls its ends together before anything gives, less where the weld would
    /// yield: what stays in it after the joint has given is `pull · (1 − k d·G·d)`, and that cannot pass the limit.
    fn pull(&self, compliance: &Matrix6, shrinkage: f64, limit: f64) -> f64 {
        let d = &self.direction;
        let along: f64 = (0..6)
            .map(|i| d[i] * (0..6).map(|j| compliance[i][j] * d[j]).sum::<f64>())
            .sum();
        let pull = self.stiffness * shrinkage;
        let stays = pull * (1.0 - self.stiffness * along);
        if stays > limit {
            pull * limit / stays
        } else {
            pull
        }
    }
}

/// The sum of ties as one stiffness of their pair.
pub(super) fn stiffness(ties: &[Tie; 6], first: usize) -> Matrix6 {
    let mut sum = [[0.0; 6]; 6];
    for way in ties.iter().map(|tie| Way::of(tie, first)) {
        for (row, a) in sum.iter_mut().zip(way.direction) {
            row.iter_mut()
                .zip(way.direction)
                .for_each(|(entry, b)| *entry += way.stiffness * a * b);
        }
    }
    sum
}

/// What a piece of weld does to its pair.
#[derive(Clone, Copy, Debug)]
pub(super) struct Joining {
    /// What it adds to the stiffness of the pair, tacks that it melts taken off.
    pub(super) change: Matrix6,
    /// The force on the pair as it stands.
    pub(super) force: [f64; 6],
    before: [f64; 6],
}

impl Joining {
    /// Stiffness and a force that come to a pair that has moved by `before`; the stiffness is without force there.
    pub(super) const fn new(change: Matrix6, force: [f64; 6], before: [f64; 6]) -> Self {
        Self {
            change,
            force,
            before,
        }
    }

    /// The force that its springs put on the pair where the pair stands at zero.
    pub(super) fn at_zero(&self) -> [f64; 6] {
        std::array::from_fn(|i| {
            let row = &self.change[i];
            row.iter()
                .zip(&self.before)
                .map(|(k, u)| k * u)
                .sum::<f64>()
                + self.force[i]
        })
    }
}

impl Deposit {
    /// Joins a pair that has moved by `before`: the weld comes without force as things stand; a tack that melts lets
    /// go of what it held.
    pub(super) fn join(
        &self,
        before: [f64; 6],
        tacks: &[(usize, Matrix6)],
        melted: &mut [bool],
    ) -> Joining {
        let mut joining = Joining::new(self.stiffness, [0.0; 6], before);
        for &tack in &self.melted {
            if !std::mem::replace(&mut melted[tack], true) {
                for (i, row) in tacks[tack].1.iter().enumerate() {
                    for (j, entry) in row.iter().enumerate() {
                        joining.change[i][j] -= entry;
                        joining.force[i] += entry * before[j];
                    }
                }
            }
        }
        joining
    }

    /// Adds the pull of the cooling weld, for the compliance of the pair once joined.
    pub(super) fn cool(
        &self,
        shrinks: &SeamShrinkage,
        compliance: &Matrix6,
        joining: &mut Joining,
    ) {
        for (way, shrinkage, limit) in [
            (&self.across, shrinks.closing_mm, shrinks.limit_n),
            (&self.turn, shrinks.turning_rad, f64::INFINITY),
        ] {
            if shrinkage != 0.0 {
                let pull = way.pull(compliance, shrinkage, limit);
                joining
                    .force
                    .iter_mut()
                    .zip(&way.direction)
                    .for_each(|(f, d)| *f -= pull * d);
            }
        }
    }
}

/// The tacks that a seam runs over.
pub(super) fn tacks_under(model: &FrameModel, seam: &Seam) -> Vec<usize> {
    (0..model.tacks.len())
        .filter(|&t| model.tacks[t].pair == seam.pair)
        .filter(|&t| {
            let from_middle = model.tacks[t].at - seam.at;
            let along = from_middle.dot(seam.axes[0]);
            let beside = (from_middle - seam.axes[0] * along).length();
            beside <= TACK_REACH_MM && along.abs() <= seam.length_mm / 2.0 + TACK_REACH_MM
        })
        .collect()
}
