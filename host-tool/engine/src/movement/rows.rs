//! What joints do to each other as the frame stands: the compliance among them, and how later pulls of strips move
//! them, six rows a joint.
//!
//! A joint that is not needed any more is left behind: its rows stay as they are and no later change goes into them.
//!
//! The algebra (M. A. Woodbury, *Inverting modified matrices*, Princeton 1950; Sherman and Morrison, *Ann. Math.
//! Statist.* 21 (1950) 124): stiffness K that is added to a joint without force at that moment changes the compliance G
//! to G − C M Cᵀ, with the joint's six columns C, its own block S of G and M = K (1 + S K)⁻¹. A tack that melts is a K
//! with the other sign.

use super::condensed::Condensed;
use super::matrix6::{self, Matrix6};
use super::update::{NOTHING, Tile, Update, WIDE, take_off, times, weigh};
use std::ops::Range;

/// Changes of stiffness are kept back until there are so many, and then go into each row together, which is kinder to
/// the processor's memory than to run through all rows after each weld.
const BATCH: usize = 3;

/// A pull that comes later: the first of its two strips (a coordinate of the engine), and the force in each.
pub(super) type Pull = (usize, [f64; 2]);

/// What a build still needs.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Needed {
    /// So many joints, from the first.
    pub(super) joints: usize,
    /// The pulls from this one on.
    pub(super) first_pull: usize,
}

/// The rows of all joints.
#[derive(Clone, Debug)]
pub(super) struct Rows {
    /// Row after row: the tiles of the strips, then those of the joints up to and with its own.
    tiles: Vec<Tile>,
    /// Where the row of each joint begins, and where the last one ends.
    begin: Vec<usize>,
    /// Tiles of strips in each row.
    strips: usize,
    needed: Needed,
    /// Changes that the rows do not hold yet: the first `pending` of these.
    updates: [Update; BATCH],
    pending: usize,
    scratch: Vec<Tile>,
}

/// A change of the stiffness of a joint: its own compliance before it, S, and M.
pub(super) struct Change {
    pub(super) own: Matrix6,
    pub(super) inner: Matrix6,
}

impl Rows {
    /// The rows of `coordinates`, six a joint, before the first weld.
    pub(super) fn new(condensed: &Condensed, coordinates: &[[usize; 6]], pulls: &[Pull]) -> Self {
        let joints = coordinates.len();
        let strips = pulls.len().div_ceil(WIDE);
        let wide = |joints: usize| strips + (6 * joints).div_ceil(WIDE);
        let mut begin = vec![0];
        for joint in 0..joints {
            begin.push(begin[joint] + wide(joint + 1));
        }
        let mut tiles = vec![NOTHING; begin[joints]];
        for (joint, six) in coordinates.iter().enumerate() {
            let row = &mut tiles[begin[joint]..begin[joint + 1]];
            for (r, &coordinate) in six.iter().enumerate() {
                let from = condensed.row(coordinate);
                for (p, &(strip, force)) in pulls.iter().enumerate() {
                    row[p / WIDE][r][p % WIDE] =
                        force[0] * from[strip] + force[1] * from[strip + 1];
                }
                let others = coordinates[..=joint].as_flattened();
                for (tile, others) in row[strips..].iter_mut().zip(others.chunks(WIDE)) {
                    for (entry, &other) in tile[r].iter_mut().zip(others) {
                        *entry = from[other];
                    }
                }
            }
        }
        let columns = wide(joints);
        Self {
            tiles,
            begin,
            strips,
            needed: Needed {
                joints,
                first_pull: 0,
            },
            updates: std::array::from_fn(|_| Update {
                columns: vec![NOTHING; columns],
                weights: vec![[[0.0; 6]; 6]; joints],
            }),
            pending: 0,
            scratch: vec![NOTHING; columns],
        }
    }

    /// How many joints are still needed: they come first.
    pub(super) fn needed(&self) -> usize {
        self.needed.joints
    }

    /// Changes the stiffness of a joint.
    pub(super) fn stiffen(&mut self, joint: usize, change: &Matrix6) -> Change {
        if self.pending == BATCH {
            self.settle();
        }
        self.gather(joint);
        let own: Matrix6 = std::array::from_fn(|i| {
            let (tile, lane) = ((6 * joint + i) / WIDE, (6 * joint + i) % WIDE);
            let tile = &self.updates[self.pending].columns[self.strips + tile];
            std::array::from_fn(|j| tile[j][lane])
        });
        let inner = matrix6::times(
            change,
            &matrix6::inverse(&matrix6::plus_one(&matrix6::times(&own, change))),
        );
        let update = &mut self.updates[self.pending];
        let used = (6 * self.needed.joints).div_ceil(WIDE);
        let weighed = &mut self.scratch[..used];
        weigh(&update.columns[self.strips..][..used], &inner, weighed);
        into_sixes(weighed, &mut update.weights[..self.needed.joints]);
        self.pending += 1;
        Change { own, inner }
    }

