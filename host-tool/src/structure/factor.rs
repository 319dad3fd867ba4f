//! Cholesky's factor of a sparse symmetric matrix of six by six blocks.

use super::block::{Block, Six};
use super::ordering::Pattern;

/// A factorised stiffness matrix.
pub(super) struct Factor {
    pattern: Pattern,
    diagonal: Vec<Block>,
    below: Vec<Block>,
    /// Node and component of unknowns that nothing holds, in order of elimination.
    loose: Vec<(usize, usize)>,
}

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

    /// Factorises; what nothing holds is noted, not refused.
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
        let mut loose = Vec::new();
        for k in 0..diagonal.len() {
            let mut pinned = 0;
            diagonal[k].factor(&before[k], |component| {
                loose.push((pattern.node_at[k], component));
                pinned |= 1 << component;
            });
            let own = pattern.start[k]..pattern.start[k + 1];
            for block in own.clone() {
                below[block].divide(&diagonal[k], pinned);
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
            loose,
        }
    }
}

impl Factor {
    pub(super) fn loose(&self) -> &[(usize, usize)] {
        &self.loose
    }

    /// Displacements of all nodes for forces on all nodes, in place; nodes held completely give zero.
    pub(super) fn solve(&self, values: &mut [Six]) {
        let mut x: Vec<Six> = self
            .pattern
            .node_at
            .iter()
            .map(|node| values[*node])
            .collect();
        for k in 0..x.len() {
            let mut own = x[k];
            self.diagonal[k].forward(&mut own);
            x[k] = own;
            for i in self.pattern.start[k]..self.pattern.start[k + 1] {
                let part = self.below[i].times_vector(&own);
                x[self.pattern.rows[i]]
                    .iter_mut()
                    .zip(part)
                    .for_each(|(v, p)| *v -= p);
            }
        }
        self.back(&mut x);
        self.scatter(&x, values);
    }

    /// A motion without resistance in which the given loose unknown moves by one.
    pub(super) fn free_motion(&self, (node, component): (usize, usize), values: &mut [Six]) {
        let mut x = vec![[0.0; 6]; self.pattern.node_at.len()];
        if let Some(k) = self.pattern.position[node] {
            x[k][component] = 1.0;
        }
        self.back(&mut x);
        self.scatter(&x, values);
    }

    fn back(&self, x: &mut [Six]) {
        for k in (0..x.len()).rev() {
            let mut own = x[k];
            for i in self.pattern.start[k]..self.pattern.start[k + 1] {
                let part = self.below[i].transposed_times_vector(&x[self.pattern.rows[i]]);
                own.iter_mut().zip(part).for_each(|(v, p)| *v -= p);
            }
            self.diagonal[k].backward(&mut own);
            x[k] = own;
        }
    }

    fn scatter(&self, x: &[Six], values: &mut [Six]) {
        values.fill([0.0; 6]);
        self.pattern
            .node_at
            .iter()
            .zip(x)
            .for_each(|(node, v)| values[*node] = *v);
    }
}
