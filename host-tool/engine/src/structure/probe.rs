//! A probe reads a movement off the displacements; a force or a spring can act along the same movement.

use super::block::Lanes;
use crate::algebra::{Vector3, Vector6, cross, from_to};

/// What a dial gauge would read: a sum of nodal displacements and rotations, each with its coefficient.
///
/// A force `f` along a probe is the set of nodal forces that does the work `f · reading`. A spring along it pulls with
/// `stiffness · (reading − natural)`. Readings are in mm, those of rotations in rad.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Probe {
    /// Node and the six coefficients of its displacements (x, y, z) and rotations (about x, y, z).
    pub(super) terms: Vec<(usize, Vector6)>,
}

impl Probe {
    /// How far the point `at` (mm, global), carried rigidly by `node`, moves along `direction`.
    ///
    /// `nodes` are the positions of the frame's nodes. The reading is multiplied by the length of `direction`. A node
    /// that the frame does not have is reported when the probe is used.
    #[must_use]
    pub fn displacement(nodes: &[Vector3], node: usize, at: Vector3, direction: Vector3) -> Self {
        let from = nodes.get(node).copied().unwrap_or(at);
        let arm = from_to(from, at);
        // (θ × arm) · d = θ · (arm × d)
        let turn = cross(arm, direction);
        let [x, y, z] = direction;
        Self {
            terms: vec![(node, [x, y, z, turn[0], turn[1], turn[2]])],
        }
    }

    /// The rotation of `node` about `axis`, rad.
    #[must_use]
    pub fn rotation(node: usize, axis: Vector3) -> Self {
        Self {
            terms: vec![(node, [0.0, 0.0, 0.0, axis[0], axis[1], axis[2]])],
        }
    }

    /// How far the point `at` of `to` moves away from the same point of `from` along `direction`.
    #[must_use]
    pub fn opening(
        nodes: &[Vector3],
        from: usize,
        to: usize,
        at: Vector3,
        direction: Vector3,
    ) -> Self {
        Self::displacement(nodes, to, at, direction)
            .minus(&Self::displacement(nodes, from, at, direction))
    }

    /// The rotation of `to` relative to `from` about `axis`, rad.
    #[must_use]
    pub fn relative_rotation(from: usize, to: usize, axis: Vector3) -> Self {
        Self::rotation(to, axis).minus(&Self::rotation(from, axis))
    }

    /// This reading plus `factor` times another.
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

    /// The reading for these displacements of the nodes.
    pub(super) fn read(&self, displacements: &[Vector6]) -> f64 {
        let one = |(node, c): &(usize, Vector6)| -> f64 {
            displacements[*node].iter().zip(c).map(|(u, c)| u * c).sum()
        };
        self.terms.iter().map(one).sum()
    }

    /// The readings for `N` shapes at once.
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
    pub(super) fn push(&self, force: f64, loads: &mut [Vector6]) {
        for (node, coefficients) in &self.terms {
            loads[*node]
                .iter_mut()
                .zip(coefficients)
                .for_each(|(p, c)| *p += force * c);
        }
    }

    /// The first node that a frame with this many nodes does not have.
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
