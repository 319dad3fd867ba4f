//! How the wall of a tube gives where another member is welded onto it.

use super::line::{Line, metal};
use crate::job::model::{Job, Member, Point};
use crate::section::{Section, Shape};

/// The stiffness of a joint in its own axes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Joint {
    /// Along the member that ends there; along the other; square to both.
    pub axes: [Point; 3],
    /// Against movement along these axes, N/mm, then against turning about them, N·mm/rad.
    pub stiffness: [f64; 6],
}

/// Stiffness of a weld against movement (N/mm) and turning (N·mm/rad) where no wall gives: far stiffer than the members.
const RIGID: [f64; 2] = [1e10, 1e12];

const AXES: [Point; 3] = [
    Point::new(1.0, 0.0, 0.0),
    Point::new(0.0, 1.0, 0.0),
    Point::new(0.0, 0.0, 1.0),
];

impl Joint {
    /// Of two members that are welded at a point.
    ///
    /// Where one ends square on the face of a rectangular tube that is wider, that face is a strip of plate, built in at
    /// its side walls: beside the foot it resists with 2·E·t³/((1 − ν²)·g³) for each mm along the tube, g from side wall to
    /// side wall, over the depth of the foot and g more. Plate theory (any text); the length beyond the foot is our own.
    pub fn of(job: &Job, members: [usize; 2], at: Point) -> Self {
        let [r, t] = RIGID;
        let rigid = Self {
            axes: AXES,
            stiffness: [r, r, r, t, t, t],
        };
        let [a, b] = members;
        on_face(job, a, b, at)
            .or_else(|| on_face(job, b, a, at))
            .unwrap_or(rigid)
    }
}

/// The joint of a member that ends on the face of another; `None` where no face gives.
fn on_face(job: &Job, ending: usize, through: usize, at: Point) -> Option<Joint> {
    let (one, tube) = (&job.members[ending], &job.members[through]);
    let (branch, chord) = (Line::of(one), Line::of(tube));
    let [first, last] = metal(job, ending);
    let foot = branch.foot(at);
    let ends = (foot - first).abs().min((foot - last).abs()) < 5.0;
    let Shape::Box { wall_mm, .. } = *tube.section.shape() else {
        return None;
    };
    let square = branch.axis.dot(chord.axis).abs() < 0.2;
    if !(ends && square) {
        return None;
    }
    let across = branch.axis.cross(chord.axis).unit()?;
    let wide = size(tube, across) - wall_mm;
    let (foot_wide, foot_deep) = (foot_size(one, across), foot_size(one, chord.axis));
    let gap = 0.5 * (wide - foot_wide);
    if gap < wall_mm {
        return None;
    }
    let material = &job.material;
    let plate = material.youngs_modulus_mpa / (1.0 - material.poisson_ratio.powi(2));
    let per_mm = 2.0 * plate * (wall_mm / gap).powi(3);
    let long = foot_deep + gap;
    let [r, t] = RIGID;
    let along_tube = per_mm * long * foot_wide * foot_wide / 4.0;
    Some(Joint {
        axes: [branch.axis, chord.axis, across],
        stiffness: [
            per_mm * long,
            r,
            r,
            t,
            along_tube.min(t),
            per_mm * long.powi(3) / 12.0,
        ],
    })
}

/// Size of a member in a direction square to it, mm.
fn size(member: &Member, direction: Point) -> f64 {
    2.0 * super::line::half_size(member, direction)
}

/// The same from the middle of one wall to the middle of the other, for a tube.
fn foot_size(member: &Member, direction: Point) -> f64 {
    let hollow =
        |section: &Section| matches!(section.shape(), Shape::Box { .. } | Shape::Tube { .. });
    let wall = if hollow(&member.section) {
        member.section.properties().thinnest_wall_mm
    } else {
        0.0
    };
    size(member, direction) - wall
}
