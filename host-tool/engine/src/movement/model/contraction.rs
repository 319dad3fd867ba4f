//! The ways in which a seam moves its second member against its first as it cools.

use super::beam_model::SegmentGeometry;
use crate::algebra::{Matrix6, Vector6, dot6};
use crate::job::model::Point;

/// The contraction of a seam in the six coordinates of its pair.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Contraction {
    /// Reads how far the seam has opened: nought as drawn, mm.
    opening: Vector6,
    /// The walls pull the members together.
    pub(crate) closing: Mode,
    /// The wall that stands on the other turns towards the torch.
    pub(crate) turning: Mode,
    /// Where the torch goes last, the seam closes more: as drawn, for a tilt of 1 rad.
    pub(crate) tilting: Mode,
}

/// One way to move: the motion of a pair for one unit, and the force on a joint that cannot follow.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mode {
    pub(crate) motion: Vector6,
    force: Vector6,
}

/// How the walls of a seam close it, from geometry alone.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Closing {
    /// Unit vector in which the second member moves against the first; `None` when no wall ends at the seam.
    pub(crate) direction: Option<Point>,
    /// Closing for each millimetre by which the thinner wall would contract if it took all the heat.
    pub(crate) per_contraction: f64,
    /// Whether both walls end at the seam, edge to edge.
    pub(crate) is_butt: bool,
    /// 1 for walls in one plane, 0 for walls at right angles.
    pub(crate) in_one_plane: f64,
    /// Reach of the wall that goes on, in thicknesses; 0 when both end.
    pub(crate) softness: f64,
}

impl Closing {
    /// Of a segment.
    pub(crate) fn of(segment: &SegmentGeometry) -> Self {
        let [first, second] = segment.walls;
        let thinnest_mm = first.thickness_mm.min(second.thickness_mm);
        let pulls = [0, 1].map(|side| {
            let wall = segment.walls[side];
            let ends = if wall.goes_on { 0.0 } else { 1.0 };
            ends * segment.shares[side] * thinnest_mm / wall.thickness_mm
        });
        let moved = first.into * pulls[0] - second.into * pulls[1];
        Self {
            direction: moved.unit(),
            per_contraction: moved.length(),
            is_butt: !first.goes_on && !second.goes_on,
            in_one_plane: (-first.into.dot(second.into)).max(0.0),
            softness: segment
                .walls
                .iter()
                .filter(|wall| wall.goes_on)
                .map(|wall| wall.reach_mm / wall.thickness_mm)
                .fold(0.0, f64::max),
        }
    }
}

impl Contraction {
    /// Of a segment: `arm` is from the pair to the seam, `stiffness` that of the segment.
    pub(crate) fn new(segment: &SegmentGeometry, arm: Point, stiffness: &Matrix6) -> Self {
        let closing = Closing::of(segment);
        let opening = closing.direction.map_or(segment.across, |one| -one);
        let about_pair = arm.cross(opening);
        let tilt = closing
            .direction
            .filter(|_| segment.is_whole)
            .map_or(Point::default(), |one| segment.line.cross(one));
        Self {
            opening: six(opening, about_pair),
            closing: Mode::new(
                six(closing.direction.unwrap_or_default(), Point::default()),
                stiffness,
            ),
            turning: Mode::new(rotation(turning(segment), arm), stiffness),
            tilting: Mode::new(rotation(tilt, arm), stiffness),
        }
    }

    /// How far the seam of a pair with this movement has opened, mm.
    pub(crate) fn opening_mm(&self, moved: &Vector6) -> f64 {
        dot6(&self.opening, moved)
    }
}

/// The rotation of the second member against the first for each unit of turning: the wall that stands on the other turns
/// towards the torch.
fn turning(segment: &SegmentGeometry) -> Point {
    let [first, second] = segment.walls;
    let towards_torch = |into: Point| {
        let out = segment.outward - segment.line * segment.outward.dot(segment.line);
        let side = out - into * out.dot(into);
        side.unit()
            .map_or(Point::default(), |side| into.cross(side))
    };
    match (first.goes_on, second.goes_on) {
        (true, false) => towards_torch(second.into),
        (false, true) => -towards_torch(first.into),
        _ => Point::default(),
    }
}

const fn six(shift: Point, turn: Point) -> Vector6 {
    [shift.x, shift.y, shift.z, turn.x, turn.y, turn.z]
}

/// A rotation about the seam, as the pair sees it.
fn rotation(turn: Point, arm: Point) -> Vector6 {
    six(arm.cross(turn), turn)
}

impl Mode {
    fn new(motion: Vector6, stiffness: &Matrix6) -> Self {
        Self {
            motion,
            force: stiffness.each_ref().map(|row| dot6(row, &motion)),
        }
    }

    /// The force on a joint that cannot move, for an amount of the mode.
    pub(crate) fn add_force(&self, amount: f64, force: &mut Vector6) {
        force
            .iter_mut()
            .zip(&self.force)
            .for_each(|(sum, one)| *sum += amount * one);
    }

    /// The amount, or less where the weld would yield: of the force of an amount, a part is left in the weld once the
    /// joint has moved with compliance G, and that cannot be more than the limit.
    pub(crate) fn limited(&self, amount: f64, compliance: &Matrix6, limit_n: f64) -> f64 {
        let moved = compliance.each_ref().map(|row| dot6(row, &self.force));
        let left = amount * (dot6(&self.motion, &self.force) - dot6(&self.force, &moved));
        if left > limit_n {
            amount * limit_n / left
        } else {
            amount
        }
    }
}
