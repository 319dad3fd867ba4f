//! Places where a clamp could help.

use super::gains::{MAX_MEMBERS, WORTH_MM};
use crate::job::model::{Clamp, Job, Point};
use crate::movement::frame_words::FrameWords;
use crate::movement::measures::{Measure, MeasureKind, corners};
use crate::movement::model::MovementModel;
use crate::movement::model::beam_model::BeamModel;

/// A place with a clamp this near needs no other, mm.
const NEAR_MM: f64 = 60.0;

/// A place where a clamp could help.
pub(super) struct Spot {
    pub(super) name: String,
    /// Its index among the clamps.
    pub(super) clamp: usize,
}

/// Every clamp that could help.
pub(super) struct Candidates {
    /// The job with all of them.
    pub(super) job: Job,
    /// Middles of the members that bow most, worst first.
    pub(super) middles: Vec<Spot>,
    /// Free corners.
    pub(super) corners: Vec<Spot>,
}

impl Candidates {
    pub(super) fn new(job: &Job, plain: &MovementModel, expected_mm: &[f64]) -> Self {
        let mut clamped = job.clone();
        let mut add = |name: String, member: usize, at: Point| {
            let near = |clamp: &Clamp| (clamp.at - at).length() < NEAR_MM;
            if clamped.clamps.iter().any(near) {
                return None;
            }
            clamped.clamps.push(Clamp::firm(member, at));
            Some(Spot {
                name,
                clamp: clamped.clamps.len() - 1,
            })
        };
        let mut middles = Vec::new();
        for index in bowed_members(plain.measures(), expected_mm) {
            let member = &job.members[index];
            let name = format!("the middle of {}", member.name);
            middles.extend(add(name, index, (member.from + member.to) * 0.5));
        }
        let model = plain.beam_model();
        let free = free_corners(job, model)
            .into_iter()
            .filter_map(|(name, node)| {
                let member = model.member_of(node);
                add(name, member, model.nodes[node])
            });
        let corners = free.collect();
        Self {
            job: clamped,
            middles,
            corners,
        }
    }
}

/// Members by how far they bow, worst first.
fn bowed_members(measures: &[Measure], values_mm: &[f64]) -> Vec<usize> {
    let mut bows: Vec<(usize, f64)> = measures
        .iter()
        .zip(values_mm)
        .filter(|(measure, mm)| measure.kind == MeasureKind::Bow && mm.abs() >= WORTH_MM)
        .filter_map(|(measure, mm)| Some((measure.member?, mm.abs())))
        .collect();
    bows.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut members: Vec<usize> = Vec::new();
    for (member, _) in bows {
        if !members.contains(&member) && members.len() < MAX_MEMBERS {
            members.push(member);
        }
    }
    members
}

/// The corners of a flat frame, each with a node.
fn free_corners(job: &Job, model: &BeamModel) -> Vec<(String, usize)> {
    let names = FrameWords::of(job).corners();
    let nodes = corners(model).into_iter().flatten();
    names
        .into_iter()
        .zip(nodes)
        .filter_map(|(name, nodes)| Some((format!("the {name} corner"), *nodes.first()?)))
        .collect()
}
