//! The structure reduced to what welds can do to it: one symmetric compliance matrix.
//!
//! A *coordinate* is a generalised displacement: the opening of a joint in one direction, the rotation of one member's
//! end relative to another's, the shortening of a member's wall, or a measure such as the bow of a rail. Entry (a, b) is
//! the movement of coordinate a under a unit force along coordinate b. With this matrix a weld is a low-rank update, and
//! the whole structure is not needed again.

use super::compliance_block::{COLUMNS, ComplianceBlock, ZERO};
use std::ops::Range;

/// Compliance over the coordinates before the first weld, as far as it is needed.
#[derive(Clone, Debug)]
pub(crate) struct ReducedCompliance {
    columns: usize,
    /// Where the row of each coordinate is; `usize::MAX` for none.
    row_of: Vec<usize>,
    /// Row after row. Movements in mm or rad, forces in N or N·mm.
    compliance: Vec<f64>,
}

impl ReducedCompliance {
    /// From the rows of these coordinates, each over the first `columns` coordinates.
    pub(crate) fn new(coordinates: &[usize], columns: usize, compliance: Vec<f64>) -> Self {
        debug_assert_eq!(compliance.len(), coordinates.len() * columns);
        let mut row_of = vec![usize::MAX; coordinates.iter().max().map_or(0, |last| last + 1)];
        for (row, coordinate) in coordinates.iter().enumerate() {
            row_of[*coordinate] = row;
        }
        Self {
            columns,
            row_of,
            compliance,
        }
    }

    /// Movement of a coordinate under a unit force along each coordinate. Tendons have no row.
    pub(crate) fn row(&self, coordinate: usize) -> &[f64] {
        let row = self.row_of[coordinate];
        &self.compliance[row * self.columns..(row + 1) * self.columns]
    }

    /// The rows of some coordinates, six rows to a block.
    pub(crate) fn blocks(&self, coordinates: Range<usize>) -> Vec<Vec<ComplianceBlock>> {
        let rows: Vec<&[f64]> = coordinates.map(|coordinate| self.row(coordinate)).collect();
        let six = |rows: &[&[f64]]| {
            let mut blocks = vec![ZERO; self.columns.div_ceil(COLUMNS)];
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
