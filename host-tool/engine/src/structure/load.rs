//! Load cases: what acts on a frame at the same time.

use super::beam::BeamStiffness;
use super::error::StructureError;
use super::probe::Probe;

/// The strain that a beam would have if it were free: constant along its length, about its centroid, in local axes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct InitialStrain {
    /// Lengthening per length of the centroid line.
    pub axial: f64,
    /// Rotation about local y per length, 1/mm: fibres at positive z lengthen.
    pub curvature_y_per_mm: f64,
    /// Rotation about local z per length, 1/mm: fibres at positive y shorten.
    pub curvature_z_per_mm: f64,
}

impl InitialStrain {
    /// The strain that a tendon force gives a free beam: `force_n` newtons of shrinkage force at `at` = (y, z) mm from
    /// the centroid (Okerblom 1958).
    #[must_use]
    pub fn tendon(force_n: f64, at: [f64; 2], stiffness: &BeamStiffness) -> Self {
        let (sin, cos) = stiffness.principal_angle_rad.sin_cos();
        // Coordinates in the principal axes 1, 2.
        let (a, b) = (cos * at[0] + sin * at[1], cos * at[1] - sin * at[0]);
        let (about_1, about_2) = (
            -force_n * b / stiffness.bending_1_n_mm2,
            force_n * a / stiffness.bending_2_n_mm2,
        );
        Self {
            axial: -force_n / stiffness.axial_n,
            curvature_y_per_mm: cos * about_1 - sin * about_2,
            curvature_z_per_mm: sin * about_1 + cos * about_2,
        }
    }

    /// This strain plus `factor` times another.
    #[must_use]
    pub fn plus(self, factor: f64, other: Self) -> Self {
        Self {
            axial: self.axial + factor * other.axial,
            curvature_y_per_mm: self.curvature_y_per_mm + factor * other.curvature_y_per_mm,
            curvature_z_per_mm: self.curvature_z_per_mm + factor * other.curvature_z_per_mm,
        }
    }
}

/// Everything that acts at the same time; entries for the same item add up.
#[derive(Clone, Debug, Default)]
pub struct LoadCase {
    /// Node, force (N) and moment (N·mm) in global axes.
    pub forces: Vec<(usize, [f64; 6])>,
    /// A force along a probe (N, or N·mm along a rotation), positive in the direction of its reading.
    pub along: Vec<(Probe, f64)>,
    /// Beam and uniform load per length in global axes, N/mm, on its centroid line.
    pub beam_loads: Vec<(usize, [f64; 3])>,
    /// Beam and its initial strain.
    pub strains: Vec<(usize, InitialStrain)>,
    /// Spring and the reading at which it is free of force, mm or rad.
    pub natural: Vec<(usize, f64)>,
}

impl LoadCase {
    /// Adds `factor` times another case.
    pub fn add(&mut self, factor: f64, other: &Self) {
        self.forces.extend(
            other
                .forces
                .iter()
                .map(|(node, f)| (*node, f.map(|v| v * factor))),
        );
        self.along.extend(
            other
                .along
                .iter()
                .map(|(probe, f)| (probe.clone(), f * factor)),
        );
        self.beam_loads.extend(
            other
                .beam_loads
                .iter()
                .map(|(beam, q)| (*beam, q.map(|v| v * factor))),
        );
        let none = InitialStrain::default();
        self.strains.extend(
            other
                .strains
                .iter()
                .map(|(beam, strain)| (*beam, none.plus(factor, *strain))),
        );
        self.natural.extend(
            other
                .natural
                .iter()
                .map(|(spring, reading)| (*spring, reading * factor)),
        );
    }

    /// Checks that all that the case acts on exists, and that every value is a number.
    pub(super) fn check(
        &self,
        nodes: usize,
        beams: usize,
        springs: usize,
    ) -> Result<(), StructureError> {
        self.check_items(nodes, beams, springs)?;
        self.check_values()
    }

    fn check_items(
        &self,
        nodes: usize,
        beams: usize,
        springs: usize,
    ) -> Result<(), StructureError> {
        let beyond = |mut indices: &mut dyn Iterator<Item = usize>, count: usize| {
            Iterator::find(&mut indices, |index| *index >= count)
        };
        let missing = [
            ("node", beyond(&mut self.forces.iter().map(|f| f.0), nodes)),
            (
                "node",
                self.along
                    .iter()
                    .find_map(|(probe, _)| probe.stray_node(nodes)),
            ),
            (
                "beam",
                beyond(&mut self.beam_loads.iter().map(|b| b.0), beams),
            ),
            ("beam", beyond(&mut self.strains.iter().map(|s| s.0), beams)),
            (
                "spring",
                beyond(&mut self.natural.iter().map(|n| n.0), springs),
            ),
        ];
        let first = missing
            .into_iter()
            .find_map(|(what, index)| Some((what, index?)));
        first.map_or(Ok(()), |(what, index)| {
            Err(StructureError::NoSuchItem { what, index })
        })
    }

    fn check_values(&self) -> Result<(), StructureError> {
        let strain = |s: &InitialStrain| s.axial + s.curvature_y_per_mm + s.curvature_z_per_mm;
        let values = [
            (
                "a force",
                self.forces
                    .iter()
                    .flat_map(|(_, f)| f)
                    .all(|v| v.is_finite())
                    && self
                        .along
                        .iter()
                        .all(|(probe, f)| f.is_finite() && probe.is_finite()),
            ),
            (
                "a uniform load",
                self.beam_loads
                    .iter()
                    .flat_map(|(_, q)| q)
                    .all(|v| v.is_finite()),
            ),
            (
                "an initial strain",
                self.strains.iter().all(|(_, s)| strain(s).is_finite()),
            ),
            (
                "a natural reading",
                self.natural.iter().all(|(_, r)| r.is_finite()),
            ),
        ];
        match values.iter().find(|(_, finite)| !finite) {
            Some((what, _)) => Err(StructureError::Load { what }),
            None => Ok(()),
        }
    }
}
