//! Members as straight prisms: where their faces are, and where one meets another.
//!
//! A section counts as the box around it. The local axes are those of [`Section`]: x along, y across, z in depth.

use crate::job::model::Point;
use crate::section::{Section, Shape};

/// Differences below this are rounding, mm.
pub(super) const ROUNDING_MM: f64 = 1e-6;

/// The box around a member: its centroid line and four long faces.
#[derive(Clone, Debug)]
pub(super) struct Prism {
    /// Start of the line.
    pub from: Point,
    /// Direction of the line, length one.
    pub along: Point,
    /// Length of the line.
    pub length: f64,
    /// Direction of the section's width, local y.
    pub across: Point,
    /// Direction of the section's depth, local z.
    pub depth: Point,
    /// Where the metal begins and ends along the line; it may go past the theoretical joints.
    pub reach: (f64, f64),
    /// Lowest and highest local y.
    pub width_range: (f64, f64),
    /// Lowest and highest local z.
    pub depth_range: (f64, f64),
    /// Whether the section is round.
    pub round: bool,
}

/// A long face of a prism.
#[derive(Clone, Copy, Debug)]
pub(super) struct Face {
    /// Out of the metal.
    pub normal: Point,
    /// Distance from the line of centroids.
    pub offset: f64,
}

impl Prism {
    /// A member from its line and the direction of its depth, which is turned square to the line.
    ///
    /// `None` when the line has no length or the depth runs along it.
    pub(super) fn new(from: Point, to: Point, section: &Section, depth: Point) -> Option<Self> {
        let length = (to - from).length();
        let along = (to - from).unit().filter(|_| length > ROUNDING_MM)?;
        let depth = depth.unit()?;
        let square = depth - along * depth.dot(along);
        let depth = square.unit().filter(|_| square.length() > 1e-3)?;
        let properties = section.properties();
        let [y, z] = properties.centroid_from_corner_mm;
        Some(Self {
            from,
            along,
            length,
            across: depth.cross(along),
            depth,
            reach: (0.0, length),
            width_range: (-y, properties.width_mm - y),
            depth_range: (-z, properties.depth_mm - z),
            round: matches!(section.shape(), Shape::Tube { .. } | Shape::Round { .. }),
        })
    }

    /// End of the line.
    pub(super) fn to(&self) -> Point {
        self.at(self.length)
    }

    /// The point at this distance from the start.
    pub(super) fn at(&self, distance: f64) -> Point {
        self.from + self.along * distance
    }

    /// The four long faces.
    pub(super) fn faces(&self) -> [Face; 4] {
        let face = |normal, offset| Face { normal, offset };
        [
            face(self.across, self.width_range.1),
            face(self.depth, self.depth_range.1),
            face(-self.across, -self.width_range.0),
            face(-self.depth, -self.depth_range.0),
        ]
    }

    /// The face that looks most in this direction.
    pub(super) fn face_towards(&self, direction: Point) -> Face {
        let mut faces = self.faces();
        faces.sort_by(|a, b| b.normal.dot(direction).total_cmp(&a.normal.dot(direction)));
        faces[0]
    }

    /// The eight corners of the box.
    pub(super) fn corners(&self) -> [Point; 8] {
        let pick = |(low, high): (f64, f64), upper: bool| if upper { high } else { low };
        std::array::from_fn(|k| {
            self.at(pick(self.reach, k & 1 != 0))
                + self.across * pick(self.width_range, k & 2 != 0)
                + self.depth * pick(self.depth_range, k & 4 != 0)
        })
    }

    /// Distance along the line of the foot of the perpendicular from a point.
    pub(super) fn station(&self, point: Point) -> f64 {
        (point - self.from).dot(self.along)
    }

    /// Distance of a point from the box; zero inside it.
    pub(super) fn distance(&self, point: Point) -> f64 {
        let from_start = point - self.from;
        let outside =
            |value: f64, (low, high): (f64, f64)| (low - value).max(value - high).max(0.0);
        Point::new(
            outside(from_start.dot(self.along), self.reach),
            outside(from_start.dot(self.across), self.width_range),
            outside(from_start.dot(self.depth), self.depth_range),
        )
        .length()
    }

    /// How far a point is inside the box, mm: to the nearest of its six faces; negative outside.
    pub(super) fn depth_inside(&self, point: Point) -> f64 {
        let from_start = point - self.from;
        [
            (self.along, self.reach),
            (self.across, self.width_range),
            (self.depth, self.depth_range),
        ]
        .into_iter()
        .map(|(axis, (low, high))| {
            let at = from_start.dot(axis);
            (at - low).min(high - at)
        })
        .fold(f64::INFINITY, f64::min)
    }

