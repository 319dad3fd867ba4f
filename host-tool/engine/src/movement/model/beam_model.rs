//! The job as a beam model: nodes along the members, and the points where welds, tacks and clamps act.
//!
//! Nodes are on the centroid line of a member and belong to that member alone: only tacks, welds and clamps connect
//! members. What acts beside the line (a weld on the front face) acts through a rigid arm from the nearest node.

use super::cut::{MERGE_MM, RawSegment, node_positions, raw_segments, runs_along};
use super::end::End;
use super::seam_wall::{SeamOn, SeamWall, seam_line};
use crate::formulas::joint_shrinkage::JointCoefficients;
use crate::job::model::{Job, Member, Point, Weld, WeldKind};

/// Half the width of wall that a weld at its edge heats so far that it yields, mm. Our own estimate.
const HEATED_MM: f64 = 8.0;

/// How far beyond its middle a weld across a face pulls, towards where it ends as drawn, mm: read off simulated welds.
const AHEAD_MM: f64 = 2.2;

/// A length of member between two nodes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BeamElement {
    /// Index of the member.
    pub(crate) member: usize,
    /// Node at its start.
    pub(crate) from: usize,
    /// Node at its end.
    pub(crate) to: usize,
}

/// Two members at one point of a joint, whose relative movement the welds there act on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pair {
    /// Index of the joint.
    pub(crate) joint: usize,
    /// The two members.
    pub(crate) members: [usize; 2],
    /// A node of each.
    pub(crate) nodes: [usize; 2],
    /// Reference point of the rigid arms.
    pub(crate) at: Point,
}

/// Where a segment of weld acts.
#[derive(Clone, Debug)]
pub(crate) struct SegmentGeometry {
    /// Index of the weld in the job.
    pub(crate) weld: usize,
    /// Index of the pair it joins.
    pub(crate) pair: usize,
    /// Its middle.
    pub(crate) at: Point,
    /// Its length, mm.
    pub(crate) length_mm: f64,
    /// Unit vector along the weld, as drawn.
    pub(crate) line: Point,
    /// Unit vector across the weld, from the first member to the second.
    pub(crate) across: Point,
    /// Unit vector out of the metal, towards the torch.
    pub(crate) outward: Point,
    /// The wall of each member.
    pub(crate) walls: [SeamWall; 2],
    /// The share of the heat that goes into each of them.
    pub(crate) shares: [f64; 2],
    /// Throat of the fillet or butt weld, mm; at most the thinner wall, at least 0.1.
    pub(crate) throat_mm: f64,
    /// Leg of the fillet weld over the thickness of the wall that stands on the other.
    pub(crate) leg_over_wall: f64,
    /// Whether it is all of its weld: not one of several segments.
    pub(crate) is_whole: bool,
    /// Whether it is on the inside of a corner of two members that end there.
    pub(crate) is_inside_corner: bool,
    /// The share of the wall that stands on the other that its weld covers, 1 for a weld along it.
    pub(crate) covered: f64,
    /// Strips of wall that it heats and that pull on their members: none to two.
    pub(crate) tendons: Vec<Tendon>,
}

/// A strip of a member's wall that a weld heats and that pulls on the member as it cools (tendon force).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tendon {
    /// Nodes between which it pulls.
    pub(crate) nodes: [usize; 2],
    /// Length between them, mm.
    pub(crate) length_mm: f64,
    /// Unit vector along the member, from the first node to the second.
    pub(crate) axis: Point,
    /// Where it pulls: arm from the member's centroid line, mm.
    pub(crate) arm: Point,
    /// Share of the weld's heat that goes into this wall.
    pub(crate) share: f64,
    /// Thickness of the wall, mm.
    pub(crate) thickness_mm: f64,
    /// Number of further welds of the same joint between the same two members.
    pub(crate) neighbours: usize,
    /// How it pulls.
    pub(crate) pull: TendonPull,
}

/// How a strip of wall pulls.
#[derive(Clone, Copy, Debug)]
pub(crate) enum TendonPull {
    /// The weld runs along the member, more than across it.
    Along {
        /// How much the member gives at the strip: 1/A + y²/I, 1/mm².
        gives_per_mm2: f64,
    },
    /// The weld crosses a face.
    Across {
        /// Width of the face, mm.
        width_mm: f64,
        /// Whether the member ends at the weld and stands on the other.
        ends_here: bool,
    },
    /// Two members end here at an angle: the weld closes the corner a little.
    Corner {
        /// Second moment of area in the plane of the corner over the arm, mm³.
        modulus_mm3: f64,
        /// Size of the member in that plane, mm.
        size_mm: f64,
        /// Whether the weld is on the inside of the corner.
        inside: bool,
    },
}

