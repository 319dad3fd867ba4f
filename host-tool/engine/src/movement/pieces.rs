//! Where welds act, before the beam model exists: their pieces, the pairs of members they join, and where members
//! therefore need nodes.

use crate::job::model::{Job, Member, Point, Weld};
use std::collections::BTreeMap;

/// Nodes of one member closer than this are one node, mm.
pub(super) const MERGE_MM: f64 = 0.5;
/// A weld longer than this many member depths is taken in pieces, because it no longer acts at a point.
const PIECE_DEPTHS: f64 = 1.5;
/// Longest weld that is made in one go, mm. Back-step pieces are 100 to 200 mm long in practice (no single source).
pub const LONGEST_IN_ONE_GO_MM: f64 = 200.0;

/// Something that acts at a point of a joint, before nodes exist.
pub(super) struct Piece {
    pub(super) weld: usize,
    pub(super) at: Point,
    pub(super) length_mm: f64,
    pub(super) share: f64,
    pub(super) pair: usize,
    /// Where the stretch that it heats begins and ends, when that is not simply around `at`.
    hot: Option<[Point; 2]>,
}

/// Two members where welds join them, before nodes exist.
pub(super) struct RawPair {
    pub(super) joint: usize,
    pub(super) members: [usize; 2],
    points: Vec<Point>,
}

impl RawPair {
    pub(super) fn at(&self) -> Point {
        self.points.iter().fold(Point::default(), |sum, &p| sum + p)
            * (1.0 / self.points.len() as f64)
    }
}

impl Member {
    /// Unit vector from its start to its end.
    pub(super) fn axis(&self) -> Point {
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
    pub(super) fn foot(&self, point: Point) -> f64 {
        (point - self.from)
            .dot(self.axis())
            .clamp(0.0, self.line_length())
    }

    pub(super) fn greatest_size_mm(&self) -> f64 {
        let properties = self.section.properties();
        properties.depth_mm.max(properties.width_mm)
    }
}

/// Cuts welds into pieces that act at a point, and groups them into pairs of members.
///
/// A weld that runs along both its members holds them where it starts and then, piece by piece, where each piece ends;
/// between these points it pulls on both. Every other weld holds at the middle of each piece.
pub(super) fn pieces(job: &Job) -> (Vec<Piece>, Vec<RawPair>) {
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
pub(crate) fn piece_count(job: &Job, weld: &Weld) -> usize {
    let length = weld.length().0;
    let size = weld
        .members
        .map(|m| job.members[m].greatest_size_mm())
        .into_iter()
        .fold(0.0, f64::max);
    if length > PIECE_DEPTHS * size {
        (length / size).ceil() as usize
    } else {
        // What is made in more than one go is laid in more than one piece.
        (length / LONGEST_IN_ONE_GO_MM).ceil().max(1.0) as usize
    }
}

/// Whether a weld runs along a member more than across it.
pub(super) fn runs_along(line: Point, axis: Point) -> bool {
    line.dot(axis).abs() > std::f64::consts::FRAC_1_SQRT_2
}

impl Piece {
    /// The stretch of a member that this piece takes hold of, as distances along it.
    pub(super) fn reach(&self, member: &Member, line: Point) -> [f64; 2] {
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
pub(super) fn cuts(job: &Job, pieces: &[Piece], pairs: &[RawPair]) -> Vec<Vec<f64>> {
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
