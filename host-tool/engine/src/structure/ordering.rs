//! The order in which nodes are eliminated, and which blocks of the factor that fills.
//!
//! Minimum degree (Rose 1972): the next node is the one with the fewest neighbours left, and its neighbours become
//! neighbours of each other. Nearly all nodes of a frame lie inside members and have two neighbours: members shrink to
//! single links at next to no cost and only the joints are left for the real work. That is why this is used rather than
//! a band or a skyline.

use super::error::StructureError;
use std::collections::BTreeSet;

/// Order of elimination and the pattern of the factor, in positions of that order.
pub(super) struct Pattern {
    /// Node at each position.
    pub node_at: Vec<usize>,
    /// Position of each node; `None` for nodes that are left out.
    pub position: Vec<Option<usize>>,
    /// For each position, where its rows start in `rows`; one more at the end.
    pub start: Vec<usize>,
    /// Positions of the blocks below the diagonal, ascending in each column.
    pub rows: Vec<usize>,
}

/// Limit of the number of blocks of a factor (288 bytes each): 0.3 GB.
const MAX_BLOCKS: usize = 1_000_000;

impl Pattern {
    /// `links[n]` are the neighbours of node n; nodes marked in `left_out` are not among the unknowns.
    pub(super) fn new(
        mut links: Vec<Vec<usize>>,
        left_out: &[bool],
    ) -> Result<Self, StructureError> {
        for (node, list) in links.iter_mut().enumerate() {
            list.retain(|other| *other != node && !left_out[*other] && !left_out[node]);
            list.sort_unstable();
            list.dedup();
        }
        let mut queue: BTreeSet<(usize, usize)> = (0..links.len())
            .filter(|n| !left_out[*n])
            .map(|n| (links[n].len(), n))
            .collect();
        let mut node_at = Vec::with_capacity(queue.len());
        let mut columns: Vec<Vec<usize>> = Vec::with_capacity(queue.len());
        let mut blocks = 0;
        while let Some((_, node)) = queue.pop_first() {
            let around = std::mem::take(&mut links[node]);
            blocks += around.len();
            if blocks > MAX_BLOCKS {
                return Err(StructureError::TooLarge {
                    what: "blocks of the factor",
                    found: blocks,
                    max: MAX_BLOCKS,
                });
            }
            for &other in &around {
                let before = links[other].len();
                let merged = merge(&links[other], &around, [node, other]);
                links[other] = merged;
                if links[other].len() != before {
                    queue.remove(&(before, other));
                    queue.insert((links[other].len(), other));
                }
            }
            node_at.push(node);
            columns.push(around);
        }
        Ok(Self::compressed(node_at, &columns, left_out.len()))
    }

    fn compressed(node_at: Vec<usize>, columns: &[Vec<usize>], nodes: usize) -> Self {
        let mut place = vec![usize::MAX; nodes];
        node_at
            .iter()
            .enumerate()
            .for_each(|(k, node)| place[*node] = k);
        let mut start = vec![0];
        let mut rows = Vec::new();
        for column in columns {
            let first = rows.len();
            rows.extend(column.iter().map(|node| place[*node]));
            rows[first..].sort_unstable();
            start.push(rows.len());
        }
        let position = place
            .into_iter()
            .map(|k| (k != usize::MAX).then_some(k))
            .collect();
        Self {
            node_at,
            position,
            start,
            rows,
        }
    }

    /// Where block (row, column) is stored, positions with row > column.
    pub(super) fn find(&self, row: usize, column: usize) -> Option<usize> {
        let (first, last) = (self.start[column], self.start[column + 1]);
        self.rows[first..last]
            .binary_search(&row)
            .ok()
            .map(|k| first + k)
    }
}

/// Union of two ascending lists without two of their members.
fn merge(a: &[usize], b: &[usize], without: [usize; 2]) -> Vec<usize> {
    let mut union = Vec::with_capacity(a.len() + b.len());
    let (mut i, mut j) = (0, 0);
    while i < a.len() || j < b.len() {
        let next = match (a.get(i), b.get(j)) {
            (Some(x), Some(y)) => *x.min(y),
            (Some(x), None) => *x,
            (None, Some(y)) => *y,
            (None, None) => break,
        };
        i += usize::from(a.get(i) == Some(&next));
        j += usize::from(b.get(j) == Some(&next));
        if !without.contains(&next) {
            union.push(next);
        }
    }
    union
}