    /// Copies the rows of a joint over all others that are still needed, with all changes that are pending.
    fn gather(&mut self, joint: usize) {
        let (before, rest) = self.updates.split_at_mut(self.pending);
        let [update, ..] = rest else { return };
        let own = &self.tiles[self.begin[joint]..self.begin[joint + 1]];
        update.columns[..own.len()].copy_from_slice(own);
        for other in joint + 1..self.needed.joints {
            let row = &self.tiles[self.begin[other] + self.strips..];
            for k in 0..6 {
                let (tile, lane) = ((6 * joint + k) / WIDE, (6 * joint + k) % WIDE);
                for (r, from) in row[tile].iter().enumerate() {
                    let at = 6 * other + r;
                    update.columns[self.strips + at / WIDE][k][at % WIDE] = from[lane];
                }
            }
        }
        let first = self.needed.first_pull / WIDE;
        let used = (6 * self.needed.joints).div_ceil(WIDE);
        let columns = &mut update.columns[first..self.strips + used];
        take_off(columns, first, before, joint);
    }

    /// Leaves behind what is not needed any more.
    pub(super) fn leave_all_but(&mut self, needed: Needed) {
        self.needed.first_pull = needed.first_pull;
        self.bring_up_to_date(needed.joints..self.needed.joints);
        self.needed.joints = needed.joints;
    }

    /// Puts all pending changes into the rows that are still needed.
    pub(super) fn settle(&mut self) {
        self.bring_up_to_date(0..self.needed.joints);
        self.pending = 0;
    }

    /// Puts all pending changes into the rows of some joints.
    fn bring_up_to_date(&mut self, joints: Range<usize>) {
        let first = self.needed.first_pull / WIDE;
        for joint in joints {
            let row = &mut self.tiles[self.begin[joint] + first..self.begin[joint + 1]];
            take_off(row, first, &self.updates[..self.pending], joint);
        }
    }

    /// Adds to `moved` how a pull moves the joints.
    pub(super) fn pull(&self, pull: usize, moved: &mut [[f64; 6]]) {
        let (tile, lane) = (pull / WIDE, pull % WIDE);
        let updates = &self.updates[..self.pending];
        for (joint, moved) in moved[..self.needed.joints].iter_mut().enumerate() {
            let mut pulled = self.tiles[self.begin[joint] + tile].map(|row| row[lane]);
            for update in updates {
                for (weights, column) in update.weights[joint].iter().zip(&update.columns[tile]) {
                    for (pulled, weight) in pulled.iter_mut().zip(weights) {
                        *pulled -= weight * column[lane];
                    }
                }
            }
            moved.iter_mut().zip(pulled).for_each(|(m, p)| *m += p);
        }
    }

    /// Takes the columns of the last change times `pushed` off `moved`.
    pub(super) fn push(&self, pushed: &[f64; 6], moved: &mut [[f64; 6]]) {
        let Some(last) = self.updates[..self.pending].last() else {
            return;
        };
        let moved = moved[..self.needed.joints]
            .as_flattened_mut()
            .chunks_mut(WIDE);
        for (moved, columns) in moved.zip(&last.columns[self.strips..]) {
            for (column, push) in columns.iter().zip(pushed) {
                for (moved, entry) in moved.iter_mut().zip(column) {
                    *moved -= entry * push;
                }
            }
        }
    }

    /// A column to multiply rows with: a place for each pull, then for each coordinate of a joint, nothing in them.
    pub(super) fn column(&self) -> Vec<[f64; WIDE]> {
        vec![[0.0; WIDE]; self.scratch.len()]
    }

    /// Where the coordinates of a joint begin in such a column.
    pub(super) fn column_of_joint(&self, joint: usize) -> usize {
        WIDE * self.strips + 6 * joint
    }

    /// The row of a joint times a column, which must have nothing in the places of joints behind it.
    pub(super) fn times(&self, joint: usize, column: &[[f64; WIDE]]) -> [f64; 6] {
        times(
            &self.tiles[self.begin[joint]..self.begin[joint + 1]],
            column,
        )
    }

    /// Compliance between two coordinates of joints, by row of the rows.
    pub(super) fn entry(&self, i: usize, j: usize) -> f64 {
        let (i, j) = (i.max(j), i.min(j));
        self.tiles[self.begin[i / 6] + self.strips + j / WIDE][i % 6][j % WIDE]
    }

    /// A spring on a coordinate, without force as things stand (Sherman and Morrison), for what the first `size`
    /// coordinates do to each other.
    pub(super) fn add_spring(&mut self, at: usize, stiffness: f64, size: usize) {
        let column: Vec<f64> = (0..size).map(|i| self.entry(i, at)).collect();
        let pivot = 1.0 / stiffness + column[at];
        for i in 0..size {
            let row = &mut self.tiles[self.begin[i / 6] + self.strips..];
            for j in 0..size.min(6 * (i / 6) + 6) {
                row[j / WIDE][i % 6][j % WIDE] -= column[i] * column[j] / pivot;
            }
        }
    }
}

