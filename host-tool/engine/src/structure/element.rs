//! The beam element: its stiffness between two nodes, and the forces that its loads put on them.
//!
//! A Timoshenko beam: Przemieniecki, *Theory of Matrix Structural Analysis*, 1968, section 5.6. Shear and torsion act
//! at the shear centre, axial force and bending at the centroid. Rigid arms may lead from the nodes to the ends of the
//! beam, and springs may join the ends to the arms. The springs are eliminated here (static condensation), so that a
//! node has six unknowns and no more.

use super::beam::{Beam, BeamStiffness};
use super::block::Block;
use super::error::StructureError;
use super::fixity::Fixity;
use super::load::InitialStrain;
use crate::algebra::{cross, dot, from_to, norm};

/// Forces at the two ends in the order of [`Matrix`]'s rows.
pub(super) type Ends = [f64; 12];
/// Stiffness between the displacements of end 0 (x, y, z, about x, y, z) and those of end 1.
pub(super) type Matrix = [[f64; 12]; 12];

/// A beam placed in space.
pub(super) struct Placed {
    /// Local axes x, y, z in global components.
    axes: [[f64; 3]; 3],
    length: f64,
}

impl Beam {
    pub(super) fn place(&self, nodes: &[[f64; 3]]) -> Result<Placed, StructureError> {
        let end = |k: usize| {
            let (node, arm) = (nodes[self.nodes[k]], self.offsets[k]);
            [node[0] + arm[0], node[1] + arm[1], node[2] + arm[2]]
        };
        let (from, to) = (end(0), end(1));
        let along = from_to(from, to);
        let length = norm(along);
        if length <= 1e-6 || self.nodes[0] == self.nodes[1] {
            return Err(StructureError::ZeroLength {
                member: self.member,
                nodes: self.nodes,
            });
        }
        let x = along.map(|c| c / length);
        let side = cross(self.depth_axis, x);
        let size = norm(side);
        if !(size > 1e-6 * norm(self.depth_axis) && size.is_finite()) {
            return Err(StructureError::DepthAxis {
                member: self.member,
            });
        }
        let y = side.map(|c| c / size);
        Ok(Placed {
            axes: [x, y, cross(x, y)],
            length,
        })
    }

    /// Stiffness between the arms and forces on the arms in local axes, with the end springs eliminated.
    pub(super) fn condensed(
        &self,
        placed: &Placed,
        strain: InitialStrain,
        load: [f64; 3],
    ) -> Result<(Matrix, Ends), StructureError> {
        let mut k = self.stiffness.matrix(placed.length);
        let mut p = self.stiffness.fixed_end_forces(
            placed.length,
            strain,
            placed.axes.map(|axis| dot(axis, load)),
        );
        let own: [f64; 12] = std::array::from_fn(|i| k[i][i]);
        for i in 0..12 {
            let spring = match self.ends[i / 6][i % 6] {
                Fixity::Fixed => continue,
                Fixity::Spring(s) => s,
                Fixity::Free => 0.0,
            };
            let pivot = k[i][i] + spring;
            if pivot <= 1e-12 * own[i] {
                return Err(StructureError::BeamMechanism {
                    member: self.member,
                    how: FREEDOMS[i % 6],
                });
            }
            eliminate(&mut k, &mut p, i, spring, pivot);
        }
        Ok((k, p))
    }

    /// Hands `take` the stiffness between the two nodes in global axes: the blocks (0, 0), (1, 0) and (1, 1).
    pub(super) fn stiffness(
        &self,
        nodes: &[[f64; 3]],
        mut take: impl FnMut(usize, usize, &Block),
    ) -> Result<(), StructureError> {
        let placed = self.place(nodes)?;
        let (k, _) = self.condensed(&placed, InitialStrain::default(), [0.0; 3])?;
        let arms = [placed.arm(self.offsets[0]), placed.arm(self.offsets[1])];
        for (row, column) in [(0, 0), (1, 0), (1, 1)] {
            let local = Block::from_fn(|r, c| k[6 * row + r][6 * column + c]);
            take(
                row,
                column,
                &arms[row].transposed_times(&local.times(&arms[column])),
            );
        }
        Ok(())
    }

