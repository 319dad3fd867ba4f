//! The structure reduced to what welds can do to it: one symmetric compliance matrix.
//!
//! A *coordinate* is a generalised displacement: the opening of a joint in one direction, the rotation of one member's
//! end relative to another's, the shortening of a member's wall, or a measure such as the bow of a rail. Entry (a, b) is
//! the movement of coordinate a under a unit force along coordinate b. With this matrix a weld is a low-rank update, and
//! the whole structure is not needed again.

use super::compliance_block::{COLUMNS, ComplianceBlock, ZERO};
use std::ops::Range;

/// Compliance over all coordinates before the first weld.
#[derive(Clone, Debug)]
pub(crate) struct ReducedCompliance {
    size: usize,
    /// Row-major, symmetric, `size * size`. Movements in mm or rad, forces in N or N·mm.
    compliance: Vec<f64>,
}

impl ReducedCompliance {
    /// From a full row-major symmetric matrix with `size * size` entries.
    pub(crate) fn new(size: usize, compliance: Vec<f64>) -> Self {
        debug_assert_eq!(compliance.len(), size * size, "a square matrix");
        Self { size, compliance }
    }

    /// Movement of the coordinate `row` under a unit force along each coordinate.
    pub(crate) fn row(&self, row: usize) -> &[f64] {
        &self.compliance[row * self.size..(row + 1) * self.size]
    }

    /// Some rows over the first `columns` columns, six rows to a block.
    pub(crate) fn blocks(&self, rows: Range<usize>, columns: usize) -> Vec<Vec<ComplianceBlock>> {
        let rows: Vec<&[f64]> = rows.map(|row| &self.row(row)[..columns]).collect();
        let six = |rows: &[&[f64]]| {
            let mut blocks = vec![ZERO; columns.div_ceil(COLUMNS)];
            for (k, row) in rows.iter().enumerate() {
                for (block, eight) in blocks.iter_mut().zip(row.chunks(COLUMNS)) {
                    block[k][..eight.len()].copy_from_slice(eight);
                }
            }
            blocks
        };
        rows.chunks(6).map(six).collect()
    }
}
