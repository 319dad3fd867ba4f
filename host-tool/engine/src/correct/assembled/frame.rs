//! The welded members as a structure.

use super::give::Joint;
use super::line::{Line, half_size, metal};
use crate::correct::bar::bar;
use crate::formulas::bending::MomentCurve;
use crate::job::model::{Job, Point, Weld};
use crate::structure::{
    Beam, BeamStiffness, Frame, Probe, Spring, Structure, StructureError, Support, YieldingBeam,
};

/// A length of a member between two nodes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Length {
    pub member: usize,
    /// Its middle along the member, mm.
    pub middle_mm: f64,
}

/// A member of a frame and all that is welded to it, directly or through others, every weld done.
///
/// Welds join at one point for a joint of short welds, every 40 mm for a long one; rigidly, but for the face of a tube that
/// gives under a narrower member. A member that is cut square against another begins at its face.
pub struct AssembledFrame<'a> {
    pub(super) job: &'a Job,
    pub(super) structure: Structure,
    /// For each member its nodes with their distance from its start, mm, ascending; empty if it is not welded to this one.
    nodes: Vec<Vec<(f64, usize)>>,
    /// The lengths, by beam.
    pub(super) lengths: Vec<Length>,
    pub(super) member: usize,
}

/// Nodes nearer than this along a member are one, mm.
const MERGE_MM: f64 = 3.0;
/// Distance between the points that a long weld joins at, mm.
const JOIN_EVERY_MM: f64 = 40.0;
/// Number of lengths that the member in question is cut into, and every other, at least.
const FINE: f64 = 40.0;
const COARSE: f64 = 12.0;

/// Where two members are joined.
struct Join {
    members: [usize; 2],
    at: Point,
}

impl<'a> AssembledFrame<'a> {
    /// The frame round a member; `places_mm` are places along it that get a node.
    ///
    /// # Errors
    /// [`StructureError`] when it cannot be solved.
    ///
    /// # Panics
    /// If the job has no such member.
    pub fn new(job: &'a Job, member: usize, places_mm: &[f64]) -> Result<Self, StructureError> {
        let joins = joins(job);
        let welded = welded_to(job, member, &joins);
        let mut frame = Frame::default();
        let mut nodes = vec![Vec::new(); job.members.len()];
        let mut lengths = Vec::new();
        for index in (0..job.members.len()).filter(|&index| welded[index]) {
            let own: &[f64] = if index == member { places_mm } else { &[] };
            let stations = stations(job, index, &joins, own, index == member);
            let line = Line::of(&job.members[index]);
            let stiffness = BeamStiffness::of(&job.members[index].section, &job.material);
            let first = frame.nodes.len();
            let along = |k: usize| (stations[k], first + k);
            nodes[index] = (0..stations.len()).map(along).collect();
            frame
                .nodes
                .extend(stations.iter().map(|&s| <[f64; 3]>::from(line.at(s))));
            let depth: [f64; 3] = job.members[index].depth_axis.into();
            for (k, pair) in stations.windows(2).enumerate() {
                frame.beams.push(Beam::new(
                    index,
                    [first + k, first + k + 1],
                    depth,
                    stiffness,
                ));
                lengths.push(Length {
                    member: index,
                    middle_mm: 0.5 * (pair[0] + pair[1]),
                });
            }
        }
        // What presses and heats is in balance, so one node that is held carries nothing.
        frame.supports = nodes[member]
            .first()
            .map(|&(_, node)| Support::fixed(node))
            .into_iter()
            .collect();
        let mut this = Self {
            job,
            structure: Structure::new(&Frame {
                nodes: vec![[0.0; 3]],
                supports: vec![Support::fixed(0)],
                ..Frame::default()
            })?,
            nodes,
            lengths,
            member,
        };
        frame.springs = joins
            .iter()
            .filter(|join| welded[join.members[0]])
            .flat_map(|join| this.springs(&frame.nodes, join))
            .collect();
        this.structure = Structure::new(&frame)?;
        Ok(this)
    }

    fn springs(&self, nodes: &[[f64; 3]], join: &Join) -> Vec<Spring> {
        let [from, to] = join
            .members
            .map(|m| self.node_near(m, Line::of(&self.job.members[m]).foot(join.at)));
        let joint = Joint::of(self.job, join.members, join.at);
        let spring = |(k, axis): (usize, &Point)| {
            let opens = Probe::opening(nodes, from, to, join.at.into(), (*axis).into());
            let turns = Probe::relative_rotation(from, to, (*axis).into());
            [(opens, joint.stiffness[k]), (turns, joint.stiffness[3 + k])]
                .map(|(along, stiffness)| Spring { along, stiffness })
        };
        joint.axes.iter().enumerate().flat_map(spring).collect()
    }

