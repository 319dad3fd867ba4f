//! Sparse Cholesky factorisation of a symmetric matrix of six by six blocks.

use super::block::{Block, Lanes};
use super::ordering::Pattern;
use crate::algebra::Vector6;

/// A factorised stiffness matrix.
pub(super) struct Factor {
    pattern: Pattern,
    diagonal: Vec<Block>,
    below: Vec<Block>,
    small_pivots: Vec<SmallPivot>,
}

/// An unknown with a near-zero pivot, which may be nothing but rounding.
#[derive(Clone, Copy, Debug)]
pub(super) struct SmallPivot {
    pub node: usize,
    pub component: usize,
    /// The pivot: the stiffness against [`Factor::motion`], N/mm or N·mm/rad.
    pub pivot: f64,
    /// The pivot as a share of the diagonal before elimination.
    pub share: f64,
    /// Its place in the order of elimination.
    pub place: usize,
    /// The pivot is too small to divide by; the unknown was treated as fixed.
    pub singular: bool,
}

/// Pivots below this share of the diagonal are suspects: rounding leaves up to 1e-10 in large frames that are
/// mechanisms.
const SUSPECT: f64 = 1e-8;
/// Pivots below this share of the diagonal are not divided by.
const SINGULAR: f64 = 1e-15;

/// A stiffness matrix that is being assembled.
pub(super) struct Matrix {
    pattern: Pattern,
    diagonal: Vec<Block>,
    below: Vec<Block>,
}

impl Matrix {
    pub(super) fn new(pattern: Pattern) -> Self {
        let (nodes, blocks) = (pattern.node_at.len(), pattern.rows.len());
        Self {
            pattern,
            diagonal: vec![Block::ZERO; nodes],
            below: vec![Block::ZERO; blocks],
        }
    }

    /// Adds a block on the diagonal.
    pub(super) fn add_own(&mut self, node: usize, block: &Block) {
        if let Some(k) = self.pattern.position[node] {
            self.diagonal[k].add(block);
        }
    }

    /// Adds the block of row `a` and column `b`, and its transpose on the other side; `a` and `b` differ.
    pub(super) fn add_between(&mut self, a: usize, b: usize, block: &Block) {
        let (Some(i), Some(j)) = (self.pattern.position[a], self.pattern.position[b]) else {
            return;
        };
        let (row, column) = (i.max(j), i.min(j));
        if let Some(k) = self.pattern.find(row, column) {
            if i > j {
                self.below[k].add(block)
            } else {
                self.below[k].add(&block.transposed())
            }
        }
    }

    /// Fixes the marked unknowns: their rows and columns become those of the unit matrix.
    pub(super) fn fix(&mut self, fixed: &[[bool; 6]]) {
        let Self {
            pattern,
            diagonal,
            below,
        } = self;
        let at = |k: usize| &fixed[pattern.node_at[k]];
        for (k, own) in diagonal.iter_mut().enumerate() {
            own.clear(at(k), at(k));
            (0..6)
                .filter(|c| at(k)[*c])
                .for_each(|c| own.set(c, c, 1.0));
            let own = pattern.start[k]..pattern.start[k + 1];
            for (block, row) in below[own.clone()].iter_mut().zip(&pattern.rows[own]) {
                block.clear(at(*row), at(k));
            }
        }
    }

