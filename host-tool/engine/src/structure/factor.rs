//! Cholesky's factor of a sparse symmetric matrix of six by six blocks.

use super::block::{Block, Lanes, Six};
use super::ordering::Pattern;

/// A factorised stiffness matrix.
pub(super) struct Factor {
    pattern: Pattern,
    diagonal: Vec<Block>,
    below: Vec<Block>,
    soft: Vec<Soft>,
}

/// An unknown whose pivot is so small that it may be nothing but rounding.
#[derive(Clone, Copy, Debug)]
pub(super) struct Soft {
    pub node: usize,
    pub component: usize,
    /// The pivot: the stiffness against the motion that [`Factor::softest_motion`] gives.
    pub pivot: f64,
    /// The pivot as a part of the diagonal before elimination.
    pub part: f64,
    /// Place in the order of elimination.
    pub place: usize,
    /// The pivot could not be divided by; the unknown was taken as held.
    pub pinned: bool,
}

/// Pivots below this part of the diagonal are suspects: large loose frames leave up to 1e-10 of rounding.
const SOFT: f64 = 1e-8;
/// Pivots below this part of the diagonal are not divided by.
const PINNED: f64 = 1e-15;

/// A stiffness matrix being put together.
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

    /// Adds the block of row `a` and column `b`, and its mirror image; `a` and `b` differ.
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

    /// Holds the unknowns marked: their rows and columns become those of a spring on its own.
    pub(super) fn hold(&mut self, held: &[[bool; 6]]) {
        let Self {
            pattern,
            diagonal,
            below,
        } = self;
        let at = |k: usize| &held[pattern.node_at[k]];
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

    /// Factorises; what may be loose is noted, not refused.
    pub(super) fn factor(self) -> Factor {
        let Self {
            pattern,
            mut diagonal,
            mut below,
        } = self;
        let before: Vec<Six> = diagonal
            .iter()
            .map(|block| std::array::from_fn(|i| block.at(i, i)))
            .collect();
        let mut soft = Vec::new();
        for k in 0..diagonal.len() {
            let mut held = 0;
            diagonal[k].factor(|component, pivot| {
                let pinned = pivot.is_nan() || pivot <= PINNED * before[k][component];
                if pinned || pivot < SOFT * before[k][component] {
                    let part = pivot / before[k][component];
                    let (node, place) = (pattern.node_at[k], 6 * k + component);
                    soft.push(Soft {
                        node,
                        component,
                        pivot,
                        part,
                        place,
                        pinned,
                    });
                }
                held |= u8::from(pinned) << component;
                !pinned
            });
            let own = pattern.start[k]..pattern.start[k + 1];
            for block in own.clone() {
                below[block].divide(&diagonal[k], held);
            }
            // What is left of the matrix lies in later columns, and so behind this one.
            let (done, rest) = below.split_at_mut(own.end);
            for i in own.clone() {
                let (column, by) = (pattern.rows[i], &done[i]);
                diagonal[column].subtract_product(by, by);
                // Every later row of this column is also a row of that one: walk both lists.
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
            soft,
        }
    }
}

impl Factor {
    /// Unknowns that may be loose, in order of elimination.
    pub(super) fn soft(&self) -> &[Soft] {
        &self.soft
    }

    /// Displacements of all nodes for forces on all nodes, in place, for several load cases at once; nodes held
    /// completely give zero.
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
            self.diagonal[k].forward(own);
            for i in self.pattern.start[k]..self.pattern.start[k + 1] {
                self.below[i].subtract_times(own, &mut rest[self.pattern.rows[i] - k - 1]);
            }
        }
        self.back(&mut x);
        self.scatter(&x, values);
    }

    /// The motion in which a soft unknown moves by one, those eliminated before it as they like, and those after it
    /// not at all.
    pub(super) fn softest_motion(&self, soft: &Soft) -> Vec<Six> {
        let mut x = vec![[[0.0]; 6]; self.pattern.node_at.len()];
        if let Some(k) = self.pattern.position[soft.node] {
            x[k][soft.component] = [self.diagonal[k].at(soft.component, soft.component)];
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
