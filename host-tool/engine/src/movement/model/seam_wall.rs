//! The two walls that meet at a seam: which way each runs from the seam into its member, and what holds it.
//!
//! A joint of thin walls moves where they are soft. A wall is stiff in its own plane and soft square to it, and it
//! shrinks in its own plane. So a tee and a mitre differ only in how their two walls lie.

use super::cut::runs_along;
use crate::job::model::{Member, Point};

/// A wall of a member at a seam.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SeamWall {
    /// Unit vector in the wall, square to the seam, from the seam into the metal.
    pub(crate) into: Point,
    /// Unit vector square to the wall.
    pub(crate) normal: Point,
    /// Its thickness, mm.
    pub(crate) thickness_mm: f64,
    /// How far from the seam the other walls of the member hold it, mm: over this length it bends.
    pub(crate) reach_mm: f64,
    /// Whether the wall goes on past both sides of the seam, as the face of a rail does under a bar.
    pub(crate) goes_on: bool,
}

/// A seam on one of its members.
#[derive(Clone, Copy)]
pub(crate) struct SeamOn<'a> {
    pub(crate) member: &'a Member,
    /// Unit vector along the member, away from the joint if it ends there.
    pub(crate) away: Point,
    pub(crate) ends_here: bool,
    /// Middle of the seam.
    pub(crate) at: Point,
    /// Unit vector along the seam.
    pub(crate) line: Point,
    /// Across the seam, from one member to the other; either sign.
    pub(crate) across: Point,
}

/// The line of the seam at a point between two members: where their faces meet, or, for faces in one plane, along the cut.
pub(crate) fn seam_line(on: [SeamOn<'_>; 2]) -> Point {
    let normals = on.map(|one| one.nearest_faces()[0].outward);
    let meet = normals[0].cross(normals[1]);
    if meet.length() > 0.5 {
        return meet.unit().unwrap_or_default();
    }
    let across = on[0].across - normals[0] * on[0].across.dot(normals[0]);
    let line = normals[0].cross(across).unit();
    line.or_else(|| normals[0].cross(Point::new(1.0, 0.0, 0.0)).unit())
        .unwrap_or(Point::new(0.0, 1.0, 0.0))
}

/// A face of the box round a section.
struct Face {
    /// Unit vector out of it.
    outward: Point,
    /// From the seam inwards to the face, mm; 0 when the seam lies on it.
    below_mm: f64,
    /// Size of the section square to the face, mm.
    through_mm: f64,
}

impl SeamOn<'_> {
    /// The wall at the seam.
    pub(crate) fn wall(&self) -> SeamWall {
        if self.ends_here && !runs_along(self.line, self.away) {
            return self.new_wall(self.away, self.member.size_along(self.line), false);
        }
        let [first, second] = self.nearest_faces();
        let touch_mm = self.thickness_mm().max(1.0);
        if second.below_mm > touch_mm {
            // On the face: the wall goes on both ways.
            let reach = if runs_along(self.line, self.away) {
                second.below_mm.max(touch_mm)
            } else {
                second.through_mm
            };
            let in_face = self.line.cross(first.outward);
            return self.new_wall(in_face, reach, true);
        }
        // On an edge of the box: of the two faces that meet there, the one that runs across the seam.
        let [one, other] = [-second.outward, -first.outward];
        let (into, reach) = if self.prefers(one, other, &second, &first) {
            (one, second.through_mm)
        } else {
            (other, first.through_mm)
        };
        self.new_wall(into, reach, false)
    }

    /// Whether the wall at an edge runs along `one` rather than along `other`.
    fn prefers(&self, one: Point, other: Point, along_one: &Face, along_other: &Face) -> bool {
        let across = one.dot(self.across).abs() - other.dot(self.across).abs();
        if across.abs() > 1e-6 {
            return across > 0.0;
        }
        along_one.through_mm > along_other.through_mm
    }

    fn new_wall(&self, into: Point, reach_mm: f64, goes_on: bool) -> SeamWall {
        let square = into - self.line * into.dot(self.line);
        let into = square
            .unit()
            .or_else(|| self.line.cross(self.away).unit())
            .unwrap_or(self.across);
        SeamWall {
            into,
            normal: self.line.cross(into),
            thickness_mm: self.thickness_mm(),
            reach_mm,
            goes_on,
        }
    }

    fn thickness_mm(&self) -> f64 {
        self.member.section.properties().thinnest_wall_mm
    }

    /// The two faces of the box round the section that are nearest to the seam, of those square to each other.
    fn nearest_faces(&self) -> [Face; 2] {
        let properties = self.member.section.properties();
        let axis = self.member.axis();
        let offset = self.at - (self.member.from + axis * (self.at - self.member.from).dot(axis));
        let [centroid_y, centroid_z] = properties.centroid_from_corner_mm;
        let face = |direction: Point, size_mm: f64, centroid_mm: f64| {
            let at = offset.dot(direction);
            let (above, below) = (size_mm - centroid_mm - at, centroid_mm + at);
            let (outward, below_mm) = if above <= below {
                (direction, above)
            } else {
                (-direction, below)
            };
            Face {
                outward,
                below_mm: below_mm.max(0.0),
                through_mm: size_mm,
            }
        };
        let depth_axis = self.member.depth_axis;
        let depth = face(depth_axis, properties.depth_mm, centroid_z);
        let width = face(depth_axis.cross(axis), properties.width_mm, centroid_y);
        if depth.below_mm <= width.below_mm {
            [depth, width]
        } else {
            [width, depth]
        }
    }
}
