//! Changes of a compliance that are kept back, and the two loops that all the time goes into.

/// One change of the stiffness of a pair: G becomes G − C M Cᵀ, and so do the rows of strips.
pub(super) struct Update {
    /// C: the six columns of the pair before the change.
    pub(super) columns: [Vec<f64>; 6],
    /// C M.
    pub(super) weights: [Vec<f64>; 6],
    /// The rows of the pair in `strips` before the change.
    pub(super) strips: [Vec<f64>; 6],
}

impl Update {
    pub(super) fn new(size: usize, pieces: usize) -> Self {
        Self {
            columns: std::array::from_fn(|_| vec![0.0; size]),
            weights: std::array::from_fn(|_| vec![0.0; size]),
            strips: std::array::from_fn(|_| vec![0.0; pieces]),
        }
    }
}

/// Takes six weighted columns, from their entry `first` on, off a row: the inner loop of everything here.
pub(super) fn take_off(row: &mut [f64], weights: &[f64; 6], columns: &[Vec<f64>; 6], first: usize) {
    let n = row.len();
    let [a, b, c, d, e, f] = columns.each_ref().map(|column| &column[first..first + n]);
    for j in 0..n {
        row[j] -= (weights[0] * a[j] + weights[1] * b[j])
            + (weights[2] * c[j] + weights[3] * d[j])
            + (weights[4] * e[j] + weights[5] * f[j]);
    }
}

/// Scalar product in four sums, so that they can run side by side.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a4
        .remainder()
        .iter()
        .zip(b4.remainder())
        .map(|(x, y)| x * y)
        .sum();
    for (x, y) in a4.zip(b4) {
        for k in 0..4 {
            sums[k] += x[k] * y[k];
        }
    }
    sums.iter().sum::<f64>() + rest
}
