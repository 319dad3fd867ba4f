//! The job as a beam model: nodes along the members, and the places where welds, tacks and clamps act.
//!
//! Nodes lie on the line through a member's centroids and belong to that member alone: members hold together only by
//! what is tacked, welded or clamped. What acts beside the line (a weld on the front face) acts through a rigid arm
//! from the nearest node.

use crate::job::model::{Job, Member, Point, Weld, WeldKind};
use std::collections::BTreeMap;

/// Nodes of one member closer than this are one node, mm.
pub(super) const MERGE_MM: f64 = 0.5;
/// A weld longer than this many member depths is taken in pieces, because it no longer acts at a point.
const PIECE_DEPTHS: f64 = 1.5;

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

/// Something that acts at a point of a joint, before nodes exist.
struct Piece {
    weld: usize,
    at: Point,
    length_mm: f64,
    share: f64,
    pair: usize,
    /// Where the stretch that it heats begins and ends, when that is not simply around `at`.
    hot: Option<[Point; 2]>,
}

struct RawPair {
    joint: usize,
    members: [usize; 2],
    points: Vec<Point>,
}

impl RawPair {
    fn at(&self) -> Point {
        self.points.iter().fold(Point::default(), |sum, &p| sum + p)
            * (1.0 / self.points.len() as f64)
    }
}

impl Member {
    /// Unit vector from its start to its end.
    fn axis(&self) -> Point {
        (self.to - self.from)
            .unit()
            .unwrap_or(Point::new(1.0, 0.0, 0.0))
    }

    pub(super) fn line_length(&self) -> f64 {
        (self.to - self.from).length()
    }

    /// How far a point lies from the box round the member's section, mm; nothing inside it.
    pub(super) fn clearance_mm(&self, point: Point) -> f64 {
        let properties = self.section.properties();
        let axis = self.axis();
        let offset = point - (self.from + axis * self.foot(point));
        let [y, z] = properties.centroid_from_corner_mm;
        // The centroid may lie off the middle; the farther side counts either way.
        let beyond = |reach: f64, half: f64| (reach.abs() - half).max(0.0);
        let depth = beyond(offset.dot(self.depth_axis), z.max(properties.depth_mm - z));
        let width = beyond(
            offset.dot(self.depth_axis.cross(axis)),
            y.max(properties.width_mm - y),
        );
        let along = beyond(offset.dot(axis), 0.0);
        depth.hypot(width).hypot(along)
    }

    /// Distance from the start to the foot of a point on the line, kept within the line.
    fn foot(&self, point: Point) -> f64 {
        (point - self.from)
            .dot(self.axis())
            .clamp(0.0, self.line_length())
    }

    pub(super) fn greatest_size_mm(&self) -> f64 {
        let properties = self.section.properties();
        properties.depth_mm.max(properties.width_mm)
    }
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

/// Cuts welds into pieces that act at a point, and groups them into pairs of members.
///
/// A weld that runs along both its members holds them where it starts and then, piece by piece, where each piece ends;
/// between these points it pulls on both. Every other weld holds at the middle of each piece.
fn pieces(job: &Job) -> (Vec<Piece>, Vec<RawPair>) {
    let mut pairs: Vec<RawPair> = Vec::new();
    let mut compact: BTreeMap<(usize, usize, usize), usize> = BTreeMap::new();
    let mut pieces = Vec::new();
    for (index, weld) in job.welds.iter().enumerate() {
        let both = weld.members.map(|m| &job.members[m]);
        let line = (weld.to - weld.from).unit().unwrap_or_default();
        let side_by_side = both.iter().all(|m| runs_along(line, m.axis()));
        let (length, count) = (weld.length().0, piece_count(job, weld));
        let members = [
            weld.members[0].min(weld.members[1]),
            weld.members[0].max(weld.members[1]),
        ];
        let on_line = |share: f64| weld.from + (weld.to - weld.from) * share;
        let share = 1.0 / count as f64;
        let mut hold =
            |at: Point, own_pair: bool, length_mm: f64, share: f64, hot: Option<[Point; 2]>| {
                let mut new_pair = || {
                    pairs.push(RawPair {
                        joint: weld.joint,
                        members,
                        points: Vec::new(),
                    });
                    pairs.len() - 1
                };
                let key = (weld.joint, members[0], members[1]);
                let pair = if own_pair {
                    new_pair()
                } else {
                    *compact.entry(key).or_insert_with(new_pair)
                };
                pairs[pair].points.push(at);
                pieces.push(Piece {
                    weld: index,
                    at,
                    length_mm,
                    share,
                    pair,
                    hot,
                });
            };
        if side_by_side {
            hold(weld.from, true, length * share / 2.0, 0.0, None);
            for k in 0..count {
                let ends = [on_line(k as f64 * share), on_line((k + 1) as f64 * share)];
                hold(ends[1], true, length * share, share, Some(ends));
            }
        } else {
            for k in 0..count {
                hold(
                    on_line((k as f64 + 0.5) * share),
                    count > 1,
                    length * share,
                    share,
                    None,
                );
            }
        }
    }
    (pieces, pairs)
}

/// Into how many pieces a weld is cut.
pub(super) fn piece_count(job: &Job, weld: &Weld) -> usize {
    let length = weld.length().0;
    let size = weld
        .members
        .map(|m| job.members[m].greatest_size_mm())
        .into_iter()
        .fold(0.0, f64::max);
    if length > PIECE_DEPTHS * size {
        (length / size).ceil() as usize
    } else {
        1
    }
}

/// Whether a weld runs along a member more than across it.
fn runs_along(line: Point, axis: Point) -> bool {
    line.dot(axis).abs() > std::f64::consts::FRAC_1_SQRT_2
}

impl Piece {
    /// The stretch of a member that this piece takes hold of, as distances along it.
    fn reach(&self, member: &Member, line: Point) -> [f64; 2] {
        let [from, to] = match self.hot {
            Some(ends) => ends.map(|end| member.foot(end)),
            None => {
                let along = self.length_mm * line.dot(member.axis()).abs();
                let half = (along / 2.0).max(member.greatest_size_mm() / 2.0);
                let foot = member.foot(self.at);
                [
                    (foot - half).max(0.0),
                    (foot + half).min(member.line_length()),
                ]
            }
        };
        [from.min(to), from.max(to)]
    }
}

/// Where each member needs nodes: its ends and middle, its joints, and the stretches that welds take hold of.
fn cuts(job: &Job, pieces: &[Piece], pairs: &[RawPair]) -> Vec<Vec<f64>> {
    let mut wanted: Vec<Vec<f64>> = job
        .members
        .iter()
        .map(|member| {
            let length = member.line_length();
            vec![0.0, 0.25 * length, 0.5 * length, 0.75 * length, length]
        })
        .collect();
    for pair in pairs {
        for &index in &pair.members {
            wanted[index].push(job.members[index].foot(pair.at()));
        }
    }
    for piece in pieces {
        let weld = &job.welds[piece.weld];
        let line = (weld.to - weld.from).unit().unwrap_or_default();
        for &index in &pairs[piece.pair].members {
            let member = &job.members[index];
            wanted[index].extend(piece.reach(member, line));
        }
    }
    for clamp in &job.clamps {
        wanted[clamp.member].push(job.members[clamp.member].foot(clamp.at));
    }
    for (row, member) in wanted.iter_mut().zip(&job.members) {
        row.sort_by(f64::total_cmp);
        row.dedup_by(|later, earlier| *later - *earlier < MERGE_MM);
        // The end itself must survive the merging.
        if let Some(last) = row.last_mut() {
            *last = member.line_length();
        }
    }
    wanted
}
