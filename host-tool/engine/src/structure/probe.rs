//! A linear reading of the displacements, and at once the place where a force or a spring acts.

use super::block::Lanes;
use super::frame::Frame;

/// What a dial gauge reads: a sum of nodal displacements and rotations, each with its coefficient.
///
/// A force `f` "along" a probe is the set of nodal forces that does the work `f · reading`; a spring along it pulls
/// with `stiffness · (reading − natural)`. Readings are mm, or rad for those that turn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Probe {
    /// Node and the six coefficients of its displacements (x, y, z) and rotations (about x, y, z).
    pub(super) terms: Vec<(usize, [f64; 6])>,
}

impl Probe {
    /// How far the point `at` (mm, global), rigidly carried by `node`, moves along `direction`.
    ///
    /// `direction` need not be of unit length: it weighs the reading. A node outside the frame is reported when the
    /// probe is used.
    #[must_use]
    pub fn displacement(frame: &Frame, node: usize, at: [f64; 3], direction: [f64; 3]) -> Self {
        let from = frame.nodes.get(node).copied().unwrap_or(at);
        let arm = [at[0] - from[0], at[1] - from[1], at[2] - from[2]];
        // (θ × arm) · d = θ · (arm × d)
        let turn = cross(arm, direction);
        let [x, y, z] = direction;
        Self {
            terms: vec![(node, [x, y, z, turn[0], turn[1], turn[2]])],
        }
    }

    /// How much `node` turns about `axis`.
    #[must_use]
    pub fn rotation(node: usize, axis: [f64; 3]) -> Self {
        Self {
            terms: vec![(node, [0.0, 0.0, 0.0, axis[0], axis[1], axis[2]])],
        }
    }

    /// How far the point `at` of `to` moves away along `direction` from the same point of `from`.
    #[must_use]
    pub fn opening(
        frame: &Frame,
        from: usize,
        to: usize,
        at: [f64; 3],
        direction: [f64; 3],
    ) -> Self {
        Self::displacement(frame, to, at, direction)
            .minus(&Self::displacement(frame, from, at, direction))
    }

    /// How much `to` turns about `axis` against `from`.
    #[must_use]
    pub fn turning(from: usize, to: usize, axis: [f64; 3]) -> Self {
        Self::rotation(to, axis).minus(&Self::rotation(from, axis))
    }

    /// This reading and `factor` times another.
    #[must_use]
    pub fn plus(mut self, factor: f64, other: &Self) -> Self {
        for (node, coefficients) in &other.terms {
            let scaled = coefficients.map(|c| c * factor);
            match self.terms.iter_mut().find(|(known, _)| known == node) {
                Some((_, sum)) => sum.iter_mut().zip(scaled).for_each(|(s, c)| *s += c),
                None => self.terms.push((*node, scaled)),
            }
        }
        self
    }

    /// The difference of two readings.
    #[must_use]
    pub fn minus(self, other: &Self) -> Self {
        self.plus(-1.0, other)
    }

    /// The reading for given displacements of the nodes.
    pub(super) fn read(&self, displacements: &[[f64; 6]]) -> f64 {
        let one = |(node, c): &(usize, [f64; 6])| -> f64 {
            displacements[*node].iter().zip(c).map(|(u, c)| u * c).sum()
        };
        self.terms.iter().map(one).sum()
    }

    /// The readings for several shapes at once.
    pub(super) fn read_lanes<const N: usize>(&self, displacements: &[Lanes<N>]) -> [f64; N] {
        let mut sum = [0.0; N];
        for (node, coefficients) in &self.terms {
            for (values, c) in displacements[*node].iter().zip(coefficients) {
                sum.iter_mut().zip(values).for_each(|(s, v)| *s += c * v);
            }
        }
        sum
    }

    /// Adds the nodal forces of a force along the probe.
    pub(super) fn push(&self, force: f64, loads: &mut [[f64; 6]]) {
        for (node, coefficients) in &self.terms {
            loads[*node]
                .iter_mut()
                .zip(coefficients)
                .for_each(|(p, c)| *p += force * c);
        }
    }

    /// The first node that a frame with so many nodes does not have.
    pub(super) fn stray_node(&self, nodes: usize) -> Option<usize> {
        self.terms
            .iter()
            .map(|(node, _)| *node)
            .find(|node| *node >= nodes)
    }

    pub(super) fn is_finite(&self) -> bool {
        self.terms
            .iter()
            .all(|(_, c)| c.iter().all(|v| v.is_finite()))
    }
}

pub(super) fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

pub(super) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub(super) fn norm(a: [f64; 3]) -> f64 {
    dot(a, a).sqrt()
}
