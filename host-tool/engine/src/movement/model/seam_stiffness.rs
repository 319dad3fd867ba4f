//! How stiff a seam is between its two members: the weld metal and the walls beside it, one behind the other.

use super::seam_wall::SeamWall;
use crate::formulas::joint_shrinkage::JointCoefficients;
use crate::job::model::Point;
use crate::material::Material;

/// The weld and the metal right beside it count as a strip this many throats wide. Common practice, no source.
const WELD_GAUGE: f64 = 5.0;

/// The stiffness of a seam in its principal axes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SeamStiffness {
    /// Unit vectors: along the seam, then the two directions square to it in which it is softest and stiffest.
    pub(crate) axes: [Point; 3],
    /// Along these axes, N/mm; about them, N·mm/rad.
    pub(crate) values: [f64; 6],
}

impl SeamStiffness {
    /// Of a length of seam.
    pub(crate) fn new(
        line: Point,
        walls: &[SeamWall; 2],
        throat_mm: f64,
        length_mm: f64,
        material: &Material,
        coefficients: &JointCoefficients,
    ) -> Self {
        let modulus = material.youngs_modulus_mpa;
        // Compliance of a length of 1 mm, in the axes of the first wall: xx, xy, yy.
        let [x, y] = [walls[0].into, walls[0].normal];
        let weld = WELD_GAUGE / modulus;
        let (mut xx, mut xy, mut yy) = (weld, 0.0, weld);
        let mut hinge = 12.0 * WELD_GAUGE / (modulus * throat_mm.powi(2));
        for wall in walls {
            let t = wall.thickness_mm;
            let in_plane = coefficients.in_plane_mm / (modulus * t);
            let bending = coefficients.bending * wall.reach_mm.powi(3) / (modulus * t.powi(3));
            hinge += coefficients.hinge * wall.reach_mm * 12.0 / (modulus * t.powi(3));
            for (direction, compliance) in [(wall.into, in_plane), (wall.normal, bending)] {
                let (a, b) = (direction.dot(x), direction.dot(y));
                xx += compliance * a * a;
                xy += compliance * a * b;
                yy += compliance * b * b;
            }
        }
        let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
        let (sin, cos) = angle.sin_cos();
        let first = x * cos + y * sin;
        let along = |c: f64, s: f64| xx * c * c + 2.0 * xy * c * s + yy * s * s;
        let [soft, stiff] = [along(cos, sin), along(-sin, cos)].map(|one| length_mm / one);
        let shear = material.shear_modulus_mpa() * length_mm / WELD_GAUGE;
        let lever = length_mm * length_mm / 12.0;
        Self {
            axes: [line, first, line.cross(first)],
            values: [
                shear,
                soft,
                stiff,
                length_mm / hinge,
                stiff * lever,
                soft * lever,
            ],
        }
    }
}
