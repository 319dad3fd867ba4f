//! A lower Cholesky factor that gains and loses rows.

/// L of a symmetric positive definite matrix, kept by rows.
#[derive(Clone, Debug, Default)]
pub(super) struct Lower {
    /// Rows up to and with the diagonal, one after another.
    rows: Vec<f64>,
    /// 1 / diagonal.
    inverse: Vec<f64>,
}

/// A row that would make the matrix singular: below this part of its own diagonal what is left of it is rounding.
const SINGULAR: f64 = 1e-11;

impl Lower {
    pub(super) fn len(&self) -> usize {
        self.inverse.len()
    }

    /// Row `i` without its diagonal.
    pub(super) fn row(&self, i: usize) -> &[f64] {
        &self.rows[i * (i + 1) / 2..][..i]
    }

    /// 1 / diagonal of row `i`.
    pub(super) fn inverse(&self, i: usize) -> f64 {
        self.inverse[i]
    }

    /// Appends a row of the matrix: its entries before the diagonal, and the diagonal. False, and nothing changed, if
    /// that makes the matrix singular. A quarter of the square of the length, in multiplications.
    pub(super) fn push(&mut self, entries: impl Iterator<Item = f64>, own: f64) -> bool {
        let start = self.rows.len();
        self.rows.extend(entries);
        let (rows, new) = self.rows.split_at_mut(start);
        for (j, inverse) in self.inverse.iter().enumerate() {
            let sum = dot(&rows[j * (j + 1) / 2..][..j], &new[..j]);
            new[j] = (new[j] - sum) * inverse;
        }
        let left = own - dot(new, new);
        if left.is_nan() || left <= SINGULAR * own {
            self.rows.truncate(start);
            return false;
        }
        self.rows.push(left.sqrt());
        self.inverse.push(1.0 / left.sqrt());
        true
    }

    pub(super) fn truncate(&mut self, length: usize) {
        self.rows.truncate(length * (length + 1) / 2);
        self.inverse.truncate(length);
    }

    /// Takes a row and its column out of the matrix. What they contributed to the rows below is added back to them,
    /// which cannot fail (Golub & Van Loan, *Matrix Computations*, 4th ed. 2013, 6.5.2 and 6.5.4).
    pub(super) fn remove(&mut self, out: usize) {
        let mut freed: Vec<f64> = (out + 1..self.len()).map(|i| self.row(i)[out]).collect();
        let mut at = 0;
        for i in 0..self.len() {
            for j in 0..=i {
                if i != out && j != out {
                    self.rows[at] = self.rows[i * (i + 1) / 2 + j];
                    at += 1;
                }
            }
        }
        self.inverse.remove(out);
        self.rows.truncate(at);
        self.add_outer_product(out, &mut freed);
    }

    /// The factor of L Lᵀ + x xᵀ, where x is zero before `first`.
    fn add_outer_product(&mut self, first: usize, x: &mut [f64]) {
        for k in first..self.len() {
            let diagonal = k * (k + 1) / 2 + k;
            let (own, more) = (self.rows[diagonal], x[k - first]);
            let grown = own.hypot(more);
            let (cos, sin) = (own / grown, more / grown);
            self.rows[diagonal] = grown;
            self.inverse[k] = 1.0 / grown;
            for i in k + 1..self.len() {
                let (entry, rest) = (&mut self.rows[i * (i + 1) / 2 + k], &mut x[i - first]);
                (*entry, *rest) = (cos * *entry + sin * *rest, cos * *rest - sin * *entry);
            }
        }
    }

    /// z = L⁻¹ b for the rows from `first` on; those before hold already.
    pub(super) fn forward(&self, first: usize, b: &[f64], z: &mut [f64]) {
        for i in first..self.len() {
            let sum = dot(self.row(i), &z[..i]);
            z[i] = (b[i] - sum) * self.inverse[i];
        }
    }

    /// z = L⁻ᵀ z
    pub(super) fn backward(&self, z: &mut [f64]) {
        for i in (0..self.len()).rev() {
            let (above, own) = z.split_at_mut(i);
            own[0] *= self.inverse[i];
            let value = own[0];
            above
                .iter_mut()
                .zip(self.row(i))
                .for_each(|(v, l)| *v -= l * value);
        }
    }
}

/// Sum of products in four lanes.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut lanes = [0.0; 4];
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a4
        .remainder()
        .iter()
        .zip(b4.remainder())
        .map(|(x, y)| x * y)
        .sum();
    for (x, y) in a4.zip(b4) {
        for lane in 0..4 {
            lanes[lane] += x[lane] * y[lane];
        }
    }
    lanes.iter().sum::<f64>() + rest
}
