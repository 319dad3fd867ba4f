//! Moment over curvature as a table: quick, and with a slope, for a frame in which many places yield at once.

use super::state::Bar;

/// The greatest curvature of the table, as a multiple of that at first yield.
const MAX_TIMES_YIELD: f64 = 60.0;
/// Number of steps of the table, each longer than the last by the same factor.
const STEPS: usize = 80;

/// Moment of a bar at a curvature of the first bending, straight between the points of a table. It has the sign of the
/// curvature; beyond the table it goes on as steeply as at its end.
#[derive(Clone, Debug, PartialEq)]
pub struct MomentCurve {
    /// Curvature (1/mm) and moment (N·mm), from first yield on.
    points: Vec<[f64; 2]>,
}

impl MomentCurve {
    /// The curve of a bar, with its moments multiplied so that it starts with this E·I, N·mm².
    #[must_use]
    pub fn of(bar: &Bar, stiffness_n_mm2: f64) -> Self {
        let first = bar.yield_curvature_per_mm();
        let scale = stiffness_n_mm2 / bar.stiffness_n_mm2();
        let point = |k: usize| {
            let times = libm::pow(MAX_TIMES_YIELD, k as f64 / STEPS as f64);
            let curvature = first * times;
            [curvature, scale * bar.moment_n_mm(curvature)]
        };
        Self {
            points: (0..=STEPS).map(point).collect(),
        }
    }

    /// E·I, N·mm².
    #[must_use]
    pub fn stiffness_n_mm2(&self) -> f64 {
        self.points[0][1] / self.points[0][0]
    }

    /// Moment at first yield, N·mm.
    #[must_use]
    pub fn yield_moment_n_mm(&self) -> f64 {
        self.points[0][1]
    }

    /// Moment (N·mm) and its slope (N·mm²) at a curvature, 1/mm.
    #[must_use]
    pub fn at(&self, curvature_per_mm: f64) -> [f64; 2] {
        let curvature = curvature_per_mm.abs();
        if curvature <= self.points[0][0] {
            let stiffness = self.stiffness_n_mm2();
            return [stiffness * curvature_per_mm, stiffness];
        }
        let above = self.points.partition_point(|point| point[0] < curvature);
        let above = above.clamp(1, self.points.len() - 1);
        let ([c0, m0], [c1, m1]) = (self.points[above - 1], self.points[above]);
        let slope = (m1 - m0) / (c1 - c0);
        let moment = m0 + slope * (curvature - c0);
        [moment.copysign(curvature_per_mm), slope]
    }

    /// What is left of a curvature when the moment is taken off, 1/mm, and how fast that grows with the curvature.
    #[must_use]
    pub fn kept(&self, curvature_per_mm: f64) -> [f64; 2] {
        let [moment, slope] = self.at(curvature_per_mm);
        let stiffness = self.stiffness_n_mm2();
        [
            curvature_per_mm - moment / stiffness,
            1.0 - slope / stiffness,
        ]
    }
}
