//! The compliance among the joints as the frame is now, and how later tendons move them, six rows to a joint.
//!
//! A joint that is not needed any more is eliminated: its rows stay as they are and no later update goes into them.
//!
//! The algebra (M. A. Woodbury, *Inverting modified matrices*, Princeton 1950; Sherman and Morrison, *Ann. Math.
//! Statist.* 21 (1950) 124): stiffness K, without force at the moment it is added to a joint, changes the compliance G
//! to G − C M Cᵀ, with the joint's six columns C, its own block S of G and M = K (1 + S K)⁻¹. A tack that melts is a
//! negative K.

use super::updates::{Update, multiply, row_times_column, subtract_updates};
use crate::algebra::{Matrix6, Vector6, inverse, plus_identity, product};
use crate::movement::model::compliance_block::{COLUMNS, ComplianceBlock, ZERO};
use crate::movement::model::reduced_compliance::ReducedCompliance;
use std::ops::Range;

/// The number of changes of stiffness that are kept back and then go into each row together. That needs less memory
/// traffic than going through all rows after each weld.
const BATCH: usize = 3;

/// The two tendons of a segment that pull later: the coordinate of the first, and the force in each, N.
pub(super) type Tendons = (usize, [f64; 2]);

/// What is not eliminated.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Active {
    /// The number of joints, from the first.
    pub(super) joints: usize,
    /// The tendons from this one on.
    pub(super) first_tendon: usize,
}

/// The compliance of the joints of a build.
#[derive(Clone, Debug)]
pub(super) struct FrontalCompliance {
    /// Row after row: the blocks of the tendons, then those of the joints up to and including its own.
    blocks: Vec<ComplianceBlock>,
    /// Where the row of each joint begins, and where the last one ends.
    begin: Vec<usize>,
    /// Blocks of tendons in each row.
    tendon_blocks: usize,
    active: Active,
    /// The first `pending` of these are not in the rows yet.
    updates: [Update; BATCH],
    pending: usize,
    scratch: Vec<ComplianceBlock>,
}

/// A change of the stiffness of a joint: its own compliance before it, S, and M.
pub(super) struct StiffnessChange {
    pub(super) own: Matrix6,
    pub(super) inner: Matrix6,
}

impl FrontalCompliance {
    /// The compliance over `coordinates`, six to a joint, before the first weld.
    pub(super) fn new(
        compliance: &ReducedCompliance,
        coordinates: &[[usize; 6]],
        tendons: &[Tendons],
    ) -> Self {
        let joints = coordinates.len();
        let tendon_blocks = tendons.len().div_ceil(COLUMNS);
        let wide = |joints: usize| tendon_blocks + (6 * joints).div_ceil(COLUMNS);
        let mut begin = vec![0];
        for joint in 0..joints {
            begin.push(begin[joint] + wide(joint + 1));
        }
        let mut blocks = vec![ZERO; begin[joints]];
        for (joint, six) in coordinates.iter().enumerate() {
            let row = &mut blocks[begin[joint]..begin[joint + 1]];
            for (r, &coordinate) in six.iter().enumerate() {
                let from = compliance.row(coordinate);
                for (p, &(tendon, force)) in tendons.iter().enumerate() {
                    row[p / COLUMNS][r][p % COLUMNS] =
                        force[0] * from[tendon] + force[1] * from[tendon + 1];
                }
                let others = coordinates[..=joint].as_flattened();
                for (block, others) in row[tendon_blocks..].iter_mut().zip(others.chunks(COLUMNS)) {
                    for (entry, &other) in block[r].iter_mut().zip(others) {
                        *entry = from[other];
                    }
                }
            }
        }
        let columns = wide(joints);
        Self {
            blocks,
            begin,
            tendon_blocks,
            active: Active {
                joints,
                first_tendon: 0,
            },
            updates: std::array::from_fn(|_| Update {
                columns: vec![ZERO; columns],
                weights: vec![[[0.0; 6]; 6]; joints],
            }),
            pending: 0,
            scratch: vec![ZERO; columns],
        }
    }

    /// The number of joints that are not eliminated: they come first.
    pub(super) fn active_joints(&self) -> usize {
        self.active.joints
    }

    /// Adds stiffness to a joint, without force as the joint is now.
    pub(super) fn add_stiffness(&mut self, joint: usize, change: &Matrix6) -> StiffnessChange {
        if self.pending == BATCH {
            self.apply_pending();
        }
        self.copy_columns(joint);
        let own: Matrix6 = std::array::from_fn(|i| {
            let (block, lane) = ((6 * joint + i) / COLUMNS, (6 * joint + i) % COLUMNS);
            let block = &self.updates[self.pending].columns[self.tendon_blocks + block];
            std::array::from_fn(|j| block[j][lane])
        });
        let inner = product(change, &inverse(&plus_identity(&product(&own, change))));
        let update = &mut self.updates[self.pending];
        let used = (6 * self.active.joints).div_ceil(COLUMNS);
        let weighted = &mut self.scratch[..used];
        multiply(
            &update.columns[self.tendon_blocks..][..used],
            &inner,
            weighted,
        );
        to_joints(weighted, &mut update.weights[..self.active.joints]);
        self.pending += 1;
        StiffnessChange { own, inner }
    }

