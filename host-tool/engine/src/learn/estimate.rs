//! From readings to factors: a normal distribution of the logarithms of factors, updated with linearised builds.
//!
//! Bayes' rule for a linear model with normal noise (Tarantola, *Inverse Problem Theory*, 2005, 3.2; formulas 3.37 and
//! 3.38, from memory): Λ = P⁻¹ + Σ Jᵀ·R⁻¹·J, mean = Λ⁻¹ (P⁻¹·m + Σ Jᵀ·R⁻¹·z). Builds enter as sums, so their order does
//! not matter, and each one can only add to Λ.

use crate::shop::matrix::{Matrix, cholesky, inverse, solve};

/// A build, linearised: its readings are J·θ plus noise.
#[derive(Clone, Debug)]
pub struct Linear {
    /// One row for each reading: its change for each parameter.
    pub jacobian: Vec<Vec<f64>>,
    /// The readings, less those of the linearised build at θ = 0.
    pub read: Vec<f64>,
    /// Covariance of everything else that affects the readings.
    pub noise: Matrix,
}

/// A normal distribution.
///
/// ```
/// use coldsquare_engine::learn::estimate::{Gaussian, Linear};
///
/// // A factor known to ± 0.3, and one reading of it good to ± 0.4.
/// let before = Gaussian { mean: vec![0.0], covariance: vec![vec![0.09]] };
/// let build = Linear { jacobian: vec![vec![1.0]], read: vec![0.25], noise: vec![vec![0.16]] };
/// let after = before.given([&build]).unwrap();
/// assert!((after.mean[0] - 0.25 * 0.36).abs() < 1e-12);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Gaussian {
    /// Mean.
    pub mean: Vec<f64>,
    /// Covariance.
    pub covariance: Matrix,
}

impl Gaussian {
    /// Updated with builds. `None` if a covariance is not positive definite, which cannot happen if every reading has an
    /// uncertainty greater than 0.
    #[must_use]
    pub fn given<'a>(&self, builds: impl IntoIterator<Item = &'a Linear>) -> Option<Self> {
        let n = self.mean.len();
        let prior = cholesky(&self.covariance)?;
        let mut information = inverse(&prior);
        let mut weighted = solve(&prior, &self.mean);
        for build in builds {
            let noise = cholesky(&build.noise)?;
            let toward = solve(&noise, &build.read);
            let columns: Vec<Vec<f64>> = (0..n)
                .map(|k| build.jacobian.iter().map(|row| row[k]).collect())
                .collect();
            for i in 0..n {
                weighted[i] += dot(&columns[i], &toward);
                if columns[i].iter().all(|entry| *entry == 0.0) {
                    continue;
                }
                let whitened = solve(&noise, &columns[i]);
                for (j, column) in columns.iter().enumerate() {
                    information[i][j] += dot(&whitened, column);
                }
            }
        }
        let lower = cholesky(&information)?;
        Some(Self {
            mean: solve(&lower, &weighted),
            covariance: inverse(&lower),
        })
    }

    /// How far a build is from what is expected of it: squared distance of all its readings together, and the distance of
    /// each reading alone (signed, not squared), in standard uncertainties.
    #[must_use]
    pub fn distance(&self, build: &Linear) -> Option<(f64, Vec<f64>)> {
        let spread = |row: &Vec<f64>| -> Vec<f64> {
            self.covariance.iter().map(|own| dot(own, row)).collect()
        };
        let spreads: Vec<Vec<f64>> = build.jacobian.iter().map(spread).collect();
        let mut expected = build.noise.clone();
        for (i, row) in expected.iter_mut().enumerate() {
            for (entry, spread) in row.iter_mut().zip(&spreads) {
                *entry += dot(&build.jacobian[i], spread);
            }
        }
        let rest: Vec<f64> = build
            .jacobian
            .iter()
            .zip(&build.read)
            .map(|(row, read)| read - dot(row, &self.mean))
            .collect();
        let lower = cholesky(&expected)?;
        let single = rest.iter().zip(&expected).enumerate();
        let single = single.map(|(i, (rest, row))| rest / row[i].sqrt());
        Some((dot(&rest, &solve(&lower, &rest)), single.collect()))
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Squared distance that one good build in a thousand exceeds, for a number of readings: Wilson and Hilferty 1931, cube of
/// a normal variable; 3.090 is the normal quantile of 99.9 %.
#[must_use]
pub fn farthest(readings: usize) -> f64 {
    let n = readings.max(1) as f64;
    let spread = 2.0 / (9.0 * n);
    n * (1.0 - spread + 3.090 * spread.sqrt()).powi(3)
}
