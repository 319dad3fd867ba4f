//! A block of the stiffness matrix: the six unknowns of one node against those of another. It is stored by columns, so
//! that the inner loops of the factorisation and the solution run over several numbers at once.

use crate::algebra::{Matrix6, Vector6, product};

/// A six by six matrix by columns.
#[derive(Clone, Copy, Debug)]
pub(super) struct Block {
    columns: Matrix6,
}

/// Six displacements or forces of one node, for `N` load cases at once.
pub(super) type Lanes<const N: usize> = [[f64; N]; 6];

impl Block {
    pub(super) const ZERO: Self = Self {
        columns: [[0.0; 6]; 6],
    };

    pub(super) fn from_fn(f: impl Fn(usize, usize) -> f64) -> Self {
        let mut block = Self::ZERO;
        for (c, column) in block.columns.iter_mut().enumerate() {
            for (r, value) in column.iter_mut().enumerate() {
                *value = f(r, c);
            }
        }
        block
    }

    pub(super) fn at(&self, row: usize, column: usize) -> f64 {
        self.columns[column][row]
    }

    pub(super) fn set(&mut self, row: usize, column: usize, value: f64) {
        self.columns[column][row] = value;
    }

    pub(super) fn add(&mut self, other: &Self) {
        for (mine, theirs) in self.columns.iter_mut().zip(&other.columns) {
            mine.iter_mut().zip(theirs).for_each(|(m, t)| *m += t);
        }
    }

    /// Sets the marked rows and columns to zero.
    pub(super) fn clear(&mut self, rows: &[bool; 6], columns: &[bool; 6]) {
        for (column, whole) in self.columns.iter_mut().zip(columns) {
            column
                .iter_mut()
                .zip(rows)
                .filter(|(_, row)| *whole || **row)
                .for_each(|(v, _)| *v = 0.0);
        }
    }

    pub(super) fn transposed(&self) -> Self {
        Self::from_fn(|r, c| self.at(c, r))
    }

    /// self · other
    pub(super) fn times(&self, other: &Self) -> Self {
        // By columns, a product is that of the transposes the other way round.
        Self {
            columns: product(&other.columns, &self.columns),
        }
    }

    /// selfᵀ · other
    pub(super) fn transposed_times(&self, other: &Self) -> Self {
        self.transposed().times(other)
    }

    /// self · v
    #[inline]
    pub(super) fn times_vector(&self, v: &Vector6) -> Vector6 {
        let mut sum = [0.0; 6];
        for (column, factor) in self.columns.iter().zip(v) {
            sum.iter_mut()
                .zip(column)
                .for_each(|(s, c)| *s += c * factor);
        }
        sum
    }

    /// selfᵀ · v
    #[inline]
    pub(super) fn transposed_times_vector(&self, v: &Vector6) -> Vector6 {
        let mut sum = [0.0; 6];
        for (s, column) in sum.iter_mut().zip(&self.columns) {
            *s = column.iter().zip(v).map(|(c, v)| c * v).sum();
        }
        sum
    }

    /// self −= a · bᵀ
    #[inline]
    pub(super) fn subtract_product(&mut self, a: &Self, b: &Self) {
        for (j, column) in self.columns.iter_mut().enumerate() {
            for (from, by) in a.columns.iter().zip(&b.columns) {
                let factor = by[j];
                column
                    .iter_mut()
                    .zip(from)
                    .for_each(|(x, a)| *x -= a * factor);
            }
        }
    }

    /// Lower Cholesky factor in place. `accept` sees each row with its pivot; where it says no, the pivot becomes 1 and
    /// its column empty, as if the unknown were fixed.
    pub(super) fn factor(&mut self, mut accept: impl FnMut(usize, f64) -> bool) {
        for j in 0..6 {
            let mut column = self.columns[j];
            for k in 0..j {
                let (from, factor) = (self.columns[k], self.columns[k][j]);
                for i in j..6 {
                    column[i] -= from[i] * factor;
                }
            }
            if accept(j, column[j]) {
                let inverse = 1.0 / column[j].sqrt();
                column.iter_mut().for_each(|c| *c *= inverse);
            } else {
                column = [0.0; 6];
                column[j] = 1.0;
            }
            column[..j].fill(0.0);
            self.columns[j] = column;
        }
    }

    /// self · l⁻ᵀ in place, for a lower factor l; `fixed` has a bit for each unknown of l that is fixed.
    pub(super) fn divide(&mut self, l: &Self, fixed: u8) {
        for j in 0..6 {
            let mut column = self.columns[j];
            for k in 0..j {
                let (from, factor) = (self.columns[k], l.columns[k][j]);
                column
                    .iter_mut()
                    .zip(from)
                    .for_each(|(c, f)| *c -= f * factor);
            }
            let inverse = if fixed & (1 << j) == 0 {
                1.0 / l.columns[j][j]
            } else {
                0.0
            };
            self.columns[j] = column.map(|c| c * inverse);
        }
    }

    /// from −= self · v
    #[inline]
    pub(super) fn subtract_times<const N: usize>(&self, v: &Lanes<N>, from: &mut Lanes<N>) {
        for (column, factors) in self.columns.iter().zip(v) {
            for (sums, entry) in from.iter_mut().zip(column) {
                sums.iter_mut()
                    .zip(factors)
                    .for_each(|(s, f)| *s -= entry * f);
            }
        }
    }

    /// from −= selfᵀ · v
    #[inline]
    pub(super) fn subtract_transposed_times<const N: usize>(
        &self,
        v: &Lanes<N>,
        from: &mut Lanes<N>,
    ) {
        for (column, sums) in self.columns.iter().zip(from) {
            for (entry, factors) in column.iter().zip(v) {
                sums.iter_mut()
                    .zip(factors)
                    .for_each(|(s, f)| *s -= entry * f);
            }
        }
    }

    /// Solves self · x = v for a lower factor.
    #[inline]
    pub(super) fn forward<const N: usize>(&self, v: &mut Lanes<N>) {
        for (j, column) in self.columns.iter().enumerate() {
            let own = v[j].map(|value| value / column[j]);
            v[j] = own;
            for (sums, entry) in v.iter_mut().zip(column).skip(j + 1) {
                sums.iter_mut().zip(own).for_each(|(s, o)| *s -= entry * o);
            }
        }
    }

    /// Solves selfᵀ · x = v for a lower factor.
    #[inline]
    pub(super) fn backward<const N: usize>(&self, v: &mut Lanes<N>) {
        for (j, column) in self.columns.iter().enumerate().rev() {
            let mut own = v[j];
            for (values, entry) in v.iter().zip(column).skip(j + 1) {
                own.iter_mut()
                    .zip(values)
                    .for_each(|(o, value)| *o -= entry * value);
            }
            v[j] = own.map(|value| value / column[j]);
        }
    }
}
