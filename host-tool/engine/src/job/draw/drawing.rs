//! The drawing: members, joints and welds, added one by one in the order in which they are numbered.

use super::solid::{Plane, Prism, ROUNDING_MM, Side, footprint};
use crate::job::model::{
    EndCut, Joint, JointSide, Member, Plate, Point, SeenFrom, Station, Weld, WeldKind,
};
use crate::job::read::welding::{JointSides, Sides, Welding};
use crate::reading::{Reader, Span, suggest};
use crate::section::{Section, Shape};
use coldsquare_core::units::Millimetres;

/// Most members, and most welds, in one job.
pub(super) const MAX_COUNT: usize = 10_000;

/// A member on the drawing, with what only the drawing needs.
pub(super) struct DrawnMember {
    pub name: String,
    pub section: Section,
    pub prism: Prism,
    pub ends: [EndCut; 2],
    /// Where the cuts cross the centroid line, from its start.
    pub cuts: (f64, f64),
    /// Origin and direction of the distances along it, as in "top rail at 300".
    pub measured_from: (Point, Point),
    /// Where the file describes it.
    pub span: Span,
    /// What it is cut from, if it is no length of bar.
    pub plate: Option<Plate>,
}

impl DrawnMember {
    /// A member cut square at both ends, measured from its start.
    pub(super) fn new(name: String, section: Section, prism: Prism, span: Span) -> Self {
        Self {
            name,
            section,
            ends: [EndCut::Square; 2],
            cuts: prism.reach,
            measured_from: (prism.from, prism.along),
            prism,
            span,
            plate: None,
        }
    }

    /// Whether there is metal along this face of the box: an angle and a channel are open where they have none.
    pub(super) fn has_metal(&self, normal: Point) -> bool {
        let (across, depth) = (normal.dot(self.prism.across), normal.dot(self.prism.depth));
        match self.section.shape() {
            Shape::Angle { .. } => across < -0.5 || depth < -0.5,
            Shape::Channel { .. } => across < 0.5,
            Shape::Box { .. } | Shape::Tube { .. } | Shape::Bar { .. } | Shape::Round { .. } => {
                true
            }
        }
    }

    /// The thickness that a weld on it meets, mm.
    pub(super) fn wall(&self) -> f64 {
        self.section.properties().thinnest_wall_mm
    }

    fn into_member(self) -> Member {
        Member {
            name: self.name,
            section: self.section,
            from: self.prism.from,
            to: self.prism.to(),
            depth_axis: self.prism.depth,
            ends: self.ends,
            cut_length: Millimetres(self.prism.reach.1 - self.prism.reach.0),
            centre_length: Millimetres(self.cuts.1 - self.cuts.0),
            past_ends: [
                Millimetres(-self.cuts.0),
                Millimetres(self.cuts.1 - self.prism.length),
            ],
            plate: self.plate,
        }
    }
}

/// One end of a member.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    Start,
    End,
}

impl End {
    /// "start" or "end".
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::End => "end",
        }
    }
}

/// The line of a weld, and the direction of the torch.
#[derive(Clone, Copy, Debug)]
pub(super) struct WeldLine {
    pub from: Point,
    pub to: Point,
    /// Out of the metal; need not have length one.
    pub outward: Point,
    /// Whether it is a fillet weld: there is an angle to fill.
    pub fillet: bool,
}

/// What has been drawn.
#[derive(Default)]
pub(super) struct Drawing {
    pub members: Vec<DrawnMember>,
    pub joints: Vec<Joint>,
    pub welds: Vec<Weld>,
    /// Where the file describes each weld.
    pub weld_spans: Vec<Span>,
    /// Where the drawing is seen from.
    pub seen_from: SeenFrom,
    /// Joints of which the file chooses sides that they do not have, and where it does.
    unwelded: Vec<(usize, Span)>,
    /// The sides that the file chooses for single joints.
    joint_sides: Vec<JointSides>,
    /// Ends of members that the file describes, for the check that none is left loose by mistake.
    pub ends: Vec<DescribedEnd>,
}

