//! Turns a motion without resistance into words a maker can act on.

use super::block::Six;
use super::error::Motion;
use super::frame::Frame;
use super::probe::norm;

/// Describes the motion given by the displacements of all nodes.
pub(super) fn describe(frame: &Frame, moved: &[Six]) -> Motion {
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