    /// uᵀ K u for displacements of the nodes, N·mm. The rigid motion of end 0 is subtracted before the product, so that a
    /// rigid motion of the beam gives zero but for the square of rounding.
    pub(super) fn work(
        &self,
        nodes: &[[f64; 3]],
        moved: [[f64; 6]; 2],
    ) -> Result<f64, StructureError> {
        let placed = self.place(nodes)?;
        let (k, _) = self.condensed(&placed, InitialStrain::default(), [0.0; 3])?;
        let [u, mut rest] =
            [0, 1].map(|end| placed.arm(self.offsets[end]).times_vector(&moved[end]));
        rest.iter_mut().zip(u).for_each(|(r, u)| *r -= u);
        rest[1] -= u[5] * placed.length;
        rest[2] += u[4] * placed.length;
        let force = |i: usize| -> f64 { rest.iter().zip(&k[6 + i][6..]).map(|(u, k)| k * u).sum() };
        Ok((0..6).map(|i| rest[i] * force(i)).sum())
    }

    /// Forces on the nodes in global axes that are equivalent to the beam's initial strain and load.
    pub(super) fn node_forces(
        &self,
        nodes: &[[f64; 3]],
        strain: InitialStrain,
        load: [f64; 3],
    ) -> Result<[[f64; 6]; 2], StructureError> {
        let placed = self.place(nodes)?;
        let (_, p) = self.condensed(&placed, strain, load)?;
        Ok([0, 1].map(|end| {
            let local = std::array::from_fn(|i| p[6 * end + i]);
            placed
                .arm(self.offsets[end])
                .transposed_times_vector(&local)
        }))
    }
}

/// What a beam can do when both its ends are released in the same direction.
const FREEDOMS: [&str; 6] = [
    "slides along itself",
    "moves along its local y",
    "moves along its local z",
    "spins about itself",
    "turns about its local y",
    "turns about its local z",
];

/// Puts a spring between row `i` of the beam and its arm, and eliminates the beam's own displacement there.
fn eliminate(k: &mut Matrix, p: &mut Ends, i: usize, spring: f64, pivot: f64) {
    let row = k[i];
    let (own, force) = (row[i], p[i]);
    for r in 0..12 {
        if r == i {
            continue;
        }
        for c in 0..12 {
            if c != i {
                k[r][c] -= row[r] * row[c] / pivot;
            }
        }
        k[r][i] = row[r] * spring / pivot;
        k[i][r] = k[r][i];
        p[r] -= row[r] * force / pivot;
    }
    k[i][i] = own * spring / pivot;
    p[i] = force * spring / pivot;
}

impl Placed {
    /// From the global displacements of a node to the local ones of the beam's end: u_end = u + θ × arm.
    pub(super) fn arm(&self, arm: [f64; 3]) -> Block {
        // axis · (θ × arm) = θ · (arm × axis)
        let levers = self.axes.map(|axis| cross(arm, axis));
        Block::from_fn(|r, c| match (r, c) {
            (0..3, 0..3) => self.axes[r][c],
            (0..3, _) => levers[r][c - 3],
            (_, 0..3) => 0.0,
            _ => self.axes[r - 3][c - 3],
        })
    }
}

