//! Cuts welds into segments: where they act, which pairs of members they join, and where members therefore need nodes.

use super::end::End;
use crate::job::model::{Job, Member, Point, Weld};
use std::collections::BTreeMap;

/// Nodes of one member that are closer than this are merged, mm.
pub(crate) const MERGE_MM: f64 = 0.5;
/// A weld longer than this many member depths is cut into segments, because it no longer acts at a point.
const MAX_SEGMENT_DEPTHS: f64 = 1.5;
/// Greatest length of weld that is welded in one go, mm. Back-step parts are 100 to 200 mm long (common practice, no
/// source).
pub(crate) const MAX_PART_LENGTH_MM: f64 = 200.0;

/// A segment of weld before nodes exist.
pub(crate) struct RawSegment {
    pub(crate) weld: usize,
    pub(crate) at: Point,
    pub(crate) length_mm: f64,
    pub(crate) share: f64,
    pub(crate) pair: usize,
    /// Where the length that it heats begins and ends; `None` where that is around `at`.
    heated: Option<[Point; 2]>,
}

/// Two members where welds join them, before nodes exist.
pub(crate) struct RawPair {
    pub(crate) joint: usize,
    pub(crate) members: [usize; 2],
    points: Vec<Point>,
}

impl RawPair {
    pub(crate) fn at(&self) -> Point {
        self.points.iter().fold(Point::default(), |sum, &p| sum + p)
            * (1.0 / self.points.len() as f64)
    }
}

impl Member {
    /// Unit vector from its start to its end.
    pub(crate) fn axis(&self) -> Point {
        (self.to - self.from)
            .unit()
            .unwrap_or(Point::new(1.0, 0.0, 0.0))
    }

    pub(crate) fn line_length(&self) -> f64 {
        (self.to - self.from).length()
    }

    /// Distance of a point from the box round the member's section, mm; 0 inside it.
    pub(crate) fn clearance_mm(&self, point: Point) -> f64 {
        let properties = self.section.properties();
        let axis = self.axis();
        let offset = point - (self.from + axis * self.foot(point));
        let [y, z] = properties.centroid_from_corner_mm;
        // The centroid may be off the middle; the farther side counts both ways.
        let beyond = |reach: f64, half: f64| (reach.abs() - half).max(0.0);
        let depth = beyond(offset.dot(self.depth_axis), z.max(properties.depth_mm - z));
        let width = beyond(
            offset.dot(self.depth_axis.cross(axis)),
            y.max(properties.width_mm - y),
        );
        let along = beyond(offset.dot(axis), 0.0);
        depth.hypot(width).hypot(along)
    }

    /// Distance from the start to the foot of a point on the line, mm, limited to the length of the line.
    pub(crate) fn foot(&self, point: Point) -> f64 {
        (point - self.from)
            .dot(self.axis())
            .clamp(0.0, self.line_length())
    }

    /// Size of the section in a direction across the member, mm.
    pub(crate) fn size_along(&self, direction: Point) -> f64 {
        let properties = self.section.properties();
        let width_axis = self.depth_axis.cross(self.axis());
        let depth = direction.dot(self.depth_axis) * properties.depth_mm;
        depth.hypot(direction.dot(width_axis) * properties.width_mm)
    }

    /// From the centroid to the side of the section's box in a direction across the member, mm.
    pub(crate) fn reach_mm(&self, direction: Point) -> f64 {
        let properties = self.section.properties();
        let [y, z] = properties.centroid_from_corner_mm;
        let side =
            |part: f64, low: f64, high: f64| part.abs() * if part < 0.0 { low } else { high };
        let across = direction.dot(self.depth_axis.cross(self.axis()));
        let depth = direction.dot(self.depth_axis);
        side(across, y, properties.width_mm - y) + side(depth, z, properties.depth_mm - z)
    }

    /// Strain along the member at a point of its section, times E, for each newton that pulls there: 1/A + y²/I, 1/mm².
    ///
    /// `arm` is from the centroid. Bending counts about each axis by itself, which is exact for sections with an axis of
    /// symmetry.
    pub(crate) fn gives_per_mm2(&self, arm: Point) -> f64 {
        let properties = self.section.properties();
        let width_axis = self.depth_axis.cross(self.axis());
        let (z, y) = (arm.dot(self.depth_axis), arm.dot(width_axis));
        1.0 / properties.area_mm2
            + z * z / properties.second_moment_y_mm4
            + y * y / properties.second_moment_z_mm4
    }

    /// Second moment of area for bending in the plane of a direction across the member, mm⁴.
    pub(crate) fn second_moment_mm4(&self, direction: Point) -> f64 {
        let properties = self.section.properties();
        let depth = direction.dot(self.depth_axis).powi(2);
        let width = direction.dot(self.depth_axis.cross(self.axis())).powi(2);
        depth * properties.second_moment_y_mm4 + width * properties.second_moment_z_mm4
    }

    pub(crate) fn greatest_size_mm(&self) -> f64 {
        let properties = self.section.properties();
        properties.depth_mm.max(properties.width_mm)
    }
}

