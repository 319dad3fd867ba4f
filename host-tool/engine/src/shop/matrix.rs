//! Small dense matrices, symmetric and positive definite: at most a few dozen rows.

/// Rows of a square matrix.
pub type Matrix = Vec<Vec<f64>>;

/// The lower triangle L with L·Lᵀ = A, or `None` if A is not positive definite.
#[must_use]
pub fn cholesky(a: &Matrix) -> Option<Matrix> {
    let n = a.len();
    let mut lower = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let dot: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
            let rest = a[i][j] - dot;
            if i == j {
                if !(rest > 0.0 && rest.is_finite()) {
                    return None;
                }
                lower[i][i] = rest.sqrt();
            } else {
                lower[i][j] = rest / lower[j][j];
            }
        }
    }
    Some(lower)
}

/// x with A·x = b, for A = L·Lᵀ.
#[must_use]
pub fn solve(lower: &Matrix, b: &[f64]) -> Vec<f64> {
    let n = lower.len();
    let mut x = b.to_vec();
    for i in 0..n {
        let dot: f64 = (0..i).map(|k| lower[i][k] * x[k]).sum();
        x[i] = (x[i] - dot) / lower[i][i];
    }
    for i in (0..n).rev() {
        let dot: f64 = (i + 1..n).map(|k| lower[k][i] * x[k]).sum();
        x[i] = (x[i] - dot) / lower[i][i];
    }
    x
}

/// The inverse of A = L·Lᵀ.
#[must_use]
pub fn inverse(lower: &Matrix) -> Matrix {
    let n = lower.len();
    let column = |k: usize| {
        let unit: Vec<f64> = (0..n).map(|i| f64::from(u8::from(i == k))).collect();
        solve(lower, &unit)
    };
    (0..n).map(column).collect()
}
