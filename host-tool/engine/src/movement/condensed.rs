//! The structure boiled down to what welds can do to it: one symmetric compliance matrix.
//!
//! A *coordinate* is a generalised displacement: the opening of a joint in one direction, the turning of one member's
//! end against another's, the shrinkage of a member's wall, or an answer such as the bow of a rail. For coordinates
//! `a` and `b` the entry `compliance[a][b]` is the movement of `a` under a unit of the force that works on `b`. Once
//! this matrix is known, laying a weld is a low-rank change of it and the whole structure is not needed again.

use super::update::{NOTHING, Tile, WIDE};
use std::ops::Range;

/// Compliance over all coordinates, before the first weld.
#[derive(Clone, Debug)]
pub struct Condensed {
    size: usize,
    /// Row-major, symmetric, `size * size`.
    compliance: Vec<f64>,
}

impl Condensed {
    /// From a full row-major symmetric matrix.
    ///
    /// # Panics
    /// When the matrix does not have `size * size` entries.
    #[must_use]
    pub fn new(size: usize, compliance: Vec<f64>) -> Self {
        assert_eq!(compliance.len(), size * size, "a square matrix");
        Self { size, compliance }
    }

    /// Number of coordinates.
    #[must_use]
    pub const fn size(&self) -> usize {
        self.size
    }

    /// Movement of `row` under a unit force on each coordinate.
    #[must_use]
    pub fn row(&self, row: usize) -> &[f64] {
        &self.compliance[row * self.size..(row + 1) * self.size]
    }

    /// Some rows, six at a time, over the first `columns` columns.
    pub(super) fn by_six(&self, rows: Range<usize>, columns: usize) -> Vec<Vec<Tile>> {
        let rows: Vec<&[f64]> = rows.map(|row| &self.row(row)[..columns]).collect();
        let six = |rows: &[&[f64]]| {
            let mut tiles = vec![NOTHING; columns.div_ceil(WIDE)];
            for (k, row) in rows.iter().enumerate() {
                for (tile, eight) in tiles.iter_mut().zip(row.chunks(WIDE)) {
                    tile[k][..eight.len()].copy_from_slice(eight);
                }
            }
            tiles
        };
        rows.chunks(6).map(six).collect()
    }
}
