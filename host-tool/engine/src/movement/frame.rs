//! The job as a beam model: nodes along the members, and the places where welds, tacks and clamps act.
//!
//! Nodes lie on the line through a member's centroids and belong to that member alone: members hold together only by
//! what is tacked, welded or clamped. What acts beside the line (a weld on the front face) acts through a rigid arm
//! from the nearest node.

use super::pieces::{MERGE_MM, Piece, cuts, pieces, runs_along};
use crate::job::model::{Job, Member, Point, WeldKind};

/// A stretch of a member between two nodes.
#[derive(Clone, Copy, Debug)]
pub struct Stretch {
    /// Index of the member.
    pub member: usize,
    /// Node at its start.
    pub from: usize,
    /// Node at its end.
    pub to: usize,
}

/// Two members' nodes at one place of a joint: what they do relative to each other.
#[derive(Clone, Copy, Debug)]
pub struct Pair {
    /// Index of the joint.
    pub joint: usize,
    /// The two members.
    pub members: [usize; 2],
    /// A node of each.
    pub nodes: [usize; 2],
    /// Reference point, for rigid arms.
    pub at: Point,
}

/// A weld, or a piece of a long one, where it acts.
#[derive(Clone, Debug)]
pub struct Seam {
    /// Index of the weld in the job.
    pub weld: usize,
    /// Index of the pair it joins.
    pub pair: usize,
    /// Its middle.
    pub at: Point,
    /// Its length, mm.
    pub length_mm: f64,
    /// Unit vectors: along the weld; from the first member to the second, across the weld; square to both.
    pub axes: [Point; 3],
    /// Thickness of the metal that joins, mm: the leg's throat or the butt's, not more than the thinner wall.
    pub throat_mm: f64,
    /// The walls that the heat runs into, one for each way it can take, added up, mm.
    pub walls_mm: f64,
    /// Whether the walls it joins are open on both sides (flats, angles, channels), so that it can turn them.
    pub walls_turn: bool,
    /// Walls that it heats along its way.
    pub strips: Vec<Strip>,
    /// Share of the weld's heat that this piece gets.
    pub share: f64,
}

/// A strip of a member's wall that a weld heats and that pulls on the member as it cools.
#[derive(Clone, Copy, Debug)]
pub struct Strip {
    /// The member.
    pub member: usize,
    /// Nodes between which it pulls.
    pub nodes: [usize; 2],
    /// Length of that stretch, mm.
    pub length_mm: f64,
    /// Unit vector along the member, from the first node to the second.
    pub axis: Point,
    /// Where it pulls, as an arm from the member's line.
    pub arm: Point,
    /// Share of the weld's heat that goes into this wall.
    pub share: f64,
    /// Whether the weld runs along the member (more than across it).
    pub along: bool,
}

/// A tack: a short weld that only holds.
#[derive(Clone, Copy, Debug)]
pub struct Tack {
    /// Pair it holds.
    pub pair: usize,
    /// Where.
    pub at: Point,
}

/// A clamp, where it acts.
#[derive(Clone, Copy, Debug)]
pub struct ClampPoint {
    /// Index of the clamp in the job.
    pub clamp: usize,
    /// Node it holds.
    pub node: usize,
    /// Where it holds.
    pub at: Point,
}

/// The beam model of a job.
#[derive(Clone, Debug)]
pub struct FrameModel {
    /// Nodes.
    pub nodes: Vec<Point>,
    /// Stretches of members between nodes.
    pub stretches: Vec<Stretch>,
    /// For each member its nodes with their distance from its start, mm, in order.
    pub stations: Vec<Vec<(f64, usize)>>,
    /// Places where two members meet.
    pub pairs: Vec<Pair>,
    /// Welds and pieces of welds, in the order of the job.
    pub seams: Vec<Seam>,
    /// Tacks.
    pub tacks: Vec<Tack>,
    /// Clamps.
    pub clamps: Vec<ClampPoint>,
}

