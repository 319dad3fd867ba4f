//! Draws `[frame.legs]`: four legs on the corners of the frame, up or down, plumb or splayed, and rails round them.
//!
//! Legs and rails have the names of the object as it stands: the lower edge of the drawing is its front.

use super::ByTable;
use super::drawing::{DrawnMember, End};
use super::facing::Around;
use super::names::CORNERS_SEEN_FROM_ABOVE;
use super::solid::{Plane, Prism, footprint};
use crate::job::model::Point;
use crate::job::read::facing::{Facing, Pointing};
use crate::job::read::frame::{Corners, Frame, FrontFace, Legs, Part};
use crate::section::{Section, Shape};
use serde_spanned::Spanned;

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
    pub(super) fn legs(&mut self, frame: &Frame, legs: &Legs) -> Option<()> {
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
        if frame.corners == Corners::LegsThrough {
            let ends = if legs.up { (low, far) } else { (high, far) };
            drawn = self.legs_through(frame, legs, ends)?;
        }
        for (corner, (name, out)) in CORNERS_SEEN_FROM_ABOVE
            .into_iter()
            .zip(LEGS)
            .skip(drawn.len())
        {
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

    /// Legs that run through the corners of the frame; its members end on them.
    fn legs_through(
        &mut self,
        frame: &Frame,
        legs: &Legs,
        (near, far): (f64, f64),
    ) -> Option<Vec<usize>> {
        let span = legs.part.welding.span.clone();
        if legs.splay > 0.0 {
            self.reader.error(
                &span,
                "legs that run through the corners are plumb",
                "leave out 'splay', or write corners = \"mitred\"",
            );
            return None;
        }
        let metal = self.drawing.members[..4].iter();
        let corners: Vec<Point> = metal.flat_map(|m| m.prism.corners()).collect();
        // Each outer member has its outer face there already, though its ends are not cut yet.
        let outside = |axis: Point| {
            corners
                .iter()
                .map(|at| at.dot(axis))
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let mut drawn = Vec::new();
        for (k, (name, [right, back])) in LEGS.into_iter().enumerate() {
            let out = [Point::new(right, 0.0, 0.0), BACK * back];
            let along = Point::new(0.0, 0.0, (far - near).signum());
            let (section, depth) = self.leg_section(&legs.part, along, out)?;
            let line = |at: Point| {
                let from = at + UP * near;
                Prism::new(from, from + along * (far - near).abs(), &section, depth)
            };
            let at_middle = line(Point::default())?;
            let place = |axis: Point| axis * (outside(axis) - at_middle.face_towards(axis).offset);
            let prism = line(place(out[0]) + place(out[1]))?;
            let drawn_leg = DrawnMember::new(name.into(), section.clone(), prism, span.clone());
            let leg = self.drawing.add(drawn_leg);
            self.places.add_member(name, leg, &span, self.reader);
            drawn.push(leg);
            for (rail, end) in [((k + 3) % 4, End::End), (k, End::Start)] {
                let joint = format!("{} on {name}", self.drawing.members[rail].name);
                self.weld_to_face(rail, &[leg], end, &joint, &frame.part.welding)?;
            }
        }
        Some(drawn)
    }

    /// The section of a leg as it is turned, and the direction of its depth. The legs of an angle point inwards.
    fn leg_section(&self, part: &Part, along: Point, out: [Point; 2]) -> Option<(Section, Point)> {
        let stock = &part.stock;
        let inwards = || Facing {
            pointing: Pointing::Legs,
            words: vec![Spanned::new(part.welding.span.clone(), "in"); 2],
        };
        let is_angle = matches!(stock.section.shape(), Shape::Angle { .. });
        let facing = stock.facing.clone().or_else(|| is_angle.then(inwards));
        match facing {
            Some(facing) => self.around(along, out.map(|out| Some(-out))).turned(
                &stock.section,
                &facing,
                self.reader,
            ),
            None if stock.front_face == FrontFace::Depth => {
                Some((stock.section.clone(), Point::new(1.0, 0.0, 0.0)))
            }
            None => Some((stock.section.clone(), BACK)),
        }
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
        let along = slope.unit()? * (far - face).signum();
        let outwards = [Point::new(right, 0.0, 0.0), BACK * back];
        let (section, depth) = self.leg_section(&legs.part, along, outwards)?;
        let section = &section;
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

    fn around(&self, along: Point, inward: [Option<Point>; 2]) -> Around {
        Around {
            along,
            inward,
            seen_from: self.drawing.seen_from,
        }
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
        // The rails go round: in is to the left of a front rail that runs to the right.
        let inward = match name {
            name if name.starts_with("front") => BACK,
            name if name.starts_with("back") => -BACK,
            name if name.starts_with("left") => Point::new(1.0, 0.0, 0.0),
            _ => Point::new(-1.0, 0.0, 0.0),
        };
        let (section, depth) = match &part.stock.facing {
            Some(facing) => {
                let around = self.around((to - from).unit()?, [Some(inward); 2]);
                around.turned(&part.stock.section, facing, self.reader)?
            }
            None => (part.stock.section.clone(), UP),
        };
        let prism = Prism::new(from, to, &section, depth)?;
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