/// A tack, where it acts.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tack {
    /// The pair it holds.
    pub(crate) pair: usize,
    /// Where.
    pub(crate) at: Point,
    /// Unit vector along the seam there.
    pub(crate) line: Point,
    /// The wall of each member there.
    pub(crate) walls: [SeamWall; 2],
    /// Its throat, mm: the thinner of the two walls.
    pub(crate) throat_mm: f64,
}

/// A clamp, where it acts.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ClampPoint {
    /// Node it holds.
    pub(crate) node: usize,
    /// Where it holds.
    pub(crate) at: Point,
}

/// The beam model of a job.
#[derive(Clone, Debug)]
pub struct BeamModel {
    /// Nodes, mm.
    pub(crate) nodes: Vec<Point>,
    /// Lengths of member between nodes.
    pub(crate) elements: Vec<BeamElement>,
    /// For each member its nodes with their distance from its start, mm, ascending.
    pub(crate) stations: Vec<Vec<(f64, usize)>>,
    /// Points where two members meet.
    pub(crate) pairs: Vec<Pair>,
    /// Segments of welds, in the order of the job.
    pub(crate) segments: Vec<SegmentGeometry>,
    /// Tacks.
    pub(crate) tacks: Vec<Tack>,
    /// Clamps.
    pub(crate) clamps: Vec<ClampPoint>,
    coefficients: JointCoefficients,
}

impl BeamModel {
    /// Builds the beam model of a job.
    pub(crate) fn new(job: &Job, coefficients: &JointCoefficients) -> Self {
        let (segments, raw_pairs) = raw_segments(job);
        let positions = node_positions(job, &segments, &raw_pairs);
        let mut model = Self::members(job, &positions, coefficients);
        model.pairs = raw_pairs
            .iter()
            .map(|raw| Pair {
                joint: raw.joint,
                members: raw.members,
                nodes: raw
                    .members
                    .map(|m| model.node_near(m, job.members[m].foot(raw.at()))),
                at: raw.at(),
            })
            .collect();
        model.segments = segments.iter().map(|raw| model.segment(job, raw)).collect();
        model.tacks = model.tacks(job);
        model.clamps = job
            .clamps
            .iter()
            .map(|held| ClampPoint {
                node: model.node_near(held.member, job.members[held.member].foot(held.at)),
                at: held.at,
            })
            .collect();
        model
    }

    fn members(job: &Job, positions: &[Vec<f64>], coefficients: &JointCoefficients) -> Self {
        let (mut nodes, mut elements, mut stations) = (Vec::new(), Vec::new(), Vec::new());
        for (index, (member, positions)) in job.members.iter().zip(positions).enumerate() {
            let axis = member.axis();
            let first = nodes.len();
            let row: Vec<_> = positions
                .iter()
                .enumerate()
                .map(|(k, &along)| (along, first + k))
                .collect();
            nodes.extend(positions.iter().map(|&along| member.from + axis * along));
            elements.extend(row.windows(2).map(|ends| BeamElement {
                member: index,
                from: ends[0].1,
                to: ends[1].1,
            }));
            stations.push(row);
        }
        Self {
            nodes,
            elements,
            stations,
            pairs: Vec::new(),
            segments: Vec::new(),
            tacks: Vec::new(),
            clamps: Vec::new(),
            coefficients: *coefficients,
        }
    }

    /// The member that a node belongs to.
    pub(crate) fn member_of(&self, node: usize) -> usize {
        self.stations
            .partition_point(|row| row.last().is_some_and(|&(_, last)| last < node))
    }

    /// The node of a member nearest to a distance along it.
    pub fn node_near(&self, member: usize, along: f64) -> usize {
        let row = &self.stations[member];
        row.iter()
            .min_by(|a, b| (a.0 - along).abs().total_cmp(&(b.0 - along).abs()))
            .map_or(0, |&(_, node)| node)
    }