    fn node_near(&self, member: usize, along_mm: f64) -> usize {
        let row = &self.nodes[member];
        let nearest = row
            .iter()
            .min_by(|a, b| (a.0 - along_mm).abs().total_cmp(&(b.0 - along_mm).abs()));
        nearest.map_or(0, |&(_, node)| node)
    }

    /// Whether a member is part of it.
    #[must_use]
    pub fn has(&self, member: usize) -> bool {
        self.nodes.get(member).is_some_and(|row| !row.is_empty())
    }

    /// How far a member moves in a direction at a place along it.
    pub(super) fn moves(&self, member: usize, along_mm: f64, direction: Point) -> Probe {
        let node = self.node_near(member, along_mm);
        let at = Line::of(&self.job.members[member]).at(along_mm);
        Probe::displacement(
            &self.structure.frame().nodes,
            node,
            at.into(),
            direction.into(),
        )
    }

    /// The bow of a member: its middle off the line between its ends.
    pub(super) fn bow(&self, member: usize, direction: Point) -> Probe {
        let length = Line::of(&self.job.members[member]).length_mm;
        self.moves(member, 0.5 * length, direction)
            .plus(-0.5, &self.moves(member, 0.0, direction))
            .plus(-0.5, &self.moves(member, length, direction))
    }

    /// The beams that may yield, about both axes, with the strain at which each has to stop.
    pub(super) fn yielding(&self) -> Vec<YieldingBeam> {
        let laws: Vec<Option<[MomentCurve; 2]>> =
            (0..self.job.members.len()).map(|m| self.laws(m)).collect();
        let mut all = Vec::with_capacity(2 * self.lengths.len());
        for (beam, length) in self.lengths.iter().enumerate() {
            for (k, law) in laws[length.member].iter().flatten().enumerate() {
                all.push(YieldingBeam {
                    beam,
                    about_z: k == 1,
                    law: law.clone(),
                });
            }
        }
        all
    }

    /// Moment over curvature of a member as it bends in its depth and in its width.
    fn laws(&self, member: usize) -> Option<[MomentCurve; 2]> {
        let one = &self.job.members[member];
        let stiffness = BeamStiffness::of(&one.section, &self.job.material);
        let (sin, cos) = stiffness.principal_angle_rad.sin_cos();
        let (a, b) = (stiffness.bending_1_n_mm2, stiffness.bending_2_n_mm2);
        let own = [a * cos * cos + b * sin * sin, a * sin * sin + b * cos * cos];
        let law = |k: usize| {
            let bar = bar(one, self.side(member, k == 1), &self.job.material).ok()?;
            Some(MomentCurve::of(&bar, own[k]))
        };
        Some([law(0)?, law(1)?])
    }

    /// The direction in which a member bends about its local y, or with `about_z` about its local z.
    pub(super) fn side(&self, member: usize, about_z: bool) -> Point {
        let one = &self.job.members[member];
        if about_z {
            one.depth_axis.cross(Line::of(one).axis)
        } else {
            one.depth_axis
        }
    }

    /// The bow that a kink of one radian at a place along the member takes out of it, in the direction it bends to, mm, as
    /// the frame lets it; a member on its own would give half the distance to its nearer end.
    ///
    /// # Errors
    /// [`StructureError`] when it cannot be solved.
    pub fn bow_per_kink(
        &self,
        side: Point,
        places_mm: &[f64],
        others: &[(usize, Point)],
    ) -> Result<Vec<Vec<f64>>, StructureError> {
        let one = &self.job.members[self.member];
        let about_z = one.depth_axis.dot(side).abs() < 0.5;
        let mut bows = vec![self.bow(self.member, -side)];
        bows.extend(
            others
                .iter()
                .map(|&(member, towards)| self.bow(member, towards)),
        );
        let mut rows = Vec::new();
        for &place in places_mm {
            let beam = (0..self.lengths.len())
                .filter(|&b| self.lengths[b].member == self.member)
                .min_by(|&a, &b| {
                    let off = |beam: usize| (self.lengths[beam].middle_mm - place).abs();
                    off(a).total_cmp(&off(b))
                })
                .unwrap_or(0);
            let kink = self.structure.kink(beam, about_z)?;
            let bent = self.structure.flexibility(&[kink], &bows)?;
            // Positive takes the bow out.
            let sign = if bent[0] < 0.0 { -1.0 } else { 1.0 };
            rows.push(bent.iter().map(|b| sign * b).collect());
        }
        Ok(rows)
    }

