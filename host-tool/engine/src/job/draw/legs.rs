//! Draws `[frame.legs]`: four legs on the corners of the frame, up or down, plumb or splayed, and rails round them.
//!
//! Legs and rails have the names of the object as it stands: the lower edge of the drawing is its front.

use super::ByTable;
use super::drawing::{DrawnMember, End};
use super::names::CORNERS_SEEN_FROM_ABOVE;
use super::solid::{Plane, Prism, footprint};
use crate::job::model::Point;
use crate::job::read::frame::{FrontFace, Legs, Part};

/// The legs on the corners of the frame, anticlockwise from above; to the right and to the back as signs.
const LEGS: [(&str, [f64; 2]); 4] = [
    ("front left leg", [-1.0, -1.0]),
    ("front right leg", [1.0, -1.0]),
    ("back right leg", [1.0, 1.0]),
    ("back left leg", [-1.0, 1.0]),
];

/// The sides of the object with the legs at their ends, as indices of [`LEGS`].
const SIDES: [(&str, [usize; 2]); 4] = [
    ("front", [0, 1]),
    ("right", [1, 2]),
    ("back", [3, 2]),
    ("left", [0, 3]),
];

const UP: Point = Point::new(0.0, 0.0, 1.0);
const BACK: Point = Point::new(0.0, 1.0, 0.0);

impl ByTable<'_> {
    /// Draws the legs of a frame, and the rails round them.
    pub(super) fn legs(&mut self, legs: &Legs) -> Option<()> {
        let span = &legs.part.welding.span;
        let heights = self.drawing.members.iter().flat_map(|m| m.prism.corners());
        let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
            (low.min(at.z), high.max(at.z))
        });
        let (face, far) = if legs.up {
            (high, low + legs.height.get_ref())
        } else {
            (low, high - legs.height.get_ref())
        };
        if (far - face).abs() < 1.0 || (far > face) != legs.up {
            self.reader.error(
                &legs.height.span(),
                "the legs have no length",
                format!(
                    "'height' is from the floor to the top, and the frame alone is {:.1} mm",
                    high - low
                ),
            );
            return None;
        }
        let mut drawn = Vec::new();
        for (corner, (name, out)) in CORNERS_SEEN_FROM_ABOVE.into_iter().zip(LEGS) {
            let Some(joint) = self
                .drawing
                .joints
                .iter()
                .position(|joint| joint.name == corner)
            else {
                self.reader.error(
                    span,
                    "an open frame has no corners for legs to stand on",
                    "close the corners, as in corners = \"mitred\"",
                );
                return None;
            };
            drawn.push(self.leg(legs, (name, out), joint, (face, far))?);
        }
        let floor = if legs.up { low } else { far };
        for (level, height) in legs.rails.iter().enumerate() {
            let z = floor + height.get_ref();
            for (side, ends) in SIDES {
                let name = match legs.rails.len() {
                    1 => format!("{side} rail"),
                    _ => format!("{side} rail {}", level + 1),
                };
                let between = ends.map(|leg| drawn[leg]);
                if self.rail(&legs.rail, &name, between, z).is_none() {
                    self.reader.error(
                        &height.span(),
                        format!("{name} does not meet the legs at this height"),
                        format!(
                            "rails can be up to {:.1} mm above the floor",
                            far.max(high) - floor
                        ),
                    );
                    return None;
                }
            }
        }
        Some(())
    }

    /// A leg from the face of the frame at a corner; its far end is cut level.
    fn leg(
        &mut self,
        legs: &Legs,
        (name, [right, back]): (&str, [f64; 2]),
        joint: usize,
        (face, far): (f64, f64),
    ) -> Option<usize> {
        let span = legs.part.welding.span.clone();
        let at = self.drawing.joints[joint].at;
        let carriers: Vec<usize> = self.drawing.joints[joint]
            .members
            .iter()
            .map(|(m, _)| *m)
            .collect();
        let out = Point::new(right, back, 0.0) * legs.splay;
        let foot = Point::new(at.x, at.y, far) + out;
        let slope = (foot - Point::new(at.x, at.y, face)) * (1.0 / (far - face));
        let section = &legs.part.stock.section;
        let depth = match legs.part.stock.front_face {
            FrontFace::Depth => Point::new(1.0, 0.0, 0.0),
            FrontFace::Width => BACK,
        };
        let line = |shift: Point| {
            let on_face = Point::new(at.x, at.y, face) + shift;
            Prism::new(
                on_face - slope * face,
                on_face + slope * (far - face),
                section,
                depth,
            )
        };
        // A leaning leg is wider where it is cut: it is moved inwards until it stands on the frame.
        let plane = Plane {
            point: Point::new(0.0, 0.0, face),
            normal: if legs.up { UP } else { -UP },
        };
        let edges = |axis: Point| {
            let sides = footprint(&line(Point::default())?, plane)?;
            let corners = sides.iter().flat_map(|side| [side.from, side.to]);
            let middles = sides.iter().map(super::solid::Side::middle);
            let points: Vec<f64> = if legs.part.stock.section.is_round() {
                middles.map(|point| point.dot(axis)).collect()
            } else {
                corners.map(|point| point.dot(axis)).collect()
            };
            Some(points.into_iter().fold(f64::NEG_INFINITY, f64::max))
        };
        let mut shift = Point::default();
        for axis in [Point::new(right, 0.0, 0.0), Point::new(0.0, back, 0.0)] {
            let metal = carriers
                .iter()
                .flat_map(|&m| self.drawing.members[m].prism.corners());
            let outside = metal
                .map(|corner| corner.dot(axis))
                .fold(f64::NEG_INFINITY, f64::max);
            let past = edges(axis)? - outside;
            if past > 0.0 {
                shift = shift - axis * past;
            }
        }
        let prism = line(shift)?;
        let drawn = DrawnMember::new(name.into(), section.clone(), prism, span.clone());
        let index = self.drawing.add(drawn);
        self.places.add_member(name, index, &span, self.reader);
        let level = Plane {
            point: Point::new(0.0, 0.0, far),
            normal: UP,
        };
        self.drawing.cut(index, End::End, level);
        let how = &legs.part.welding;
        self.weld_to_face(
            index,
            &carriers,
            End::Start,
            &format!("{name} on the frame"),
            how,
        )?;
        Some(index)
    }

    /// A rail between two legs at this height.
    fn rail(&mut self, part: &Part, name: &str, legs: [usize; 2], z: f64) -> Option<()> {
        let places = legs.map(|leg| {
            let prism = &self.drawing.members[leg].prism;
            let at = (z - prism.from.z) / prism.along.z;
            let (low, high) = prism.reach;
            (low..=high).contains(&at).then(|| prism.at(at))
        });
        let [Some(from), Some(to)] = places else {
            return None;
        };
        let section = part.stock.section.clone();
        let prism = Prism::new(from, to, &section, UP)?;
        let span = part.welding.span.clone();
        let index = self
            .drawing
            .add(DrawnMember::new(name.into(), section, prism, span.clone()));
        self.places.add_member(name, index, &span, self.reader);
        for (end, leg) in [End::Start, End::End].into_iter().zip(legs) {
            let joint = format!("{name} on {}", self.drawing.members[leg].name);
            self.weld_to_face(index, &[leg], end, &joint, &part.welding)?;
        }
        Some(())
    }
}
