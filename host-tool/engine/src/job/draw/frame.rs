//! Draws `[frame]`: a rectangle of four members, with rails, bars or a brace inside.
//!
//! The lower left outside corner is the origin. Members go round the frame anticlockwise, so that an angle or a channel
//! keeps the same face outwards on all four sides. The middle of every member's thickness is at z = 0.

use super::drawing::{Drawing, DrawnMember, WeldLine};
use super::facing::Around;
use super::names::FrameNames;
use super::solid::{Plane, Prism, Side, footprint};
use crate::job::model::{EndCut, Point, SeenFrom};
use crate::job::read::frame::{Corners, Direction, Frame, FrontFace, Stock};
use crate::reading::{Reader, Span};
use crate::section::Section;

pub(super) const RIGHT: Point = Point::new(1.0, 0.0, 0.0);
pub(super) const UP: Point = Point::new(0.0, 1.0, 0.0);
pub(super) const FRONT: Point = Point::new(0.0, 0.0, 1.0);

/// How a section is placed along a direction in the plane of the frame: how far its box reaches from its centroid.
pub(super) struct Placement {
    section: Section,
    depth: Point,
    /// To the right of the direction, that is outwards for members that go round the frame.
    pub outer: f64,
    /// To the left of it.
    pub inner: f64,
    /// Height of the centroid over the middle of the thickness.
    z: f64,
}

impl Stock {
    fn around(along: Point, seen_from: SeenFrom) -> Around {
        Around {
            along,
            inward: [Some(FRONT.cross(along)); 2],
            seen_from,
        }
    }

    /// Notes that the section cannot be turned as the file says, for a member that goes this way.
    pub(super) fn check_facing(
        &self,
        along: Point,
        seen_from: SeenFrom,
        reader: &Reader<'_>,
    ) -> Option<()> {
        match &self.facing {
            None => Some(()),
            Some(facing) => Self::around(along, seen_from)
                .turned(&self.section, facing, reader)
                .map(|_| ()),
        }
    }

    pub(super) fn placed_along(&self, along: Point, seen_from: SeenFrom) -> Placement {
        let inward = FRONT.cross(along);
        let around = Self::around(along, seen_from);
        let facing = self.facing.as_ref();
        let turned = facing.and_then(|facing| around.turn(&self.section, facing).ok());
        let (section, depth) = turned.unwrap_or_else(|| {
            let depth = match self.front_face {
                FrontFace::Depth => inward,
                FrontFace::Width => FRONT,
            };
            (self.section.clone(), depth)
        });
        let p = section.properties();
        let [y, z] = p.centroid_from_corner_mm;
        let across = depth.cross(along);
        // From the centroid to the side of the box in a direction.
        let reach = |direction: Point| {
            let (width, height) = (direction.dot(across), direction.dot(depth));
            let side =
                |part: f64, low: f64, high: f64| part.abs() * if part < 0.0 { low } else { high };
            side(width, y, p.width_mm - y) + side(height, z, p.depth_mm - z)
        };
        Placement {
            outer: reach(-inward),
            inner: reach(inward),
            z: (reach(-FRONT) - reach(FRONT)) / 2.0,
            section,
            depth,
        }
    }

    pub(super) fn member(
        &self,
        name: impl Into<String>,
        (from, to): (Point, Point),
        seen_from: SeenFrom,
        span: &Span,
    ) -> Option<DrawnMember> {
        let placed = self.placed_along((to - from).unit()?, seen_from);
        let lift = FRONT * placed.z;
        let prism = Prism::new(from + lift, to + lift, &placed.section, placed.depth)?;
        let rising = prism.along.y.abs() > prism.along.x.abs();
        let mut drawn = DrawnMember::new(name.into(), placed.section, prism, span.clone());
        // Distances are those on a tape hooked over the left or the lower outside edge.
        let edge = drawn.prism.from;
        drawn.measured_from = if rising {
            (Point::new(edge.x, 0.0, edge.z), UP)
        } else {
            (Point::new(0.0, edge.y, edge.z), RIGHT)
        };
        Some(drawn)
    }
}

/// Draws the frame. FileErrors are noted with the reader; what can be drawn is drawn.
pub(super) fn draw(frame: &Frame, drawing: Drawing, reader: &Reader<'_>) -> Drawing {
    let mut builder = FrameBuilder {
        frame,
        reader,
        width: *frame.width.get_ref(),
        height: *frame.height.get_ref(),
        bar: frame.part.stock.placed_along(RIGHT, drawing.seen_from),
        names: FrameNames::of(frame, drawing.seen_from),
        drawing,
    };
    builder.all();
    builder.drawing
}