    /// Whether another member meets this one only near its ends.
    #[must_use]
    pub fn meets_at_end(&self, other: usize) -> bool {
        let line = Line::of(&self.job.members[self.member]);
        let near = 2.0 * half_size(&self.job.members[other], line.axis);
        joins(self.job)
            .iter()
            .filter(|join| join.members.contains(&other) && join.members.contains(&self.member))
            .all(|join| {
                let foot = line.foot(join.at);
                foot.min(line.length_mm - foot) <= near
            })
    }

    /// Members that are welded both to this one and to another, by index.
    #[must_use]
    pub fn between(&self, other: usize) -> Vec<usize> {
        let joins = joins(self.job);
        let touches = |a: usize, b: usize| {
            joins
                .iter()
                .any(|join| join.members.contains(&a) && join.members.contains(&b))
        };
        (0..self.job.members.len())
            .filter(|&m| m != self.member && m != other)
            .filter(|&m| touches(m, self.member) && touches(m, other))
            .collect()
    }
}

/// The points at which the welds join members.
fn joins(job: &Job) -> Vec<Join> {
    let mut groups: Vec<(usize, [usize; 2], Vec<&Weld>)> = Vec::new();
    for weld in &job.welds {
        let mut members = weld.members;
        members.sort_unstable();
        match groups
            .iter_mut()
            .find(|(joint, m, _)| *joint == weld.joint && *m == members)
        {
            Some((_, _, welds)) => welds.push(weld),
            None => groups.push((weld.joint, members, vec![weld])),
        }
    }
    groups
        .iter()
        .flat_map(|(_, members, welds)| group_joins(job, *members, welds))
        .collect()
}

fn group_joins(job: &Job, members: [usize; 2], welds: &[&Weld]) -> Vec<Join> {
    let size = |m: usize| {
        let p = job.members[m].section.properties();
        p.depth_mm.max(p.width_mm)
    };
    let short = 2.0 * size(members[0]).max(size(members[1]));
    let middle = |weld: &Weld| (weld.from + weld.to) * 0.5;
    if welds
        .iter()
        .all(|weld| (weld.to - weld.from).length() <= short)
    {
        let sum = welds
            .iter()
            .fold(Point::default(), |sum, weld| sum + middle(weld));
        let at = sum * (1.0 / welds.len() as f64);
        return vec![Join { members, at }];
    }
    let points = |weld: &&Weld| {
        let (from, along) = (weld.from, weld.to - weld.from);
        let count = (along.length() / JOIN_EVERY_MM).ceil().max(1.0) as usize;
        let at = move |k: usize| from + along * ((k as f64 + 0.5) / count as f64);
        (0..count).map(move |k| Join { members, at: at(k) })
    };
    welds.iter().flat_map(points).collect()
}

/// Which members are welded to a member, directly or through others.
fn welded_to(job: &Job, member: usize, joins: &[Join]) -> Vec<bool> {
    let mut welded = vec![false; job.members.len()];
    welded[member] = true;
    let mut grown = true;
    while std::mem::take(&mut grown) {
        for join in joins {
            let [a, b] = join.members;
            if welded[a] != welded[b] {
                (welded[a], welded[b], grown) = (true, true, true);
            }
        }
    }
    welded
}

/// Where a member gets nodes, mm from its start, ascending.
fn stations(job: &Job, index: usize, joins: &[Join], own: &[f64], fine: bool) -> Vec<f64> {
    let member = &job.members[index];
    let line = Line::of(member);
    let [first, last] = metal(job, index);
    let mut wanted = vec![first, last];
    wanted.extend(own);
    for join in joins.iter().filter(|join| join.members.contains(&index)) {
        let foot = line.foot(join.at);
        let near = half_size(member, member.depth_axis);
        wanted.extend([foot, foot - near, foot + near]);
    }
    wanted.retain(|&along| (first..=last).contains(&along));
    wanted.sort_by(f64::total_cmp);
    let longest = (last - first) / if fine { FINE } else { COARSE };
    let mut stations = vec![first];
    for along in wanted {
        let before = stations[stations.len() - 1];
        if along - before < MERGE_MM {
            continue;
        }
        let pieces = ((along - before) / longest).ceil().max(1.0) as usize;
        stations.extend((1..=pieces).map(|k| before + (along - before) * k as f64 / pieces as f64));
    }
    // The end itself, even if another node is near.
    if let Some(end) = stations.last_mut() {
        *end = last;
    }
    stations
}