    fn segment(&self, job: &Job, raw: &RawSegment) -> SegmentGeometry {
        let weld = &job.welds[raw.weld];
        let pair = &self.pairs[raw.pair];
        let line = (weld.to - weld.from)
            .unit()
            .unwrap_or(Point::new(0.0, 0.0, 1.0));
        let ends = pair.members.map(|m| End::at(&job.members[m], pair.at));
        let across = across(line, weld.outward, &ends);
        let walls = on_members(job, pair, &ends, raw.at, line, across).map(|seam| seam.wall());
        let thickness = walls.map(|wall| wall.thickness_mm);
        let throat = match weld.kind {
            WeldKind::Fillet { leg } => leg.0 / std::f64::consts::SQRT_2,
            WeldKind::Butt { throat } => throat.0,
        };
        // Near the weld, where steel yields, the heat has not yet found which wall is thicker.
        let shares = [0.5; 2];
        let tendons = (0..2)
            .filter_map(|side| {
                self.tendon(
                    job,
                    raw,
                    [&walls[side], &walls[1 - side]],
                    side,
                    line,
                    shares[side],
                )
            })
            .collect();
        let standing = usize::from(walls[0].goes_on);
        let is_inside =
            |tendon: &Tendon| matches!(tendon.pull, TendonPull::Corner { inside: true, .. });
        let tendons: Vec<Tendon> = tendons;
        SegmentGeometry {
            weld: raw.weld,
            pair: raw.pair,
            at: raw.at,
            length_mm: raw.length_mm,
            line,
            across,
            outward: weld.outward,
            walls,
            shares,
            throat_mm: throat.min(thickness[0].min(thickness[1])).max(0.1),
            leg_over_wall: throat * std::f64::consts::SQRT_2 / thickness[standing],
            is_whole: raw.share == 1.0,
            is_inside_corner: tendons.iter().any(is_inside),
            covered: covered(&job.members[pair.members[standing]], weld, line),
            tendons,
        }
    }

    /// The tendon of a segment in one of its two members. There is none where the member ends at a weld across it that
    /// nothing but the weld itself holds: there the weld only closes the joint.
    fn tendon(
        &self,
        job: &Job,
        raw: &RawSegment,
        [wall, other]: [&SeamWall; 2],
        side: usize,
        line: Point,
        share: f64,
    ) -> Option<Tendon> {
        let pair = &self.pairs[raw.pair];
        let index = pair.members[side];
        let member = &job.members[index];
        let axis = member.axis();
        let runs_along = runs_along(line, axis);
        let ends = pair.members.map(|m| End::at(&job.members[m], pair.at));
        let ends_here = !runs_along && ends[side].ends_here;
        if raw.share == 0.0 {
            return None;
        }
        let [from, to] = raw
            .reach(member, line)
            .map(|along| self.node_near(index, along));
        let length_mm = (self.nodes[to] - self.nodes[from]).length();
        let from_line = raw.at - (member.from + axis * (raw.at - member.from).dot(axis));
        let (pull, arm) = if runs_along {
            let arm = self.tendon_arm(member, wall, from_line);
            let beside = &job.members[pair.members[1 - side]];
            let gives_per_mm2 = gives_per_mm2(member, beside, raw.at, line);
            (TendonPull::Along { gives_per_mm2 }, arm)
        } else if ends_here && !other.goes_on {
            corner_pull(member, from_line, ends[side].away, ends[1 - side])?
        } else if ends_here && !member.section.is_tube() {
            // A solid end is hot right through, so it does not bend.
            return None;
        } else {
            let pull = TendonPull::Across {
                width_mm: member.size_along(line),
                ends_here,
            };
            // Where the torch goes last, the face pulls a little more.
            (pull, from_line + line * AHEAD_MM)
        };
        (length_mm > MERGE_MM).then_some(Tendon {
            nodes: [from, to],
            length_mm,
            axis,
            arm,
            share,
            thickness_mm: wall.thickness_mm,
            neighbours: neighbours(job, raw.weld),
            pull,
        })
    }

    /// Where a weld along a member pulls, from its centroid: the heat runs away from an edge and round the corners.
    fn tendon_arm(&self, member: &Member, wall: &SeamWall, from_line: Point) -> Point {
        if !member.section.is_tube() {
            return from_line;
        }
        let half = member.size_along(wall.into) / 2.0;
        if !wall.goes_on {
            return from_line + wall.into * HEATED_MM.min(half / 2.0);
        }
        let beside = from_line.dot(wall.into);
        let outwards = (self.coefficients.tendon_outwards * beside).clamp(-half, half);
        from_line + wall.into * (outwards - beside)
    }

