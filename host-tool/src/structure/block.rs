//! Dense six by six arithmetic: one node against another. Stored by columns so that the inner loops run in lanes.

/// A six by six matrix.
#[derive(Clone, Copy, Debug)]
pub(super) struct Block {
    columns: [[f64; 6]; 6],
}

/// Six displacements or forces of one node.
pub(super) type Six = [f64; 6];

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

    /// Sets the rows and columns marked to zero.
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
        let mut product = Self::ZERO;
        for (column, by) in product.columns.iter_mut().zip(&other.columns) {
            *column = self.times_vector(by);
        }
        product
    }

    /// selfᵀ · other
    pub(super) fn transposed_times(&self, other: &Self) -> Self {
        self.transposed().times(other)
    }

    /// self · v
    #[inline]
    pub(super) fn times_vector(&self, v: &Six) -> Six {
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
    pub(super) fn transposed_times_vector(&self, v: &Six) -> Six {
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

    /// Lower Cholesky factor in place. Gives `watch` each row with its pivot and says how it is to be taken: a pivot
    /// that `watch` refuses is replaced by 1 with an empty column, as if the unknown were held.
    pub(super) fn factor(&mut self, mut watch: impl FnMut(usize, f64) -> bool) {
        for j in 0..6 {
            let mut column = self.columns[j];
            for k in 0..j {
                let (from, factor) = (self.columns[k], self.columns[k][j]);
                for i in j..6 {
                    column[i] -= from[i] * factor;
                }
            }
            if watch(j, column[j]) {
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

    /// self · l⁻ᵀ in place, for a lower factor l.
    pub(super) fn divide(&mut self, l: &Self, pinned: u8) {
        for j in 0..6 {
            let mut column = self.columns[j];
            for k in 0..j {
                let (from, factor) = (self.columns[k], l.columns[k][j]);
                column
                    .iter_mut()
                    .zip(from)
                    .for_each(|(c, f)| *c -= f * factor);
            }
            let inverse = if pinned & (1 << j) == 0 {
                1.0 / l.columns[j][j]
            } else {
                0.0
            };
            self.columns[j] = column.map(|c| c * inverse);
        }
    }

    /// Solves self · x = v for a lower factor.
    pub(super) fn forward(&self, v: &mut Six) {
        for j in 0..6 {
            v[j] /= self.columns[j][j];
            for i in j + 1..6 {
                v[i] -= self.columns[j][i] * v[j];
            }
        }
    }

    /// Solves selfᵀ · x = v for a lower factor.
    pub(super) fn backward(&self, v: &mut Six) {
        for j in (0..6).rev() {
            for i in j + 1..6 {
                v[j] -= self.columns[j][i] * v[i];
            }
            v[j] /= self.columns[j][j];
        }
    }
}
