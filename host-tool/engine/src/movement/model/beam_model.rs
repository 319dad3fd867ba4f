//! The job as a beam model: nodes along the members, and the points where welds, tacks and clamps act.
//!
//! Nodes are on the centroid line of a member and belong to that member alone: only tacks, welds and clamps connect
//! members. What acts beside the line (a weld on the front face) acts through a rigid arm from the nearest node.

use super::cut::{MERGE_MM, RawSegment, node_positions, raw_segments, runs_along};
use crate::job::model::{Job, Member, Point, WeldKind};

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
    /// Unit vectors: along the weld; across the weld, from the first member to the second; square to both.
    pub(crate) axes: [Point; 3],
    /// Throat of the fillet or butt weld, mm; at most the thinner wall, at least 0.1.
    pub(crate) throat_mm: f64,
    /// Sum of the walls into which the heat flows, one for each direction of flow, mm.
    pub(crate) walls_mm: f64,
    /// Whether it joins an open wall (flat, angle, channel), which angular distortion can turn.
    pub(crate) has_open_walls: bool,
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
    /// Whether the weld runs along the member: more along than across.
    pub(crate) is_longitudinal: bool,
}

/// A tack, where it acts.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tack {
    /// The pair it holds.
    pub(crate) pair: usize,
    /// Where.
    pub(crate) at: Point,
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
}

impl BeamModel {
    /// Builds the beam model of a job.
    pub(crate) fn new(job: &Job) -> Self {
        let (segments, raw_pairs) = raw_segments(job);
        let positions = node_positions(job, &segments, &raw_pairs);
        let mut model = Self::members(job, &positions);
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

    fn members(job: &Job, positions: &[Vec<f64>]) -> Self {
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
        let walls = pair
            .members
            .map(|m| job.members[m].section.properties().thinnest_wall_mm);
        let throat = match weld.kind {
            WeldKind::Fillet { leg } => leg.0 / std::f64::consts::SQRT_2,
            WeldKind::Butt { throat } => throat.0,
        };
        // Heat flows in two directions in a member that goes on past the weld, in one where it ends there.
        let directions = ends.map(|end| if end.ends_here { 1.0 } else { 2.0 });
        let walls_mm = walls[0] * directions[0] + walls[1] * directions[1];
        let tendons = (0..2)
            .filter_map(|side| {
                let share = walls[side] * directions[side] / walls_mm;
                self.tendon(job, raw, pair, side, line, share)
            })
            .collect();
        SegmentGeometry {
            weld: raw.weld,
            pair: raw.pair,
            at: raw.at,
            length_mm: raw.length_mm,
            axes: [line, across, line.cross(across)],
            throat_mm: throat.min(walls[0].min(walls[1])).max(0.1),
            walls_mm,
            has_open_walls: pair
                .members
                .iter()
                .any(|&m| job.members[m].section.has_open_walls()),
            tendons,
        }
    }

    /// The tendon of a segment in one of its two members. There is none where the member ends at a weld across it: there
    /// the weld only closes the joint.
    fn tendon(
        &self,
        job: &Job,
        raw: &RawSegment,
        pair: &Pair,
        side: usize,
        line: Point,
        share: f64,
    ) -> Option<Tendon> {
        let index = pair.members[side];
        let member = &job.members[index];
        let axis = member.axis();
        let is_longitudinal = runs_along(line, axis);
        if raw.share == 0.0 || !is_longitudinal && End::at(member, pair.at).ends_here {
            return None;
        }
        let [from, to] = raw
            .reach(member, line)
            .map(|along| self.node_near(index, along));
        let length_mm = (self.nodes[to] - self.nodes[from]).length();
        (length_mm > MERGE_MM).then(|| Tendon {
            nodes: [from, to],
            length_mm,
            axis,
            arm: raw.at - (member.from + axis * (raw.at - member.from).dot(axis)),
            share,
            is_longitudinal,
        })
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
            .filter_map(|(joint, at)| nearest(joint, at).map(|pair| Tack { pair, at }))
            .collect()
    }
}

/// How a member meets a joint.
#[derive(Clone, Copy)]
struct End {
    /// Unit vector along the member, away from the joint if the member ends there.
    away: Point,
    /// Whether the member ends at the joint.
    ends_here: bool,
}

impl End {
    fn at(member: &Member, point: Point) -> Self {
        let (foot, length) = (member.foot(point), member.line_length());
        let near = member.greatest_size_mm().min(length / 4.0);
        let axis = member.axis();
        if foot <= near {
            Self {
                away: axis,
                ends_here: true,
            }
        } else if foot >= length - near {
            Self {
                away: -axis,
                ends_here: true,
            }
        } else {
            Self {
                away: axis,
                ends_here: false,
            }
        }
    }
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