/// Puts rows of eights into sixes: three tiles hold four joints.
fn into_sixes(tiles: &[Tile], joints: &mut [Matrix6]) {
    let mut row = [0.0; 3 * WIDE];
    for (joints, tiles) in joints.chunks_mut(4).zip(tiles.chunks(3)) {
        for k in 0..6 {
            for (eight, tile) in row.chunks_exact_mut(WIDE).zip(tiles) {
                eight.copy_from_slice(&tile[k]);
            }
            for (joint, six) in joints.iter_mut().zip(row.chunks_exact(6)) {
                joint[k].copy_from_slice(six);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dot(a: &[f64], b: &[f64]) -> f64 {
        a.iter().zip(b).map(|(a, b)| a * b).sum()
    }

    const JOINTS: usize = 5;
    /// Five joints and one strip of two.
    const SIZE: usize = 6 * JOINTS + 2;

    /// Movements that die away along a row of coordinates: symmetric and positive.
    fn compliance() -> Vec<f64> {
        (0..SIZE * SIZE)
            .map(|k| {
                let (i, j) = (k / SIZE, k % SIZE);
                0.8f64.powi(i.abs_diff(j) as i32) * 0.1 * ((7 + i % 3) * (7 + j % 3)) as f64
            })
            .collect()
    }

    /// A stiffness of its own for each change.
    fn stiffness(change: usize) -> Matrix6 {
        std::array::from_fn(|i| {
            std::array::from_fn(|j| {
                let apart = i.abs_diff(j);
                let sign = if (apart + change).is_multiple_of(2) {
                    0.02
                } else {
                    -0.01
                };
                if i == j {
                    0.3 + 0.1 * change as f64
                } else {
                    sign / apart as f64
                }
            })
        })
    }

    fn rows() -> Rows {
        let coordinates: Vec<[usize; 6]> = (0..JOINTS)
            .map(|joint| std::array::from_fn(|k| 6 * joint + k))
            .collect();
        let pull = (6 * JOINTS, [2.0, -0.5]);
        Rows::new(&Condensed::new(SIZE, compliance()), &coordinates, &[pull])
    }

    /// More changes than are kept back, some of a joint that was changed before.
    const CHANGED: [usize; 7] = [3, 0, 4, 3, 1, 0, 2];

    #[test]
    fn what_the_rows_say_is_in_balance_with_every_stiffness_added() {
        let mut rows = rows();
        let mut added = [[[0.0; 6]; 6]; JOINTS];
        for (change, joint) in CHANGED.into_iter().enumerate() {
            let stiffness = stiffness(change);
            rows.stiffen(joint, &stiffness);
            for (sum, row) in added[joint].iter_mut().zip(stiffness) {
                sum.iter_mut().zip(row).for_each(|(s, k)| *s += k);
            }
        }
        let mut pulled = [[0.0; 6]; JOINTS];
        rows.pull(0, &mut pulled);
        rows.settle();
        // A unit on j moves i by G(i, j); the springs answer, and both together move the frame of before.
        let before = compliance();
        let unit: Vec<Vec<f64>> = (0..6 * JOINTS)
            .map(|j| (0..6 * JOINTS).map(|i| rows.entry(i, j)).collect())
            .collect();
        let strip: Vec<f64> = (0..SIZE)
            .map(|i| 2.0 * before[i * SIZE + 6 * JOINTS] - 0.5 * before[i * SIZE + 6 * JOINTS + 1])
            .collect();
        let pulled = pulled.as_flattened().to_vec();
        let cases = unit
            .iter()
            .enumerate()
            .map(|(j, moved)| (moved, before[j * SIZE..(j + 1) * SIZE].to_vec()))
            .chain([(&pulled, strip)]);
        for (case, (moved, free)) in cases.enumerate() {
            let answer: Vec<f64> = (0..6 * JOINTS)
                .map(|i| dot(&added[i / 6][i % 6], &moved[6 * (i / 6)..][..6]))
                .collect();
            for i in 0..6 * JOINTS {
                let row = &before[i * SIZE..i * SIZE + 6 * JOINTS];
                let expected = free[i] - dot(row, &answer);
                assert!(
                    (moved[i] - expected).abs() <= 1e-11,
                    "case {case}, coordinate {i}: {} against {expected}",
                    moved[i]
                );
            }
        }
    }

    #[test]
    fn a_joint_left_behind_stays_as_it_was() {
        let (mut all, mut fewer) = (rows(), rows());
        all.stiffen(4, &stiffness(0));
        fewer.stiffen(4, &stiffness(0));
        fewer.leave_all_but(Needed {
            joints: 4,
            first_pull: 0,
        });
        all.settle();
        for (change, joint) in [0, 2, 1, 3].into_iter().enumerate() {
            fewer.stiffen(joint, &stiffness(change));
        }
        fewer.settle();
        for j in 0..6 * JOINTS {
            assert!((fewer.entry(29, j) - all.entry(29, j)).abs() <= 1e-13);
        }
    }
}