/// Cuts welds into segments that act at a point, and groups them into pairs of members.
///
/// A weld that runs along both its members joins them where it starts and then where each segment ends; between these
/// points it pulls on both. Every other weld joins its members at the middle of each segment.
pub(crate) fn raw_segments(job: &Job) -> (Vec<RawSegment>, Vec<RawPair>) {
    let mut cut = Cut::default();
    for (index, weld) in job.welds.iter().enumerate() {
        let both = weld.members.map(|m| &job.members[m]);
        let line = (weld.to - weld.from).unit().unwrap_or_default();
        let side_by_side = both.iter().all(|m| runs_along(line, m.axis()));
        let (length, count) = (weld.length().0, segment_count(job, weld));
        let on_line = |share: f64| weld.from + (weld.to - weld.from) * share;
        let share = 1.0 / count as f64;
        let at = |at: Point, length_mm: f64, share: f64, heated: Option<[Point; 2]>| RawSegment {
            weld: index,
            at,
            length_mm,
            share,
            pair: 0,
            heated,
        };
        if side_by_side {
            cut.add(weld, true, at(weld.from, length * share / 2.0, 0.0, None));
            for k in 0..count {
                let ends = [on_line(k as f64 * share), on_line((k + 1) as f64 * share)];
                cut.add(weld, true, at(ends[1], length * share, share, Some(ends)));
            }
        } else {
            for k in 0..count {
                let middle = on_line((k as f64 + 0.5) * share);
                cut.add(weld, count > 1, at(middle, length * share, share, None));
            }
        }
    }
    (cut.segments, cut.pairs)
}

/// What has been cut so far.
#[derive(Default)]
struct Cut {
    segments: Vec<RawSegment>,
    pairs: Vec<RawPair>,
    /// The pair that short welds of a joint share, by joint and members.
    shared: BTreeMap<(usize, usize, usize), usize>,
}

impl Cut {
    /// Adds a segment of a weld; it has a pair of its own, or shares that of its joint and members.
    fn add(&mut self, weld: &Weld, own_pair: bool, segment: RawSegment) {
        let members = [
            weld.members[0].min(weld.members[1]),
            weld.members[0].max(weld.members[1]),
        ];
        let Self {
            segments,
            pairs,
            shared,
        } = self;
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
            *shared.entry(key).or_insert_with(new_pair)
        };
        pairs[pair].points.push(segment.at);
        segments.push(RawSegment { pair, ..segment });
    }
}

/// The number of segments that a weld is cut into, 1 or more.
pub(crate) fn segment_count(job: &Job, weld: &Weld) -> usize {
    let length = weld.length().0;
    let size = weld
        .members
        .map(|m| job.members[m].greatest_size_mm())
        .into_iter()
        .fold(0.0, f64::max);
    if length > MAX_SEGMENT_DEPTHS * size {
        (length / size).ceil() as usize
    } else {
        // A weld made in several parts needs at least one segment for each.
        (length / MAX_PART_LENGTH_MM).ceil().max(1.0) as usize
    }
}

/// Whether a weld runs along a member rather than across it; along the cut of a mitre it runs across.
pub(crate) fn runs_along(line: Point, axis: Point) -> bool {
    line.dot(axis).abs() > 0.75
}

impl RawSegment {
    /// The length of a member that this segment acts on, as distances along it, mm.
    pub(crate) fn reach(&self, member: &Member, line: Point) -> [f64; 2] {
        let [from, to] = match self.heated {
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

/// Where a member that ends at a joint is straight again, one and a quarter of its size from the joint, as a distance
/// along it, mm: there its lean is read.
pub(crate) fn straight_beyond(member: &Member, joint: Point) -> Option<f64> {
    let end = End::at(member, joint);
    let place = joint + end.away * (1.25 * member.greatest_size_mm());
    end.ends_here.then(|| member.foot(place))
}

/// Where each member needs nodes, as distances along it, mm: its ends, quarters and middle, its joints, its clamps, and
/// the ends of the lengths that segments act on.
pub(crate) fn node_positions(
    job: &Job,
    segments: &[RawSegment],
    pairs: &[RawPair],
) -> Vec<Vec<f64>> {
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
            let member = &job.members[index];
            wanted[index].push(member.foot(pair.at()));
            wanted[index].extend(straight_beyond(member, pair.at()));
        }
    }
    for segment in segments {
        let weld = &job.welds[segment.weld];
        let line = (weld.to - weld.from).unit().unwrap_or_default();
        for &index in &pairs[segment.pair].members {
            let member = &job.members[index];
            wanted[index].extend(segment.reach(member, line));
        }
    }
    for clamp in &job.clamps {
        wanted[clamp.member].push(job.members[clamp.member].foot(clamp.at));
    }
    for (row, member) in wanted.iter_mut().zip(&job.members) {
        row.sort_by(f64::total_cmp);
        row.dedup_by(|later, earlier| *later - *earlier < MERGE_MM);
        // The end itself must survive merging.
        if let Some(last) = row.last_mut() {
            *last = member.line_length();
        }
    }
    wanted
}
