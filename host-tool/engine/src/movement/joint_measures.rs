//! How members stand at their joints: the lean of a bar on a rail, the angle of a corner.
//!
//! Both are read with a square: how far the edge is from its blade at [`BLADE_MM`].

use super::measures::{Measure, MeasureKind, Turn};
use super::model::beam_model::{BeamModel, Pair};
use super::model::cut::straight_beyond;
use super::model::end::End;
use crate::job::model::{Job, Point, SeenFrom};
use std::collections::BTreeSet;

/// Length of the blade over which a lean or a corner is read, mm.
pub const BLADE_MM: f64 = 300.0;

/// Standard uncertainty of every lean and corner beside that of the factors, mm over the blade: what the model of a joint
/// leaves open. From the simulated welds to which it was fitted, docs/theory.md.
pub const JOINT_STANDARD_MM: f64 = 0.12;

/// Members nearer to one direction than this cosine have no angle to read.
const PARALLEL: f64 = 0.9;

/// The lean of every bar and the angle of every corner, two directions each.
pub(crate) fn joint_measures(job: &Job, model: &BeamModel) -> Vec<Measure> {
    let mut seen = BTreeSet::new();
    let pairs = model.pairs.iter();
    pairs
        .filter(|pair| seen.insert((pair.joint, pair.members)))
        .flat_map(|pair| of_pair(job, model, pair))
        .collect()
}

fn of_pair(job: &Job, model: &BeamModel, pair: &Pair) -> Vec<Measure> {
    let members = pair.members.map(|m| &job.members[m]);
    // A gusset or a foot has no side to hold a square to.
    if members.iter().any(|member| member.plate.is_some()) {
        return Vec::new();
    }
    let axes = members.map(|member| member.axis());
    if axes[0].dot(axes[1]).abs() > PARALLEL {
        return Vec::new();
    }
    let ends = members.map(|member| End::at(member, pair.at));
    let joint = &job.joints[pair.joint];
    // On a joint of more than two members each pair has its own angle.
    let joint = &match joint.members.len() {
        0..=2 => joint.name.clone(),
        _ => format!(
            "{} ({} and {})",
            joint.name, members[0].name, members[1].name
        ),
    };
    let nodes = [0, 1].map(|side| node_beyond(job, model, pair, side));
    let lean = |rail: usize, bar: usize| -> Vec<Measure> {
        let away = ends[bar].away;
        let along = axes[rail] - away * axes[rail].dot(away);
        let beside = away.cross(along);
        // A turn about t moves the bar's far end by t x away.
        [along, beside]
            .into_iter()
            .filter_map(Point::unit)
            .map(|direction| {
                let direction = job.seen_from.with_sign(direction);
                let about = away.cross(direction);
                measure(
                    nodes,
                    [rail, bar],
                    about,
                    MeasureKind::Lean,
                    Some(pair.members[bar]),
                    format!(
                        "lean of {} at {joint}, {}",
                        members[bar].name,
                        job.seen_from.towards(direction)
                    ),
                )
            })
            .collect()
    };
    match (ends[0].ends_here, ends[1].ends_here) {
        (false, true) => lean(0, 1),
        (true, false) => lean(1, 0),
        (true, true) => corner(nodes, ends.map(|end| end.away), joint, job.seen_from),
        (false, false) => Vec::new(),
    }
}

/// The node of a member whose turn is read: where it is straight again, a section's size from a joint at its end.
fn node_beyond(job: &Job, model: &BeamModel, pair: &Pair, side: usize) -> usize {
    let index = pair.members[side];
    straight_beyond(&job.members[index], pair.at)
        .map_or(pair.nodes[side], |along| model.node_near(index, along))
}

/// How far a corner opens, and how far its legs fold out of their plane.
fn corner(nodes: [usize; 2], away: [Point; 2], joint: &str, seen_from: SeenFrom) -> Vec<Measure> {
    let Some(normal) = away[0].cross(away[1]).unit() else {
        return Vec::new();
    };
    let front = seen_from.with_sign(normal);
    // Both legs move to the front by half of what the second turns against the first, about the line that halves them.
    let halving = (away[0] + away[1]).unit().unwrap_or_default();
    let fold = halving.cross(away[1]).dot(front).signum();
    [
        (
            normal,
            MeasureKind::Corner,
            format!("angle of {joint}, opens"),
        ),
        (
            halving * fold,
            MeasureKind::Corner,
            format!("fold of {joint}, {}", seen_from.towards(front)),
        ),
    ]
    .map(|(about, kind, name)| measure(nodes, [0, 1], about, kind, None, name))
    .into()
}

/// The turn of one member of a pair against the other, over the blade of a square.
fn measure(
    nodes: [usize; 2],
    [against, of]: [usize; 2],
    about: Point,
    kind: MeasureKind,
    member: Option<usize>,
    name: String,
) -> Measure {
    let turn = |side: usize, sign: f64| Turn {
        node: nodes[side],
        about: about * (sign * BLADE_MM),
    };
    Measure {
        name,
        kind,
        member,
        nominal_mm: 0.0,
        terms: Vec::new(),
        turns: vec![turn(of, 1.0), turn(against, -1.0)],
    }
}
