//! Changes of a compliance that are kept back, and the arithmetic that all the time goes into.
//!
//! Numbers are kept in tiles of six rows, which are a joint's, by eight columns: a tile stays in the processor's
//! registers while all changes go into it, and eight is a whole number of the widest steps that processors take. The
//! widest steps that this processor has are found out at run time.

use super::matrix6::Matrix6;
use pulp::{Simd, WithSimd};

/// Columns of a tile.
pub(super) const WIDE: usize = 8;

/// The six rows of a joint over eight columns.
pub(super) type Tile = [[f64; WIDE]; 6];

pub(super) const NOTHING: Tile = [[0.0; WIDE]; 6];

/// One change of the stiffness of a joint: G becomes G − C M Cᵀ.
#[derive(Clone, Debug)]
pub(super) struct Update {
    /// Cᵀ: the six rows of the joint before the change.
    pub(super) columns: Vec<Tile>,
    /// For each joint C M: the first index is the column of M, the second the row of C.
    pub(super) weights: Vec<Matrix6>,
}

/// Takes weighted columns off a row of tiles, for each update those of one joint.
pub(super) fn take_off(row: &mut [Tile], first: usize, updates: &[Update], joint: usize) {
    pulp::Arch::new().dispatch(TakeOff {
        row,
        first,
        updates,
        joint,
    });
}

/// Cᵀ times M, tile by tile.
pub(super) fn weigh(columns: &[Tile], inner: &Matrix6, into: &mut [Tile]) {
    pulp::Arch::new().dispatch(Weigh {
        columns,
        minus: inner.map(|row| row.map(|entry| -entry)),
        into,
    });
}

struct TakeOff<'a> {
    row: &'a mut [Tile],
    /// The column of tiles at which the row begins.
    first: usize,
    updates: &'a [Update],
    joint: usize,
}

impl WithSimd for TakeOff<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        for (k, tile) in self.row.iter_mut().enumerate() {
            let mut left = *tile;
            for update in self.updates {
                let columns = &update.columns[self.first + k];
                minus::<S>(&mut left, columns, &update.weights[self.joint]);
            }
            *tile = left;
        }
    }
}

struct Weigh<'a> {
    columns: &'a [Tile],
    minus: Matrix6,
    into: &'a mut [Tile],
}

impl WithSimd for Weigh<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        for (tile, columns) in self.into.iter_mut().zip(self.columns) {
            let mut weighed = NOTHING;
            minus::<S>(&mut weighed, columns, &self.minus);
            *tile = weighed;
        }
    }
}

/// The inner loop of everything here.
#[inline(always)]
fn minus<S: Simd>(tile: &mut Tile, columns: &Tile, weights: &Matrix6) {
    for (column, weights) in columns.iter().zip(weights) {
        for (row, weight) in tile.iter_mut().zip(weights) {
            for (entry, other) in row.iter_mut().zip(column) {
                // Without the processor's own, the fused form would be slower by far.
                *entry = if S::IS_SCALAR {
                    *entry - weight * other
                } else {
                    (-weight).mul_add(*other, *entry)
                };
            }
        }
    }
}

/// A row of tiles times a column.
pub(super) fn times(row: &[Tile], column: &[[f64; WIDE]]) -> [f64; 6] {
    pulp::Arch::new().dispatch(Times { row, column })
}

struct Times<'a> {
    row: &'a [Tile],
    column: &'a [[f64; WIDE]],
}

impl WithSimd for Times<'_> {
    type Output = [f64; 6];

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> [f64; 6] {
        let mut sums = [simd.splat_f64s(0.0); 6];
        for (tile, column) in self.row.iter().zip(self.column) {
            let (column, _) = S::as_simd_f64s(column);
            for (sum, row) in sums.iter_mut().zip(tile) {
                let (row, _) = S::as_simd_f64s(row);
                for (entry, other) in row.iter().zip(column) {
                    *sum = simd.mul_add_e_f64s(*entry, *other, *sum);
                }
            }
        }
        sums.map(|sum| simd.reduce_sum_f64s(sum))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_processor_and_a_wide_one_agree() {
        let entry = |a: usize, b: usize, c: usize| ((31 * a + 7 * b + 3 * c) % 17) as f64 - 8.3;
        let tile = |a| std::array::from_fn(|b| std::array::from_fn(|c| entry(a, b, c)));
        let updates: Vec<Update> = (0..3)
            .map(|u| Update {
                columns: (0..4).map(|k| tile(k + u)).collect(),
                weights: (0..2)
                    .map(|k| std::array::from_fn(|b| std::array::from_fn(|c| entry(u + k, b, c))))
                    .collect(),
            })
            .collect();
        let mut wide: Vec<Tile> = (0..3).map(tile).collect();
        let mut plain = wide.clone();
        take_off(&mut wide, 1, &updates, 1);
        let operation = TakeOff {
            row: &mut plain,
            first: 1,
            updates: &updates,
            joint: 1,
        };
        operation.with_simd(pulp::Scalar);
        let columns: &[Tile] = &updates[0].columns[1..];
        let inner = &updates[0].weights[1];
        let mut weighed = vec![NOTHING; 3];
        weigh(columns, inner, &mut weighed);
        for k in 0..3 {
            for r in 0..6 {
                for c in 0..WIDE {
                    assert!((wide[k][r][c] - plain[k][r][c]).abs() <= 1e-12);
                    let product: f64 = (0..6).map(|j| inner[j][r] * columns[k][j][c]).sum();
                    assert!((weighed[k][r][c] - product).abs() <= 1e-12);
                }
            }
        }
        assert_ne!(wide[0], tile(0), "something was taken off");
        let column = [[0.5; WIDE], [-2.0; WIDE], [3.25; WIDE]];
        let sums = Times {
            row: &wide,
            column: &column,
        };
        for (wide, plain) in times(&wide, &column)
            .iter()
            .zip(sums.with_simd(pulp::Scalar))
        {
            assert!((wide - plain).abs() <= 1e-9 * plain.abs());
        }
    }
}