    /// Copies the columns of a joint over all active joints and tendons into the next update, with all pending updates.
    fn copy_columns(&mut self, joint: usize) {
        let (before, rest) = self.updates.split_at_mut(self.pending);
        let [update, ..] = rest else { return };
        let own = &self.blocks[self.begin[joint]..self.begin[joint + 1]];
        update.columns[..own.len()].copy_from_slice(own);
        for other in joint + 1..self.active.joints {
            let row = &self.blocks[self.begin[other] + self.tendon_blocks..];
            for k in 0..6 {
                let (block, lane) = ((6 * joint + k) / COLUMNS, (6 * joint + k) % COLUMNS);
                for (r, from) in row[block].iter().enumerate() {
                    let at = 6 * other + r;
                    update.columns[self.tendon_blocks + at / COLUMNS][k][at % COLUMNS] = from[lane];
                }
            }
        }
        let first = self.active.first_tendon / COLUMNS;
        let used = (6 * self.active.joints).div_ceil(COLUMNS);
        let columns = &mut update.columns[first..self.tendon_blocks + used];
        subtract_updates(columns, first, before, joint);
    }

    /// Eliminates the joints and tendons that are not needed any more.
    pub(super) fn eliminate_all_but(&mut self, active: Active) {
        self.active.first_tendon = active.first_tendon;
        self.update_rows(active.joints..self.active.joints);
        self.active.joints = active.joints;
    }

    /// Puts all pending updates into the rows of the active joints.
    pub(super) fn apply_pending(&mut self) {
        self.update_rows(0..self.active.joints);
        self.pending = 0;
    }

    /// Puts all pending updates into the rows of some joints.
    fn update_rows(&mut self, joints: Range<usize>) {
        let first = self.active.first_tendon / COLUMNS;
        for joint in joints {
            let row = &mut self.blocks[self.begin[joint] + first..self.begin[joint + 1]];
            subtract_updates(row, first, &self.updates[..self.pending], joint);
        }
    }

    /// Adds to `moved` how the tendons of a segment move the joints.
    pub(super) fn pull(&self, tendons: usize, moved: &mut [Vector6]) {
        let (block, lane) = (tendons / COLUMNS, tendons % COLUMNS);
        let updates = &self.updates[..self.pending];
        for (joint, moved) in moved[..self.active.joints].iter_mut().enumerate() {
            let mut pulled = self.blocks[self.begin[joint] + block].map(|row| row[lane]);
            for update in updates {
                for (weights, column) in update.weights[joint].iter().zip(&update.columns[block]) {
                    for (pulled, weight) in pulled.iter_mut().zip(weights) {
                        *pulled -= weight * column[lane];
                    }
                }
            }
            moved.iter_mut().zip(pulled).for_each(|(m, p)| *m += p);
        }
    }

    /// Subtracts the columns of the last update times `pushed` from `moved`.
    pub(super) fn push(&self, pushed: &Vector6, moved: &mut [Vector6]) {
        let Some(last) = self.updates[..self.pending].last() else {
            return;
        };
        let moved = moved[..self.active.joints]
            .as_flattened_mut()
            .chunks_mut(COLUMNS);
        for (moved, columns) in moved.zip(&last.columns[self.tendon_blocks..]) {
            for (column, push) in columns.iter().zip(pushed) {
                for (moved, entry) in moved.iter_mut().zip(column) {
                    *moved -= entry * push;
                }
            }
        }
    }

    /// A column of zeros to multiply rows with: an entry for each tendon pair, then for each coordinate of a joint.
    pub(super) fn column(&self) -> Vec<[f64; COLUMNS]> {
        vec![[0.0; COLUMNS]; self.scratch.len()]
    }

    /// Where the coordinates of a joint begin in such a column.
    pub(super) fn column_of_joint(&self, joint: usize) -> usize {
        COLUMNS * self.tendon_blocks + 6 * joint
    }

    /// The rows of a joint times a column, whose entries for later joints must be zero.
    pub(super) fn row_times(&self, joint: usize, column: &[[f64; COLUMNS]]) -> Vector6 {
        row_times_column(
            &self.blocks[self.begin[joint]..self.begin[joint + 1]],
            column,
        )
    }

    /// Compliance between two coordinates of joints.
    pub(super) fn entry(&self, i: usize, j: usize) -> f64 {
        let (i, j) = (i.max(j), i.min(j));
        self.blocks[self.begin[i / 6] + self.tendon_blocks + j / COLUMNS][i % 6][j % COLUMNS]
    }

