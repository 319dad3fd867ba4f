//! Updates of the compliance that are kept back, and the arithmetic that nearly all the time goes into.
//!
//! It uses the widest vectors of the processor, which are found at run time.

use crate::algebra::{Matrix6, Vector6};
use crate::movement::model::compliance_block::{COLUMNS, ComplianceBlock, ZERO};
use pulp::{Simd, WithSimd};

/// One change of the stiffness of a joint: G becomes G − C M Cᵀ.
#[derive(Clone, Debug)]
pub(super) struct Update {
    /// Cᵀ: the six rows of the joint before the change.
    pub(super) columns: Vec<ComplianceBlock>,
    /// For each joint C M: the first index is the column of M, the second the row of C.
    pub(super) weights: Vec<Matrix6>,
}

/// Subtracts updates from the row of a joint that begins at block `first`.
pub(super) fn subtract_updates(
    row: &mut [ComplianceBlock],
    first: usize,
    updates: &[Update],
    joint: usize,
) {
    pulp::Arch::new().dispatch(SubtractUpdates {
        row,
        first,
        updates,
        joint,
    });
}

/// Cᵀ times M, block by block.
pub(super) fn multiply(columns: &[ComplianceBlock], inner: &Matrix6, into: &mut [ComplianceBlock]) {
    pulp::Arch::new().dispatch(Multiply {
        columns,
        minus: inner.map(|row| row.map(|entry| -entry)),
        into,
    });
}

/// WebAssembly has vectors and no fused multiply-add.
const NO_FUSED: bool = cfg!(target_family = "wasm");

struct SubtractUpdates<'a> {
    row: &'a mut [ComplianceBlock],
    /// The block at which the row begins.
    first: usize,
    updates: &'a [Update],
    joint: usize,
}

impl WithSimd for SubtractUpdates<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        for (k, block) in self.row.iter_mut().enumerate() {
            let mut left = *block;
            for update in self.updates {
                let columns = &update.columns[self.first + k];
                subtract_product::<S>(&mut left, columns, &update.weights[self.joint]);
            }
            *block = left;
        }
    }
}

struct Multiply<'a> {
    columns: &'a [ComplianceBlock],
    minus: Matrix6,
    into: &'a mut [ComplianceBlock],
}

impl WithSimd for Multiply<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        for (block, columns) in self.into.iter_mut().zip(self.columns) {
            let mut product = ZERO;
            subtract_product::<S>(&mut product, columns, &self.minus);
            *block = product;
        }
    }
}

/// block −= columns · weights: the inner loop of everything here.
#[inline(always)]
fn subtract_product<S: Simd>(
    block: &mut ComplianceBlock,
    columns: &ComplianceBlock,
    weights: &Matrix6,
) {
    for (column, weights) in columns.iter().zip(weights) {
        for (row, weight) in block.iter_mut().zip(weights) {
            for (entry, other) in row.iter_mut().zip(column) {
                // A processor without a fused multiply-add would be far slower with it.
                *entry = if S::IS_SCALAR || NO_FUSED {
                    *entry - weight * other
                } else {
                    (-weight).mul_add(*other, *entry)
                };
            }
        }
    }
}

/// A row of blocks times a column.
pub(super) fn row_times_column(row: &[ComplianceBlock], column: &[[f64; COLUMNS]]) -> Vector6 {
    pulp::Arch::new().dispatch(RowTimesColumn { row, column })
}

struct RowTimesColumn<'a> {
    row: &'a [ComplianceBlock],
    column: &'a [[f64; COLUMNS]],
}

impl WithSimd for RowTimesColumn<'_> {
    type Output = Vector6;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Vector6 {
        let mut sums = [simd.splat_f64s(0.0); 6];
        for (block, column) in self.row.iter().zip(self.column) {
            let (column, _) = S::as_simd_f64s(column);
            for (sum, row) in sums.iter_mut().zip(block) {
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
        let block = |a| std::array::from_fn(|b| std::array::from_fn(|c| entry(a, b, c)));
        let updates: Vec<Update> = (0..3)
            .map(|u| Update {
                columns: (0..4).map(|k| block(k + u)).collect(),
                weights: (0..2)
                    .map(|k| std::array::from_fn(|b| std::array::from_fn(|c| entry(u + k, b, c))))
                    .collect(),
            })
            .collect();
        let mut wide: Vec<ComplianceBlock> = (0..3).map(block).collect();
        let mut plain = wide.clone();
        subtract_updates(&mut wide, 1, &updates, 1);
        let operation = SubtractUpdates {
            row: &mut plain,
            first: 1,
            updates: &updates,
            joint: 1,
        };
        operation.with_simd(pulp::Scalar);
        let columns: &[ComplianceBlock] = &updates[0].columns[1..];
        let inner = &updates[0].weights[1];
        let mut product = vec![ZERO; 3];
        multiply(columns, inner, &mut product);
        for k in 0..3 {
            for r in 0..6 {
                for c in 0..COLUMNS {
                    assert!((wide[k][r][c] - plain[k][r][c]).abs() <= 1e-12);
                    let expected: f64 = (0..6).map(|j| inner[j][r] * columns[k][j][c]).sum();
                    assert!((product[k][r][c] - expected).abs() <= 1e-12);
                }
            }
        }
        assert_ne!(wide[0], block(0), "something was subtracted");
        let column = [[0.5; COLUMNS], [-2.0; COLUMNS], [3.25; COLUMNS]];
        let sums = RowTimesColumn {
            row: &wide,
            column: &column,
        };
        for (wide, plain) in row_times_column(&wide, &column)
            .iter()
            .zip(sums.with_simd(pulp::Scalar))
        {
            assert!((wide - plain).abs() <= 1e-9 * plain.abs());
        }
    }
}