/// An end of a member that the file describes by itself.
pub(super) struct DescribedEnd {
    pub member: usize,
    pub end: End,
    /// Where the file says where it is.
    pub span: Span,
    /// Whether the file says that it is not to be welded.
    pub loose: bool,
}

impl Drawing {
    /// An empty drawing, in which these joints are welded on these sides.
    pub(super) fn with(joint_sides: Vec<JointSides>, seen_from: SeenFrom) -> Self {
        Self {
            joint_sides,
            seen_from,
            ..Self::default()
        }
    }

    /// Whether a side of a joint is welded, by its word and the word of its face; notes the side on the joint.
    pub(super) fn chooses(
        &mut self,
        joint: usize,
        [word, face]: [&'static str; 2],
        how: &Welding,
    ) -> bool {
        let joint = &mut self.joints[joint];
        let own = self
            .joint_sides
            .iter()
            .find(|own| *own.name.get_ref() == joint.name);
        let sides = own.map_or(&how.sides, |own| &own.sides);
        let welded = sides.has(word) || sides.has(face);
        joint.sides.push(JointSide { name: word, welded });
        welded
    }

    /// Notes a joint that got no weld although sides of it are to be welded: none of them has such a name.
    pub(super) fn note_if_unwelded(&mut self, joint: usize, drawn: usize, how: &Welding) {
        let name = &self.joints[joint].name;
        let mut own = self.joint_sides.iter();
        let own = own.find(|own| own.name.get_ref() == name);
        let (sides, span) = own.map_or((&how.sides, how.span.clone()), |own| {
            (&own.sides, own.name.span())
        });
        if drawn == 0 && !sides.is_none() && !self.joints[joint].sides.is_empty() {
            self.unwelded.push((joint, span));
        }
    }

    /// Refuses sides that a joint does not have, the first for each place in the file.
    fn check_unwelded(&self, reader: &Reader<'_>) {
        let mut told: Vec<&Span> = Vec::new();
        for (joint, span) in &self.unwelded {
            if told.contains(&span) {
                continue;
            }
            told.push(span);
            let joint = &self.joints[*joint];
            let sides: Vec<&str> = joint.sides.iter().map(|side| side.name).collect();
            reader.error(
                span,
                format!("{} has none of the sides to weld", joint.name),
                format!(
                    "its sides are {}; welded = [] leaves it unwelded",
                    crate::format::list(&sides)
                ),
            );
        }
    }

    /// Refuses sides chosen for a joint that is not there, or that a joint does not have.
    pub(super) fn check_joint_sides(&self, reader: &Reader<'_>) {
        self.check_unwelded(reader);
        let names: Vec<&str> = self
            .joints
            .iter()
            .map(|joint| joint.name.as_str())
            .collect();
        for own in &self.joint_sides {
            let name = own.name.get_ref();
            if !names.contains(&name.as_str()) {
                let what = format!("there is no joint '{name}'");
                reader.error(&own.name.span(), what, suggest(name, &names));
            }
        }
    }

    /// Whether the file leaves a joint of this member at this point without a weld on purpose.
    pub(super) fn left_open(&self, member: usize, at: Point) -> bool {
        let here = |joint: &&Joint| {
            joint.members.iter().any(|(other, _)| *other == member)
                && (joint.at - at).length() < 1.0
        };
        let named = |joint: &Joint| {
            let own = self.joint_sides.iter();
            own.filter(|own| *own.name.get_ref() == joint.name)
                .any(|own| own.sides.is_none())
        };
        self.joints.iter().filter(here).any(named)
    }

    /// Adds a member and gives its index.
    pub(super) fn add(&mut self, member: DrawnMember) -> usize {
        self.members.push(member);
        self.members.len() - 1
    }

    /// Overall size of all members along an axis of the frame (0 is x, 1 is y), mm.
    pub(super) fn size(&self, axis: usize) -> f64 {
        let pick = |point: Point| [point.x, point.y, point.z][axis];
        let corners = self
            .members
            .iter()
            .flat_map(|member| member.prism.corners())
            .map(pick);
        let (low, high) = corners.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
            (low.min(at), high.max(at))
        });
        (high - low).max(0.0)
    }

    /// Cuts an end so that it lies on a plane.
    pub(super) fn cut(&mut self, member: usize, end: End, plane: Plane) {
        let prism = &self.members[member].prism;
        let Some((sides, centre)) =
            footprint(prism, plane).zip(plane.meets(prism.from, prism.along))
        else {
            return;
        };
        let centre = prism.station(centre);
        let stations = sides.iter().flat_map(|side| [side.from, side.to]);
        let stations = stations.map(|point| prism.station(point));
        let degrees = prism
            .along
            .dot(plane.normal)
            .abs()
            .min(1.0)
            .acos()
            .to_degrees();
        let how = match degrees {
            d if d < 0.01 => EndCut::Square,
            degrees => EndCut::Mitre { degrees },
        };
        match end {
            End::Start => {
                let least = stations.fold(f64::INFINITY, f64::min);
                self.members[member].prism.reach.0 = least;
                self.members[member].cuts.0 = centre;
                self.members[member].ends[0] = how;
            }
            End::End => {
                let greatest = stations.fold(f64::NEG_INFINITY, f64::max);
                self.members[member].prism.reach.1 = greatest;
                self.members[member].cuts.1 = centre;
                self.members[member].ends[1] = how;
            }
        }
    }

    /// Adds a joint of members at a point; where on each is found from their lines.
    pub(super) fn join(&mut self, name: String, at: Point, members: &[usize]) -> usize {
        let station = |member: usize| {
            let prism = &self.members[member].prism;
            match prism.station(at) {
                s if s <= ROUNDING_MM => Station::Start,
                s if s >= prism.length - ROUNDING_MM => Station::End,
                s => Station::Along(Millimetres(s)),
            }
        };
        let members = members
            .iter()
            .map(|member| (*member, station(*member)))
            .collect();
        self.joints.push(Joint {
            name,
            at,
            members,
            tacks: Vec::new(),
            sides: Vec::new(),
        });
        self.joints.len() - 1
    }

    /// The thinner wall of two members, mm: what a weld between them meets.
    pub(super) fn thinner_wall(&self, members: [usize; 2]) -> f64 {
        members
            .map(|member| self.members[member].wall())
            .into_iter()
            .fold(f64::INFINITY, f64::min)
    }

    /// Adds a weld to a joint, named after it and the side it is on; it takes the next number.
    ///
    /// A fillet weld has the leg given or that of the thinner wall; a butt weld is as thick as the thinner wall.
    pub(super) fn weld(
        &mut self,
        joint: usize,
        members: [usize; 2],
        side: &str,
        line: WeldLine,
        how: &Welding,
    ) {
        let wall = self.thinner_wall(members);
        let kind = if line.fillet {
            WeldKind::Fillet {
                leg: Millimetres(how.leg.unwrap_or(wall)),
            }
        } else {
            WeldKind::Butt {
                throat: Millimetres(wall),
            }
        };
        self.weld_spans.push(how.span.clone());
        self.welds.push(Weld {
            number: u16::try_from(self.welds.len() + 1).unwrap_or(u16::MAX),
            name: format!("{}, {side}", self.joints[joint].name),
            joint,
            members,
            kind,
            from: line.from,
            to: line.to,
            outward: line.outward.unit().unwrap_or(line.outward),
            procedure: how.procedure,
            runs: 1,
            after: Vec::new(),
        });
    }

    /// Welds the end of one member, already cut to a face of others, along the chosen sides; gives their number.
    ///
    /// Where the end stands on several members whose faces lie in one plane, as on a mitred corner, each side is welded
    /// to the one below it. `word` names a side.
    ///
    /// # Errors
    /// The name of a side that overhangs the others.
    pub(super) fn weld_end(
        &mut self,
        joint: usize,
        (ending, carriers): (usize, &[usize]),
        plane: Plane,
        word: impl Fn(&Side) -> &'static str,
        how: &Welding,
    ) -> Result<usize, &'static str> {
        let mut printed = footprint(&self.members[ending].prism, plane).ok_or("end")?;
        printed.sort_by_key(|side| {
            Sides::WORDS
                .iter()
                .position(|known| *known == SeenFrom::Front.side(side.face))
        });
        let mut drawn = 0;
        for side in printed {
            if !self.members[ending].has_metal(side.face) {
                continue;
            }
            // A little inside the metal, so that rounding cannot put the point off the face.
            let inside = side.middle() - plane.normal * 0.01;
            let (carrying, room) = self.below(carriers, inside, side.away);
            let overhangs = room < -0.02;
            if !self.chooses(joint, [word(&side), self.seen_from.side(side.face)], how) {
                if overhangs {
                    self.joints[joint].sides.pop();
                }
                continue;
            }
            if overhangs {
                return Err(word(&side));
            }
            let members = [ending, carrying];
            let leg = how.leg.unwrap_or_else(|| self.thinner_wall(members));
            // A step of less than half the leg is flush: there is no angle to fill.
            let fillet = room >= leg / 2.0;
            let line = WeldLine {
                from: side.from,
                to: side.to,
                outward: if fillet {
                    side.face + plane.normal
                } else {
                    side.face
                },
                fillet,
            };
            self.weld(joint, members, word(&side), line, how);
            drawn += 1;
        }
        self.note_if_unwelded(joint, drawn, how);
        Ok(drawn)
    }

    /// Of members that carry an end, the one that a side of it stands on, and how far its face goes on from there.
    ///
    /// At a mitre, where the boxes of two members overlap, the cut runs along the points that are as far inside the one
    /// as inside the other: the side stands on the member that it is farther inside of.
    fn below(&self, carriers: &[usize], inside: Point, away: Point) -> (usize, f64) {
        let prism = |member: usize| &self.members[member].prism;
        let mut standing: Vec<usize> = carriers
            .iter()
            .copied()
            .filter(|&member| prism(member).distance(inside) < 0.02)
            .collect();
        if standing.is_empty() {
            standing = carriers.to_vec();
        }
        let depth = |member: usize| {
            let (at, (low, high)) = (prism(member).station(inside), prism(member).reach);
            (at - low).min(high - at)
        };
        let deepest = standing
            .iter()
            .copied()
            .max_by(|&a, &b| depth(a).total_cmp(&depth(b)).then(b.cmp(&a)));
        let room = standing
            .iter()
            .map(|&member| prism(member).room(inside, away))
            .fold(f64::NEG_INFINITY, f64::max);
        (deepest.unwrap_or(carriers[0]), room)
    }

    /// Puts two tacks on every welded joint, as far apart as its welds allow: at the middles of the two welds
    /// farthest apart, or at the quarter points of a single one. Common practice, no source.
    pub(super) fn tack(&mut self) {
        let mut lines: Vec<Vec<(Point, Point)>> = vec![Vec::new(); self.joints.len()];
        for weld in &self.welds {
            lines[weld.joint].push((weld.from, weld.to));
        }
        for (joint, lines) in self.joints.iter_mut().zip(lines) {
            joint.tacks = match lines.as_slice() {
                [] => Vec::new(),
                [(from, to)] => vec![*from * 0.75 + *to * 0.25, *from * 0.25 + *to * 0.75],
                several => farthest(
                    &several
                        .iter()
                        .map(|(from, to)| (*from + *to) * 0.5)
                        .collect::<Vec<_>>(),
                ),
            };
        }
    }

    /// The finished members, joints and welds.
    pub(super) fn finish(mut self) -> (Vec<Member>, Vec<Joint>, Vec<Weld>) {
        self.tack();
        let members = self
            .members
            .into_iter()
            .map(DrawnMember::into_member)
            .collect();
        (members, self.joints, self.welds)
    }
}

fn farthest(points: &[Point]) -> Vec<Point> {
    let pairs = points
        .iter()
        .enumerate()
        .flat_map(|(k, a)| points[k + 1..].iter().map(move |b| [*a, *b]));
    let distance = |[a, b]: &[Point; 2]| (*a - *b).length();
    // The first of equals, so that mirrored frames are tacked alike.
    pairs
        .reduce(|best, pair| {
            if distance(&pair) > distance(&best) + ROUNDING_MM {
                pair
            } else {
                best
            }
        })
        .map_or_else(Vec::new, Vec::from)
}