    /// Adds a spring on a coordinate, without force as the frame is now (Sherman and Morrison). Only the compliance among
    /// the first `size` coordinates is updated.
    pub(super) fn add_spring(&mut self, at: usize, stiffness: f64, size: usize) {
        let column: Vec<f64> = (0..size).map(|i| self.entry(i, at)).collect();
        let pivot = 1.0 / stiffness + column[at];
        for i in 0..size {
            let row = &mut self.blocks[self.begin[i / 6] + self.tendon_blocks..];
            for j in 0..size.min(6 * (i / 6) + 6) {
                row[j / COLUMNS][i % 6][j % COLUMNS] -= column[i] * column[j] / pivot;
            }
        }
    }
}

/// Regroups rows of eight columns into joints of six: three blocks hold four joints.
fn to_joints(blocks: &[ComplianceBlock], joints: &mut [Matrix6]) {
    let mut row = [0.0; 3 * COLUMNS];
    for (joints, blocks) in joints.chunks_mut(4).zip(blocks.chunks(3)) {
        for k in 0..6 {
            for (eight, block) in row.chunks_exact_mut(COLUMNS).zip(blocks) {
                eight.copy_from_slice(&block[k]);
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
    /// Five joints and a pair of tendons.
    const SIZE: usize = 6 * JOINTS + 2;

    /// Compliance that dies away along a row of coordinates: symmetric and positive.
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

    fn new_compliance() -> FrontalCompliance {
        let coordinates: Vec<[usize; 6]> = (0..JOINTS)
            .map(|joint| std::array::from_fn(|k| 6 * joint + k))
            .collect();
        let pull = (6 * JOINTS, [2.0, -0.5]);
        FrontalCompliance::new(
            &ReducedCompliance::new(&Vec::from_iter(0..SIZE), SIZE, compliance()),
            &coordinates,
            &[pull],
        )
    }

    /// More changes than are kept back, some to a joint that was changed before.
    const CHANGED: [usize; 7] = [3, 0, 4, 3, 1, 0, 2];

    #[test]
    fn the_compliance_is_in_equilibrium_with_every_stiffness_added() {
        let mut frontal = new_compliance();
        let mut added = [[[0.0; 6]; 6]; JOINTS];
        for (change, joint) in CHANGED.into_iter().enumerate() {
            let stiffness = stiffness(change);
            frontal.add_stiffness(joint, &stiffness);
            for (sum, row) in added[joint].iter_mut().zip(stiffness) {
                sum.iter_mut().zip(row).for_each(|(s, k)| *s += k);
            }
        }
        let mut pulled = [[0.0; 6]; JOINTS];
        frontal.pull(0, &mut pulled);
        frontal.apply_pending();
        // A unit force on j moves i by G(i, j); the springs respond, and both together move the frame before the changes.
        let before = compliance();
        let unit: Vec<Vec<f64>> = (0..6 * JOINTS)
            .map(|j| (0..6 * JOINTS).map(|i| frontal.entry(i, j)).collect())
            .collect();
        let tendons: Vec<f64> = (0..SIZE)
            .map(|i| 2.0 * before[i * SIZE + 6 * JOINTS] - 0.5 * before[i * SIZE + 6 * JOINTS + 1])
            .collect();
        let pulled = pulled.as_flattened().to_vec();
        let cases = unit
            .iter()
            .enumerate()
            .map(|(j, moved)| (moved, before[j * SIZE..(j + 1) * SIZE].to_vec()))
            .chain([(&pulled, tendons)]);
        for (case, (moved, free)) in cases.enumerate() {
            let response: Vec<f64> = (0..6 * JOINTS)
                .map(|i| dot(&added[i / 6][i % 6], &moved[6 * (i / 6)..][..6]))
                .collect();
            for i in 0..6 * JOINTS {
                let row = &before[i * SIZE..i * SIZE + 6 * JOINTS];
                let expected = free[i] - dot(row, &response);
                assert!(
                    (moved[i] - expected).abs() <= 1e-11,
                    "case {case}, coordinate {i}: {} against {expected}",
                    moved[i]
                );
            }
        }
    }

    #[test]
    fn an_eliminated_joint_stays_as_it_was() {
        let (mut all, mut fewer) = (new_compliance(), new_compliance());
        all.add_stiffness(4, &stiffness(0));
        fewer.add_stiffness(4, &stiffness(0));
        fewer.eliminate_all_but(Active {
            joints: 4,
            first_tendon: 0,
        });
        all.apply_pending();
        for (change, joint) in [0, 2, 1, 3].into_iter().enumerate() {
            fewer.add_stiffness(joint, &stiffness(change));
        }
        fewer.apply_pending();
        for j in 0..6 * JOINTS {
            assert!((fewer.entry(29, j) - all.entry(29, j)).abs() <= 1e-13);
        }
    }
}
