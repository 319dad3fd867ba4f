//! A flat frame among the members: four sides of one section round all the rest.

use super::ends::LineMember;
use crate::geometry::Point;
use crate::section::Shape;

/// A flat frame: its lower left corner, centre to centre, its size, and its sides in the order bottom, right, top, left.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rectangle {
    pub low: Point,
    pub size: [f64; 2],
    /// What its section measures in the plane of the frame, mm.
    pub face_mm: f64,
    pub sides: [usize; 4],
}

/// The names that the sides have in a job.
pub(super) const SIDES: [&str; 4] = ["bottom rail", "right upright", "top rail", "left upright"];

impl Rectangle {
    /// The frame, if all members lie in one plane and the outermost four are its sides.
    pub(super) fn among(members: &[LineMember], tolerance_mm: f64) -> Option<Self> {
        let mut points = members.iter().flat_map(|member| member.ends);
        let first = points.next()?;
        let (mut low, mut high) = (first, first);
        for point in points {
            low = Point::new(low.x.min(point.x), low.y.min(point.y), low.z.min(point.z));
            high = Point::new(
                high.x.max(point.x),
                high.y.max(point.y),
                high.z.max(point.z),
            );
        }
        if high.z - low.z > tolerance_mm {
            return None;
        }
        let corner = |x: f64, y: f64| Point::new(x, y, low.z);
        let corners = [
            corner(low.x, low.y),
            corner(high.x, low.y),
            corner(high.x, high.y),
            corner(low.x, high.y),
        ];
        let side = |k: usize| {
            let [a, b] = [corners[k], corners[(k + 1) % 4]];
            let near = |p: Point, q: Point| (p - q).length() <= 2.0 * tolerance_mm;
            members.iter().position(|member| {
                let [from, to] = member.ends;
                (near(from, a) && near(to, b)) || (near(from, b) && near(to, a))
            })
        };
        let sides = [side(0)?, side(1)?, side(2)?, side(3)?];
        let section = &members[sides[0]].section;
        let alike = sides.iter().all(|&side| members[side].section == *section);
        let shape = section.shape();
        let lopsided = matches!(shape, Shape::Angle { .. } | Shape::Channel { .. });
        (alike && !lopsided).then(|| Self {
            low,
            size: [high.x - low.x, high.y - low.y],
            face_mm: section.properties().depth_mm,
            sides,
        })
    }

    /// A point of the drawing in the coordinates of the job: from the lower left outside corner.
    pub(super) fn in_job(&self, point: Point) -> Point {
        let half = self.face_mm / 2.0;
        point - self.low + Point::new(half, half, 0.0)
    }
}
