//! Tells a mechanism from a slender frame, and describes its motion so that the maker can act on it.
//!
//! A near-zero pivot may be the true stiffness of something slender, or rounding where there is no stiffness at all. A
//! pivot is the work of one motion. Here the same work is summed over the beams and springs, each of which gives zero
//! for a rigid motion. Where the two disagree, the pivot was rounding and the frame is a mechanism.

use super::error::{Motion, StructureError};
use super::factor::{Factor, SmallPivot};
use super::fixity::Fixity;
use super::frame::Frame;
use crate::algebra::{Vector6, from_to, norm};

/// What the near-zero pivots of a factor turned out to be.
pub(super) struct Verdict {
    /// Unknowns of mechanisms, each with its motion.
    pub mechanisms: Vec<(SmallPivot, Motion)>,
    /// There may be more: the factor is not valid behind the last of these.
    pub more: bool,
}

/// How many of the smallest pivots are judged.
const MAX_SUSPECTS: usize = 24;

/// Judges the near-zero pivots in order of elimination.
pub(super) fn judge(frame: &Frame, factor: &Factor) -> Result<Verdict, StructureError> {
    let mut suspects = factor.small_pivots().to_vec();
    suspects.sort_by(|a, b| a.share.total_cmp(&b.share));
    suspects.truncate(MAX_SUSPECTS);
    suspects.sort_by_key(|pivot| pivot.place);
    let mut mechanisms = Vec::new();
    for small in suspects {
        let moved = factor.motion(&small);
        let error = (work(frame, &moved)? / small.pivot - 1.0).abs();
        if !small.singular && error < MAX_LOSS {
            continue;
        }
        let motion = describe(frame, &moved);
        if !small.singular && error < 0.5 {
            return Err(StructureError::NearZeroPivot {
                member: motion.member,
                node: motion.node,
            });
        }
        mechanisms.push((small, motion));
        if !small.singular {
            return Ok(Verdict {
                mechanisms,
                more: true,
            });
        }
    }
    Ok(Verdict {
        mechanisms,
        more: false,
    })
}

/// Share of the stiffness against a motion that may be lost to rounding.
const MAX_LOSS: f64 = 1e-4;

/// uᵀ K u summed over everything that resists, N·mm.
fn work(frame: &Frame, moved: &[Vector6]) -> Result<f64, StructureError> {
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
        for (fixity, u) in support.fixity.iter().zip(moved[support.node]) {
            if let Fixity::Spring(stiffness) = fixity {
                sum += stiffness * u * u;
            }
        }
    }
    Ok(sum)
}

/// Describes the motion with these displacements of the nodes.
fn describe(frame: &Frame, moved: &[Vector6]) -> Motion {
    let size = frame_size(frame);
    let shift = |m: &Vector6| norm([m[0], m[1], m[2]]);
    let turn = |m: &Vector6| norm([m[3], m[4], m[5]]) * size;
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
    let by = |measure: &dyn Fn(&Vector6) -> f64| {
        (0..moved.len())
            .max_by(|a, b| measure(&moved[*a]).total_cmp(&measure(&moved[*b])))
            .unwrap_or(0)
    };
    let furthest = by(&shift);
    let shifts = shift(&moved[furthest]) > 1e-6 * greatest;
    let node = if shifts { furthest } else { by(&turn) };
    let m = moved[node];
    let here = frame.nodes[node];
    let apart = |other: usize| norm(from_to(here, frame.nodes[other]));
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

/// The unit vector along a line; its largest component is positive.
fn direction(v: [f64; 3]) -> [f64; 3] {
    let largest = v
        .into_iter()
        .max_by(|a, b| a.abs().total_cmp(&b.abs()))
        .unwrap_or(1.0);
    let size = norm(v) * largest.signum();
    v.map(|c| c / size + 0.0)
}
