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

    /// Holds one unknown: its row and column become those of a spring on its own.
    pub(super) fn hold(&mut self, node: usize, component: usize) {
        let Some(k) = self.pattern.position[node] else {
            return;
        };
        for other in 0..6 {
            self.diagonal[k].set(component, other, 0.0);
            self.diagonal[k].set(other, component, 0.0);
        }
        self.diagonal[k].set(component, component, 1.0);
        for block in self.pattern.start[k]..self.pattern.start[k + 1] {
            (0..6).for_each(|row| self.below[block].set(row, component, 0.0));
        }
        for column in 0..k {
            if let Some(block) = self.pattern.find(k, column) {
                (0..6).for_each(|c| self.below[block].set(component, c, 0.0));
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
            for i in own.clone() {
                let column = pattern.rows[i];
                let by = below[i];
                diagonal[column].subtract_product(&by, &by);
                // Every later row of this column is also a row of that one: walk both lists.
                let mut target = pattern.start[column];
                for j in i + 1..own.end {
                    while pattern.rows[target] != pattern.rows[j] {
                        target += 1;
                    }
                    let from = below[j];
                    below[target].subtract_product(&from, &by);
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