impl BeamStiffness {
    /// Stiffness of a beam of this length, mm, in local axes at the centroid.
    fn matrix(&self, length: f64) -> Matrix {
        let principal = self.principal_matrix(length);
        if self.is_aligned() {
            return principal;
        }
        let to = self.principal_from_local();
        let mut k = [[0.0; 12]; 12];
        for (row, column) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
            let block = Block::from_fn(|r, c| principal[6 * row + r][6 * column + c]);
            let turned = to.transposed_times(&block.times(&to));
            for r in 0..6 {
                for c in 0..6 {
                    k[6 * row + r][6 * column + c] = turned.at(r, c);
                }
            }
        }
        k
    }

    fn is_aligned(&self) -> bool {
        self.principal_angle_rad == 0.0 && self.shear_centre_mm == [0.0; 2]
    }

    /// From the displacements and rotations of the centroid in local axes to those of the shear centre in (x, 1, 2).
    fn principal_from_local(&self) -> Block {
        let (sin, cos) = self.principal_angle_rad.sin_cos();
        let [ys, zs] = self.shear_centre_mm;
        let rows = [
            [1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
            [0.0, cos, sin, -cos * zs + sin * ys, 0.0, 0.0],
            [0.0, -sin, cos, sin * zs + cos * ys, 0.0, 0.0],
            [0.0, 0.0, 0.0, 1.0, 0.0, 0.0],
            [0.0, 0.0, 0.0, 0.0, cos, sin],
            [0.0, 0.0, 0.0, 0.0, -sin, cos],
        ];
        Block::from_fn(|r, c| rows[r][c])
    }

    fn principal_matrix(&self, length: f64) -> Matrix {
        let mut k = [[0.0; 12]; 12];
        let mut pair = |row: usize, stiffness: f64| {
            k[row][row] = stiffness;
            k[row + 6][row + 6] = stiffness;
            k[row][row + 6] = -stiffness;
            k[row + 6][row] = -stiffness;
        };
        pair(0, self.axial_n / length);
        pair(3, self.torsion_n_mm2 / length);
        bend(
            &mut k,
            [1, 5],
            self.bending_2_n_mm2,
            self.shear_1_n,
            length,
            1.0,
        );
        bend(
            &mut k,
            [2, 4],
            self.bending_1_n_mm2,
            self.shear_2_n,
            length,
            -1.0,
        );
        k
    }

    /// Forces on the nodes in local axes that are equivalent to the strain and the load (N/mm) of the beam: the
    /// fixed-end forces with their sign reversed.
    fn fixed_end_forces(&self, length: f64, strain: InitialStrain, load: [f64; 3]) -> Ends {
        let mut p = [0.0; 12];
        let (sin, cos) = self.principal_angle_rad.sin_cos();
        let (ky, kz) = (strain.curvature_y_per_mm, strain.curvature_z_per_mm);
        let about_1 = self.bending_1_n_mm2 * (cos * ky + sin * kz);
        let about_2 = self.bending_2_n_mm2 * (cos * kz - sin * ky);
        let blocked = [
            self.axial_n * strain.axial,
            cos * about_1 - sin * about_2,
            sin * about_1 + cos * about_2,
        ];
        for (row, value) in [0, 4, 5].into_iter().zip(blocked) {
            p[row] -= value;
            p[row + 6] += value;
        }
        for axis in 0..3 {
            p[axis] += load[axis] * length / 2.0;
            p[axis + 6] += load[axis] * length / 2.0;
        }
        // A load along y bends about z, one along z about −y.
        for (row, value) in [(5, load[1]), (4, -load[2])] {
            p[row] += value * length * length / 12.0;
            p[row + 6] -= value * length * length / 12.0;
        }
        p
    }
}

/// Bending in one plane: rows of the displacement and the rotation of end 0, and the sign of their coupling.
fn bend(
    k: &mut Matrix,
    [shift, turn]: [usize; 2],
    bending: f64,
    shear: f64,
    length: f64,
    sign: f64,
) {
    let phi = 12.0 * bending / (shear * length * length);
    let base = bending / ((1.0 + phi) * length);
    let (kk, kt) = (12.0 * base / (length * length), sign * 6.0 * base / length);
    let (near, far) = ((4.0 + phi) * base, (2.0 - phi) * base);
    let rows = [shift, turn, shift + 6, turn + 6];
    let values = [
        [kk, kt, -kk, kt],
        [kt, near, -kt, far],
        [-kk, -kt, kk, -kt],
        [kt, far, -kt, near],
    ];
    for (r, row) in rows.into_iter().zip(values) {
        for (c, value) in rows.into_iter().zip(row) {
            k[r][c] = value;
        }
    }
}