impl FrameModel {
    /// Builds the beam model of a job.
    #[must_use]
    pub fn new(job: &Job) -> Self {
        let (pieces, raw_pairs) = pieces(job);
        let cuts = cuts(job, &pieces, &raw_pairs);
        let mut model = Self::members(job, &cuts);
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
        model.seams = pieces.iter().map(|piece| model.seam(job, piece)).collect();
        model.tacks = model.tacks(job);
        model.clamps = job
            .clamps
            .iter()
            .enumerate()
            .map(|(clamp, held)| ClampPoint {
                clamp,
                node: model.node_near(held.member, job.members[held.member].foot(held.at)),
                at: held.at,
            })
            .collect();
        model
    }

    fn members(job: &Job, cuts: &[Vec<f64>]) -> Self {
        let (mut nodes, mut stretches, mut stations) = (Vec::new(), Vec::new(), Vec::new());
        for (index, (member, cuts)) in job.members.iter().zip(cuts).enumerate() {
            let axis = member.axis();
            let first = nodes.len();
            let row: Vec<_> = cuts
                .iter()
                .enumerate()
                .map(|(k, &along)| (along, first + k))
                .collect();
            nodes.extend(cuts.iter().map(|&along| member.from + axis * along));
            stretches.extend(row.windows(2).map(|ends| Stretch {
                member: index,
                from: ends[0].1,
                to: ends[1].1,
            }));
            stations.push(row);
        }
        Self {
            nodes,
            stretches,
            stations,
            pairs: Vec::new(),
            seams: Vec::new(),
            tacks: Vec::new(),
            clamps: Vec::new(),
        }
    }

    /// The member that a node belongs to.
    #[must_use]
    pub fn member_of(&self, node: usize) -> usize {
        self.stations
            .partition_point(|row| row.last().is_some_and(|&(_, last)| last < node))
    }

    /// The node of a member nearest to a distance along it.
    #[must_use]
    pub fn node_near(&self, member: usize, along: f64) -> usize {
        let row = &self.stations[member];
        row.iter()
            .min_by(|a, b| (a.0 - along).abs().total_cmp(&(b.0 - along).abs()))
            .map_or(0, |&(_, node)| node)
    }

    fn seam(&self, job: &Job, piece: &Piece) -> Seam {
        let weld = &job.welds[piece.weld];
        let pair = &self.pairs[piece.pair];
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
        // Heat runs two ways into a member that goes on past the weld, one way into one that ends there.
        let ways = ends.map(|end| if end.ends_here { 1.0 } else { 2.0 });
        let walls_mm = walls[0] * ways[0] + walls[1] * ways[1];
        let strips = (0..2)
            .filter_map(|side| {
                self.strip(
                    job,
                    piece,
                    pair,
                    side,
                    line,
                    walls[side] * ways[side] / walls_mm,
                )
            })
            .collect();
        Seam {
            weld: piece.weld,
            pair: piece.pair,
            at: piece.at,
            length_mm: piece.length_mm,
            axes: [line, across, line.cross(across)],
            throat_mm: throat.min(walls[0].min(walls[1])).max(0.1),
            walls_mm,
            walls_turn: pair
                .members
                .iter()
                .any(|&m| job.members[m].section.has_open_walls()),
            strips,
            share: piece.share,
        }
    }

    /// The strip of one member's wall that a piece of weld heats; none where the member ends at a weld across it,
    /// because there the weld closes the joint and nothing else.
    fn strip(
        &self,
        job: &Job,
        piece: &Piece,
        pair: &Pair,
        side: usize,
        line: Point,
        share: f64,
    ) -> Option<Strip> {
        let index = pair.members[side];
        let member = &job.members[index];
        let axis = member.axis();
        let along = runs_along(line, axis);
        if piece.share == 0.0 || !along && End::at(member, pair.at).ends_here {
            return None;
        }
        let [from, to] = piece
            .reach(member, line)
            .map(|along| self.node_near(index, along));
        let length_mm = (self.nodes[to] - self.nodes[from]).length();
        (length_mm > MERGE_MM).then(|| Strip {
            member: index,
            nodes: [from, to],
            length_mm,
            axis,
            arm: piece.at - (member.from + axis * (piece.at - member.from).dot(axis)),
            share,
            along,
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

/// How a member stands to a joint.
#[derive(Clone, Copy)]
struct End {
    /// Unit vector along the member, away from the joint where it ends there.
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

/// The direction in which a weld draws the second member towards the first: from first to second, square to the weld.
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