    /// Factorises; near-zero pivots are noted, not refused.
    pub(super) fn factor(self) -> Factor {
        let Self {
            pattern,
            mut diagonal,
            mut below,
        } = self;
        let before: Vec<Vector6> = diagonal
            .iter()
            .map(|block| std::array::from_fn(|i| block.at(i, i)))
            .collect();
        let mut small_pivots = Vec::new();
        for k in 0..diagonal.len() {
            let mut fixed = 0;
            diagonal[k].factor(|component, pivot| {
                let singular = pivot.is_nan() || pivot <= SINGULAR * before[k][component];
                if singular || pivot < SUSPECT * before[k][component] {
                    let share = pivot / before[k][component];
                    let (node, place) = (pattern.node_at[k], 6 * k + component);
                    small_pivots.push(SmallPivot {
                        node,
                        component,
                        pivot,
                        share,
                        place,
                        singular,
                    });
                }
                fixed |= u8::from(singular) << component;
                !singular
            });
            let own = pattern.start[k]..pattern.start[k + 1];
            for block in own.clone() {
                below[block].divide(&diagonal[k], fixed);
            }
            // The rest of the matrix lies in later columns, behind this one.
            let (done, rest) = below.split_at_mut(own.end);
            for i in own.clone() {
                let (column, by) = (pattern.rows[i], &done[i]);
                diagonal[column].subtract_product(by, by);
                // Every later row of this column is also a row of that one: go through both lists together.
                let mut target = pattern.start[column];
                for (row, from) in pattern.rows[..own.end].iter().zip(done.iter()).skip(i + 1) {
                    while pattern.rows[target] != *row {
                        target += 1;
                    }
                    rest[target - own.end].subtract_product(from, by);
                }
            }
        }
        Factor {
            pattern,
            diagonal,
            below,
            small_pivots,
        }
    }
}

impl Factor {
    /// Unknowns with near-zero pivots, in order of elimination.
    pub(super) fn small_pivots(&self) -> &[SmallPivot] {
        &self.small_pivots
    }

    /// Turns forces on all nodes into displacements, in place, for `N` load cases at once; fixed nodes get zero.
    pub(super) fn solve<const N: usize>(&self, values: &mut [Lanes<N>]) {
        let mut x: Vec<Lanes<N>> = self
            .pattern
            .node_at
            .iter()
            .map(|node| values[*node])
            .collect();
        for k in 0..x.len() {
            let (done, rest) = x.split_at_mut(k + 1);
            let own = &mut done[k];
            // A force moves only what is eliminated after its nodes: most of the way down there is nothing yet.
            if own.as_flattened().iter().all(|value| *value == 0.0) {
                continue;
            }
            self.diagonal[k].forward(own);
            for i in self.pattern.start[k]..self.pattern.start[k + 1] {
                self.below[i].subtract_times(own, &mut rest[self.pattern.rows[i] - k - 1]);
            }
        }
        self.back(&mut x);
        self.scatter(&x, values);
    }

    /// The motion that belongs to a near-zero pivot: its unknown moves by 1, those eliminated before it move freely and
    /// those after it not at all.
    pub(super) fn motion(&self, small: &SmallPivot) -> Vec<Vector6> {
        let mut x = vec![[[0.0]; 6]; self.pattern.node_at.len()];
        if let Some(k) = self.pattern.position[small.node] {
            x[k][small.component] = [self.diagonal[k].at(small.component, small.component)];
        }
        self.back(&mut x);
        let mut moved = vec![[[0.0]; 6]; self.pattern.position.len()];
        self.scatter(&x, &mut moved);
        moved
            .into_iter()
            .map(|six| six.map(|[value]| value))
            .collect()
    }

    fn back<const N: usize>(&self, x: &mut [Lanes<N>]) {
        for k in (0..x.len()).rev() {
            let (before, rest) = x.split_at_mut(k + 1);
            let own = &mut before[k];
            for i in self.pattern.start[k]..self.pattern.start[k + 1] {
                self.below[i].subtract_transposed_times(&rest[self.pattern.rows[i] - k - 1], own);
            }
            self.diagonal[k].backward(own);
        }
    }

    fn scatter<const N: usize>(&self, x: &[Lanes<N>], values: &mut [Lanes<N>]) {
        values.fill([[0.0; N]; 6]);
        self.pattern
            .node_at
            .iter()
            .zip(x)
            .for_each(|(node, v)| values[*node] = *v);
    }
}
