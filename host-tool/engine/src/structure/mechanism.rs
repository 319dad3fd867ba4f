//! Tells a loose frame from a soft one, and turns the motion into words a maker can act on.
//!
//! A small pivot may be the stiffness of something slender or the rounding left where there is no stiffness at all. The
//! pivot is the work of one motion; the same work is summed here from the beams and springs, each of which knows a
//! rigid motion when it sees one. Where the two disagree the pivot was rounding, and nothing holds the frame.

use super::beam::Held;
use super::block::Six;
use super::error::{Motion, StructureError};
use super::factor::{Factor, Soft};
use super::frame::Frame;
use super::probe::norm;

/// What the small pivots of a factor turned out to be.
pub(super) struct Verdict {
    /// Unknowns that nothing holds, each with its motion.
    pub loose: Vec<(Soft, Motion)>,
    /// There may be more of them: the factor is not to be trusted behind the last one.
    pub more: bool,
}

/// How many of the smallest pivots are looked at.
const MOST_LOOKED_AT: usize = 24;

/// Looks at the small pivots in order of elimination.
pub(super) fn judge(frame: &Frame, factor: &Factor) -> Result<Verdict, StructureError> {
    let mut suspects = factor.soft().to_vec();
    suspects.sort_by(|a, b| a.part.total_cmp(&b.part));
    suspects.truncate(MOST_LOOKED_AT);
    suspects.sort_by_key(|soft| soft.place);
    let mut loose = Vec::new();
    for soft in suspects {
        let moved = factor.softest_motion(&soft);
        let error = (work(frame, &moved)? / soft.pivot - 1.0).abs();
        if !soft.pinned && error < LOST {
            continue;
        }
        let motion = describe(frame, &moved);
        if !soft.pinned && error < 0.5 {
            return Err(StructureError::TooSoft {
                member: motion.member,
                node: motion.node,
            });
        }
        loose.push((soft, motion));
        if !soft.pinned {
            return Ok(Verdict { loose, more: true });
        }
    }
    Ok(Verdict { loose, more: false })
}

/// Part of the stiffness of the softest motion that may be lost to rounding.
const LOST: f64 = 1e-4;

/// uᵀ K u summed over everything that resists.
fn work(frame: &Frame, moved: &[Six]) -> Result<f64, StructureError> {
    let mut sum = 0.0;
    for beam in &frame.beams {
        sum += beam.work(&frame.nodes, beam.nodes.map(|n| moved[n]))?;
    }
    sum += frame
        .springs
        .iter()
        .map(|s| s.stiffness * s.along.read(moved).powi(2))
        .sum::<f64>();
    for support in &frame.supports {
        for (held, u) in support.held.iter().zip(moved[support.node]) {
            if let Held::Spring(stiffness) = held {
                sum += stiffness * u * u;
            }
        }
    }
    Ok(sum)
}

/// Describes the motion given by the displacements of all nodes.
fn describe(frame: &Frame, moved: &[Six]) -> Motion {
    let size = frame_size(frame);
    let shift = |m: &Six| norm([m[0], m[1], m[2]]);
    let turn = |m: &Six| norm([m[3], m[4], m[5]]) * size;
    let greatest = moved
        .iter()
        .map(|m| shift(m).max(turn(m)))
        .fold(0.0, f64::max);
    let moves = |node: usize| shift(&moved[node]).max(turn(&moved[node])) > 1e-6 * greatest;
    let mut members: Vec<usize> = frame
        .beams
        .iter()
        .filter(|b| b.nodes.iter().any(|n| moves(*n)))
        .map(|b| b.member)
        .collect();
    members.sort_unstable();
    members.dedup();
    let by = |measure: &dyn Fn(&Six) -> f64| {
        (0..moved.len())
            .max_by(|a, b| measure(&moved[*a]).total_cmp(&measure(&moved[*b])))
            .unwrap_or(0)
    };
    let furthest = by(&shift);
    let shifts = shift(&moved[furthest]) > 1e-6 * greatest;
    let node = if shifts { furthest } else { by(&turn) };
    let m = moved[node];
    let here = frame.nodes[node];
    let apart = |other: usize| {
        let p = frame.nodes[other];
        norm([p[0] - here[0], p[1] - here[1], p[2] - here[2]])
    };
    Motion {
        node,
        member: frame
            .beams
            .iter()
            .find(|b| b.nodes.contains(&node))
            .map(|b| b.member),
        members,
        along: shifts.then(|| direction([m[0], m[1], m[2]])),
        about: (turn(&m) > 1e-6 * greatest).then(|| direction([m[3], m[4], m[5]])),
        not_joined_to: (0..moved.len())
            .find(|other| *other != node && apart(*other) < 1e-3 && !moves(*other)),
    }
}

/// Diagonal of the box around the frame, mm; at least 1.
fn frame_size(frame: &Frame) -> f64 {
    let span = |axis: usize| {
        let values = || frame.nodes.iter().map(|p| p[axis]);
        values().fold(f64::NEG_INFINITY, f64::max) - values().fold(f64::INFINITY, f64::min)
    };
    norm([span(0), span(1), span(2)]).max(1.0)
}

/// Unit vector; of two opposite ones that whose largest component is positive.
fn direction(v: [f64; 3]) -> [f64; 3] {
    let largest = v
        .into_iter()
        .max_by(|a, b| a.abs().total_cmp(&b.abs()))
        .unwrap_or(1.0);
    let size = norm(v) * largest.signum();
    v.map(|c| c / size + 0.0)
}