    /// Distance from a point on or in the box to where a line in this direction leaves it, through a long face or an end.
    /// Negative when the point is outside already.
    pub(super) fn room(&self, point: Point, direction: Point) -> f64 {
        let from_start = point - self.from;
        [
            (self.along, self.reach),
            (self.across, self.width_range),
            (self.depth, self.depth_range),
        ]
        .into_iter()
        .map(|(axis, (low, high))| {
            let (at, speed) = (from_start.dot(axis), direction.dot(axis));
            match speed {
                s if s > 1e-9 => (high - at) / s,
                s if s < -1e-9 => (low - at) / s,
                _ => f64::INFINITY,
            }
        })
        .fold(f64::INFINITY, f64::min)
    }

    /// The long face through which a line from `start` in `direction` enters the box, taken as endless, and how far away
    /// that is. `None` when it misses or starts inside.
    pub(super) fn entry(&self, start: Point, direction: Point) -> Option<(Face, f64)> {
        let mut entered: Option<(Face, f64)> = None;
        let mut leaves = f64::INFINITY;
        for face in self.faces() {
            let height = (start - self.from).dot(face.normal) - face.offset;
            let speed = direction.dot(face.normal);
            if speed.abs() < 1e-9 {
                if height > ROUNDING_MM {
                    return None;
                }
            } else if speed < 0.0 {
                let distance = height / -speed;
                if entered.is_none_or(|(_, so_far)| distance > so_far) {
                    entered = Some((face, distance));
                }
            } else {
                leaves = leaves.min(height / -speed);
            }
        }
        entered.filter(|(_, distance)| *distance > 0.0 && *distance <= leaves + ROUNDING_MM)
    }
}

/// A plane by a point on it and the direction out of the metal.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plane {
    pub point: Point,
    pub normal: Point,
}

impl Plane {
    /// Where a line meets the plane; `None` when it runs along it.
    pub(super) fn meets(&self, start: Point, direction: Point) -> Option<Point> {
        let speed = direction.dot(self.normal);
        let distance = (self.point - start).dot(self.normal) / speed;
        (speed.abs() > 1e-6 && distance.is_finite()).then(|| start + direction * distance)
    }
}

/// One side of the footprint of a member's end on a plane.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    pub from: Point,
    pub to: Point,
    /// Out of the ending member's face.
    pub face: Point,
    /// Away from the footprint, in the plane.
    pub away: Point,
}

impl Side {
    pub(super) fn middle(&self) -> Point {
        (self.from + self.to) * 0.5
    }
}

/// The four sides of the footprint of a prism on a plane that it meets.
///
/// A round footprint is given as four straight sides, each a quarter of the weld in length touching it in the middle.
pub(super) fn footprint(prism: &Prism, plane: Plane) -> Option<[Side; 4]> {
    let faces = prism.faces();
    let mut sides = Vec::with_capacity(4);
    let quarter = weld_quarter(prism, plane)?;
    for (k, face) in faces.iter().enumerate() {
        let (before, after) = (faces[(k + 3) % 4], faces[(k + 1) % 4]);
        let corner = |other: &Face| {
            let edge = prism.from + face.normal * face.offset + other.normal * other.offset;
            plane.meets(edge, prism.along)
        };
        let (mut from, mut to) = (corner(&before)?, corner(&after)?);
        if prism.round {
            let middle = (from + to) * 0.5;
            let half = (to - from).unit()? * (quarter / 2.0);
            (from, to) = (middle - half, middle + half);
        }
        let in_plane = face.normal - plane.normal * face.normal.dot(plane.normal);
        let line = (to - from).unit()?;
        let away = (in_plane - line * in_plane.dot(line)).unit()?;
        sides.push(Side {
            from,
            to,
            face: face.normal,
            away,
        });
    }
    sides.try_into().ok()
}

/// A quarter of the weld of a round end on a plane: an ellipse, by Ramanujan's second approximation (1914), within
/// 1e-4 for ends cut up to 80° from square.
fn weld_quarter(prism: &Prism, plane: Plane) -> Option<f64> {
    let radius = prism.depth_range.1;
    let slope = prism.along.dot(plane.normal).abs();
    let (short, long) = (radius, radius / slope);
    let h = ((long - short) / (long + short)).powi(2);
    let around =
        std::f64::consts::PI * (short + long) * (1.0 + 3.0 * h / (10.0 + (4.0 - 3.0 * h).sqrt()));
    around.is_finite().then_some(around / 4.0)
}