/// A frame being drawn: its outer members here, what is inside them in [`super::infill`].
pub(super) struct FrameBuilder<'a> {
    pub frame: &'a Frame,
    pub reader: &'a Reader<'a>,
    pub drawing: Drawing,
    pub width: f64,
    pub height: f64,
    /// How the outer members are placed.
    pub bar: Placement,
    /// What its members and corners are called.
    pub names: FrameNames,
}

impl FrameBuilder<'_> {
    fn all(&mut self) -> Option<()> {
        self.check_size()?;
        self.check_facings()?;
        let [bottom, right, top, left] = self.outer_members()?;
        self.corners([bottom, right, top, left]);
        let panels = self.panels(bottom, top, [left?, right?])?;
        self.braces(&panels);
        self.bars(&panels);
        Some(())
    }

    /// Size of the outer members in the plane of the frame.
    pub(super) fn face(&self) -> f64 {
        self.bar.outer + self.bar.inner
    }

    /// Refuses sections that cannot be turned as the file says.
    fn check_facings(&self) -> Option<()> {
        let seen_from = self.drawing.seen_from;
        let check = |stock: &Stock, along: Point| stock.check_facing(along, seen_from, self.reader);
        let outer = [RIGHT, UP].map(|along| check(&self.frame.part.stock, along));
        let bars = self.frame.bars.as_ref().map(|bars| {
            let along = match bars.direction {
                Direction::Vertical => UP,
                Direction::Horizontal => RIGHT,
            };
            check(&bars.part.stock, along)
        });
        let mid_rails = self.frame.mid_rails.as_ref();
        let mid_rails = mid_rails.map(|mid| check(&mid.part.stock, RIGHT));
        // Every fault is told, not only the first.
        let all: Vec<Option<()>> = outer.into_iter().chain(bars).chain(mid_rails).collect();
        all.into_iter().collect()
    }

    fn check_size(&self) -> Option<()> {
        let face = self.face();
        let mut fits = true;
        for (size, word) in [(&self.frame.width, "width"), (&self.frame.height, "height")] {
            if *size.get_ref() <= 2.0 * face {
                fits = false;
                self.reader.error(
                    &size.span(),
                    format!("the {word} leaves nothing between two members of {face:.1} mm"),
                    format!(
                        "'{word}' is outside to outside; write more than {:.1} mm",
                        2.0 * face
                    ),
                );
            }
        }
        fits.then_some(())
    }

    fn outer_members(&mut self) -> Option<[Option<usize>; 4]> {
        let o = self.bar.outer;
        let (w, h) = (self.width, self.height);
        let corner = [
            Point::new(o, o, 0.0),
            Point::new(w - o, o, 0.0),
            Point::new(w - o, h - o, 0.0),
            Point::new(o, h - o, 0.0),
        ];
        let mut indices = [None; 4];
        for (k, name) in self.names.members().into_iter().enumerate() {
            let is_rail = k % 2 == 0;
            if is_rail && self.frame.corners == Corners::Open {
                continue;
            }
            let mut member = self.frame.part.stock.member(
                name,
                (corner[k], corner[(k + 1) % 4]),
                self.drawing.seen_from,
                &self.frame.part.welding.span,
            )?;
            let length = member.prism.length;
            let i = self.bar.inner;
            let (through, between) = ((-o, length + o), (i, length - i));
            (member.prism.reach, member.cuts) = match self.frame.corners {
                Corners::Mitred => (through, (0.0, length)),
                Corners::RailsThrough if is_rail => (through, through),
                Corners::RailsThrough => (between, between),
                Corners::UprightsThrough if is_rail => (between, between),
                Corners::UprightsThrough | Corners::Open => (through, through),
                // Cut where they meet the legs, once these are drawn.
                Corners::LegsThrough => ((0.0, length), (0.0, length)),
            };
            if self.frame.corners == Corners::Mitred {
                member.ends = [EndCut::Mitre { degrees: 45.0 }; 2];
            }
            indices[k] = Some(self.drawing.add(member));
        }
        Some(indices)
    }

    fn corners(&mut self, [bottom, right, top, left]: [Option<usize>; 4]) {
        let (Some(bottom), Some(right), Some(top), Some(left)) = (bottom, right, top, left) else {
            return;
        };
        // Each corner: the member that arrives there on the way round, and the one that leaves.
        if self.frame.corners == Corners::LegsThrough {
            return;
        }
        let [bottom_left, bottom_right, top_right, top_left] = self.names.corners();
        for (name, arriving, leaving) in [
            (bottom_left, left, bottom),
            (bottom_right, bottom, right),
            (top_right, right, top),
            (top_left, top, left),
        ] {
            let at = self.drawing.members[leaving].prism.from;
            let joint = self
                .drawing
                .join(name.to_string(), at, &[arriving, leaving]);
            let arriving_is_rail = arriving == bottom || arriving == top;
            match self.frame.corners {
                Corners::Mitred => self.mitre(joint, arriving, leaving),
                Corners::RailsThrough if arriving_is_rail => self.butt(joint, leaving, arriving),
                Corners::UprightsThrough if !arriving_is_rail => {
                    self.butt(joint, leaving, arriving)
                }
                _ => self.butt(joint, arriving, leaving),
            }
        }
    }

    fn mitre(&mut self, joint: usize, arriving: usize, leaving: usize) {
        let (a, b) = (
            &self.drawing.members[arriving],
            &self.drawing.members[leaving],
        );
        let inward = FRONT.cross(a.prism.along);
        let plane = Plane {
            point: b.prism.from,
            normal: (a.prism.along + b.prism.along).unit().unwrap_or(RIGHT),
        };
        let turned = FRONT.cross(b.prism.along);
        let Some(mut sides) = footprint(&a.prism, plane).map(Vec::from) else {
            return;
        };
        let seen_from = self.drawing.seen_from;
        let word = |side: &Side| match side.face {
            face if face.dot(inward) > 0.5 => "inside",
            face if face.dot(inward) < -0.5 => "outside",
            face => seen_from.side(face),
        };
        let [front, back] = seen_from.faces();
        sides.sort_by_key(|side| {
            [front, back, "outside", "inside"]
                .iter()
                .position(|w| *w == word(side))
        });
        let members = [arriving, leaving];
        sides.retain(|side| a.has_metal(side.face));
        let first = self.drawing.welds.len();
        for side in sides {
            let how = &self.frame.part.welding;
            let words = [word(&side), seen_from.side(side.face)];
            if !self.drawing.chooses(joint, words, how) {
                continue;
            }
            let in_the_plane = side.face.dot(inward);
            let line = WeldLine {
                from: side.from,
                to: side.to,
                outward: side.face + FRONT * side.face.z + turned * in_the_plane,
                fillet: in_the_plane > 0.5,
            };
            self.drawing
                .weld(joint, members, word(&side), line, &self.frame.part.welding);
        }
        let drawn = self.drawing.welds.len() - first;
        let how = &self.frame.part.welding;
        self.drawing.note_if_unwelded(joint, drawn, how);
    }

    /// A square end against the inner face of the member that runs through.
    fn butt(&mut self, joint: usize, ending: usize, carrying: usize) {
        let Some(plane) = self.inner_face(carrying) else {
            return;
        };
        let centre = Point::new(self.width / 2.0, self.height / 2.0, 0.0);
        let inward = centre - self.drawing.joints[joint].at;
        let seen_from = self.drawing.seen_from;
        let word = |side: &Side| match seen_from.side(side.face) {
            word if seen_from.faces().contains(&word) => word,
            _ if side.face.dot(inward) > 0.0 => "inside",
            _ => "outside",
        };
        let done = self.drawing.weld_end(
            joint,
            (ending, &[carrying]),
            plane,
            word,
            &self.frame.part.welding,
        );
        debug_assert!(done.is_ok(), "members of one section are flush");
    }

    /// The face of an outer member that looks into the frame; an error when the section is open there.
    fn inner_face(&self, member: usize) -> Option<Plane> {
        let drawn = &self.drawing.members[member];
        self.face_of(member, FRONT.cross(drawn.prism.along))
    }

    pub(super) fn face_of(&self, member: usize, direction: Point) -> Option<Plane> {
        let drawn = &self.drawing.members[member];
        if !drawn.has_metal(direction) {
            self.reader.error(
                &drawn.span,
                format!("a {} has no face towards the inside of the frame to weld on", drawn.section),
                "use mitred corners and nothing inside, or a tube or a bar, or describe it with [[member]] and [[weld]]",
            );
            return None;
        }
        let face = drawn.prism.face_towards(direction);
        Some(Plane {
            point: drawn.prism.from + face.normal * face.offset,
            normal: face.normal,
        })
    }
}