    fn tacks(&self, job: &Job) -> Vec<Tack> {
        let nearest = |joint: usize, at: Point| {
            (0..self.pairs.len())
                .filter(|&p| self.pairs[p].joint == joint)
                .min_by(|&a, &b| {
                    (self.pairs[a].at - at)
                        .length()
                        .total_cmp(&(self.pairs[b].at - at).length())
                })
        };
        job.joints
            .iter()
            .enumerate()
            .flat_map(|(index, joint)| joint.tacks.iter().map(move |&at| (index, at)))
            .filter_map(|(joint, at)| nearest(joint, at).map(|pair| self.tack(job, pair, at)))
            .collect()
    }

    fn tack(&self, job: &Job, index: usize, at: Point) -> Tack {
        let pair = &self.pairs[index];
        let ends = pair.members.map(|m| End::at(&job.members[m], pair.at));
        let between = ends[1].away_if_it_ends() - ends[0].away_if_it_ends();
        let here = on_members(job, pair, &ends, at, Point::default(), between);
        let line = seam_line(here);
        let walls = here.map(|seam| SeamOn { line, ..seam }.wall());
        Tack {
            pair: index,
            at,
            line,
            walls,
            throat_mm: walls[0].thickness_mm.min(walls[1].thickness_mm),
        }
    }
}

/// A seam of a pair on each of its members.
fn on_members<'a>(
    job: &'a Job,
    pair: &Pair,
    ends: &[End; 2],
    at: Point,
    line: Point,
    across: Point,
) -> [SeamOn<'a>; 2] {
    [0, 1].map(|side| SeamOn {
        member: &job.members[pair.members[side]],
        away: ends[side].away,
        ends_here: ends[side].ends_here,
        at,
        line,
        across,
    })
}

/// How much a member gives at a weld along it for each newton of its own tendon. Where the weld runs along the other member
/// too, the two give together, under the force of both.
fn gives_per_mm2(member: &Member, beside: &Member, at: Point, line: Point) -> f64 {
    let alone = |member: &Member| {
        let axis = member.axis();
        member.gives_per_mm2(at - (member.from + axis * (at - member.from).dot(axis)))
    };
    let own = alone(member);
    if runs_along(line, beside.axis()) {
        2.0 / (1.0 / own + 1.0 / alone(beside))
    } else {
        own
    }
}

/// The share of the width of a member's end that a weld across it covers; 1 for a weld along it.
fn covered(member: &Member, weld: &Weld, line: Point) -> f64 {
    if runs_along(line, member.axis()) {
        return 1.0;
    }
    (weld.length().0 / member.size_along(line)).min(1.0)
}

/// The number of further welds of the same joint between the same two members.
fn neighbours(job: &Job, weld: usize) -> usize {
    let one = &job.welds[weld];
    let same = |other: &&Weld| {
        let [a, b] = one.members;
        other.joint == one.joint && (other.members == [a, b] || other.members == [b, a])
    };
    job.welds.iter().filter(same).count().saturating_sub(1)
}

/// What closes the corner between a member and another that ends at the same place, and the arm at which it pulls.
fn corner_pull(
    member: &Member,
    from_line: Point,
    away: Point,
    other: End,
) -> Option<(TendonPull, Point)> {
    let aside = other.away - away * other.away.dot(away);
    if !other.ends_here || aside.length() < 0.3 {
        return None;
    }
    let inside = aside.unit()?;
    let size_mm = member.size_along(inside);
    let arm = inside * (size_mm / 2.0);
    let modulus_mm3 = member.second_moment_mm4(inside) / arm.length();
    let pull = TendonPull::Corner {
        modulus_mm3,
        size_mm,
        inside: from_line.dot(inside) > size_mm / 4.0,
    };
    Some((pull, arm))
}

/// The direction across a weld from its first member to its second, square to the weld: transverse shrinkage closes it.
fn across(line: Point, outward: Point, ends: &[End; 2]) -> Point {
    let from_first_to_second = match (ends[0].ends_here, ends[1].ends_here) {
        (true, true) => ends[1].away - ends[0].away,
        (false, true) => ends[1].away,
        (true, false) => -ends[0].away,
        // Two bars side by side: across the weld, in the face it lies on.
        (false, false) => line.cross(outward),
    };
    let square = from_first_to_second - line * from_first_to_second.dot(line);
    square
        .unit()
        .or_else(|| line.cross(outward).unit())
        .or_else(|| line.cross(Point::new(0.0, 0.0, 1.0)).unit())
        .unwrap_or(Point::new(1.0, 0.0, 0.0))
}
