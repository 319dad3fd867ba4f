//! A beam element: a straight length of a member, as data.

use super::error::StructureError;
use super::fixity::Fixity;
use crate::material::Material;
use crate::section::Section;

/// Stiffness of a beam's cross-section, about the principal axes of the section; positive, at most 1e20.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeamStiffness {
    /// E·A, N.
    pub axial_n: f64,
    /// E·I about principal axis 1, N·mm².
    pub bending_1_n_mm2: f64,
    /// E·I about principal axis 2, N·mm².
    pub bending_2_n_mm2: f64,
    /// G·It, N·mm².
    pub torsion_n_mm2: f64,
    /// G times the shear area for force along principal axis 1, N; infinity leaves shear deformation out.
    pub shear_1_n: f64,
    /// G times the shear area for force along principal axis 2, N; infinity leaves shear deformation out.
    pub shear_2_n: f64,
    /// Angle from local y to principal axis 1, towards z, rad.
    pub principal_angle_rad: f64,
    /// Shear centre from the centroid, local (y, z), mm.
    pub shear_centre_mm: [f64; 2],
}

impl BeamStiffness {
    /// The stiffness of a section in a material.
    #[must_use]
    pub fn of(section: &Section, material: &Material) -> Self {
        let p = section.properties();
        let (e, g) = (material.youngs_modulus_mpa, material.shear_modulus_mpa());
        // Shear flexibility transforms like a tensor; its small mixed term is left out.
        let (sin, cos) = p.principal_angle_rad.sin_cos();
        let (along_y, along_z) = (1.0 / p.shear_area_y_mm2, 1.0 / p.shear_area_z_mm2);
        Self {
            axial_n: e * p.area_mm2,
            bending_1_n_mm2: e * p.principal_1_mm4,
            bending_2_n_mm2: e * p.principal_2_mm4,
            torsion_n_mm2: g * p.torsion_constant_mm4,
            shear_1_n: g / (cos * cos * along_y + sin * sin * along_z),
            shear_2_n: g / (sin * sin * along_y + cos * cos * along_z),
            principal_angle_rad: p.principal_angle_rad,
            shear_centre_mm: p.shear_centre_offset_mm,
        }
    }

    fn invalid(&self) -> Option<&'static str> {
        let positive = |v: f64| v > 0.0 && v <= 1e20;
        let shear = |v: f64| v > 0.0;
        let rows = [
            (positive(self.axial_n), "the axial stiffness"),
            (
                positive(self.bending_1_n_mm2) && positive(self.bending_2_n_mm2),
                "the bending stiffness",
            ),
            (positive(self.torsion_n_mm2), "the torsional stiffness"),
            (
                shear(self.shear_1_n) && shear(self.shear_2_n),
                "the shear stiffness",
            ),
            (self.principal_angle_rad.is_finite(), "the principal angle"),
            (
                self.shear_centre_mm.iter().all(|c| c.is_finite()),
                "the shear centre",
            ),
        ];
        rows.iter().find(|(good, _)| !good).map(|(_, what)| *what)
    }
}

/// A straight beam between two nodes.
#[derive(Clone, Debug, PartialEq)]
pub struct Beam {
    /// The caller's number of the member that this is a length of; used in messages.
    pub member: usize,
    /// Nodes at its ends.
    pub nodes: [usize; 2],
    /// Direction of the section's depth (local z), global; any vector at an angle to the beam. Only its part square to the
    /// beam counts.
    pub depth_axis: [f64; 3],
    /// Rigid arm from each node to the beam's end on its centroid line, global, mm; each component at most 1e6.
    pub offsets: [[f64; 3]; 2],
    /// How each end is joined to its arm: displacement along local x, y, z, then rotation about them.
    pub ends: [[Fixity; 6]; 2],
    /// Its stiffness.
    pub stiffness: BeamStiffness,
}

impl Beam {
    /// A beam from node to node, without arms, rigidly joined to both.
    #[must_use]
    pub fn new(
        member: usize,
        nodes: [usize; 2],
        depth_axis: [f64; 3],
        stiffness: BeamStiffness,
    ) -> Self {
        Self {
            member,
            nodes,
            depth_axis,
            offsets: [[0.0; 3]; 2],
            ends: [[Fixity::Fixed; 6]; 2],
            stiffness,
        }
    }

    pub(super) fn check(&self, nodes: &[[f64; 3]]) -> Result<(), StructureError> {
        let member = self.member;
        if let Some(what) = self.stiffness.invalid() {
            return Err(StructureError::BeamValue { member, what });
        }
        if !self.offsets.iter().flatten().all(|c| c.abs() <= 1e6) {
            return Err(StructureError::BeamValue {
                member,
                what: "an end offset",
            });
        }
        if !self.ends.iter().flatten().all(|fixity| fixity.is_valid()) {
            return Err(StructureError::BeamValue {
                member,
                what: "an end spring",
            });
        }
        self.place(nodes).map(|_| ())
    }
}
