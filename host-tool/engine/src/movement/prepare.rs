//! Solving the structure once, before the first weld, and condensing it.

use super::answers::{Measure, corners};
use super::condensed::Condensed;
use super::coordinates::{Tie, probes};
use super::engine::Held;
use super::frame::FrameModel;
use crate::job::model::{Job, Point};
use crate::structure::{Beam, BeamStiffness, Frame, Probe, Structure, StructureError};

/// Whether the clamps alone keep the frame from moving: three of them that do not lie in a line.
pub(super) fn clamps_hold(points: &[Point]) -> bool {
    let Some((&first, rest)) = points.split_first() else {
        return false;
    };
    rest.iter().any(|&a| {
        rest.iter()
            .any(|&b| (a - first).cross(b - first).length() > 1.0)
    })
}

/// The beams of the model, with nothing that joins them.
fn beams(job: &Job, model: &FrameModel) -> Frame {
    let stiffness: Vec<_> = job
        .members
        .iter()
        .map(|m| BeamStiffness::of(&m.section, &job.material))
        .collect();
    Frame {
        nodes: model.nodes.iter().map(|&node| node.into()).collect(),
        beams: model
            .stretches
            .iter()
            .map(|s| {
                Beam::new(
                    s.member,
                    [s.from, s.to],
                    job.members[s.member].depth_axis.into(),
                    stiffness[s.member],
                )
            })
            .collect(),
        springs: Vec::new(),
        supports: Vec::new(),
    }
}

/// Six ways to hold a body just enough: a point in three directions, a second in two, a third in one.
///
/// The points are corners of the frame where it has them, otherwise nodes that lie far apart.
fn rests(model: &FrameModel) -> [(usize, Point); 6] {
    let [a, b, c] =
        corners(model).map_or_else(|| far_apart(model), |[bl, br, _, tl]| [bl[0], br[0], tl[0]]);
    let at = |n: usize| model.nodes[n];
    let x = (at(b) - at(a)).unit().unwrap_or(Point::new(1.0, 0.0, 0.0));
    let z = x
        .cross(at(c) - at(a))
        .unit()
        .unwrap_or(Point::new(0.0, 0.0, 1.0));
    let y = z.cross(x);
    [(a, x), (a, y), (a, z), (b, y), (b, z), (c, z)]
}

fn far_apart(model: &FrameModel) -> [usize; 3] {
    let farthest = |score: &dyn Fn(usize) -> f64| {
        (0..model.nodes.len())
            .max_by(|&a, &b| score(a).total_cmp(&score(b)).then(b.cmp(&a)))
            .unwrap_or(0)
    };
    let at = |n: usize| model.nodes[n];
    let a = 0;
    let b = farthest(&|n| (at(n) - at(a)).length());
    let line = (at(b) - at(a)).unit().unwrap_or(Point::new(1.0, 0.0, 0.0));
    let c = farthest(&|n| line.cross(at(n) - at(a)).length());
    [a, b, c]
}

/// The structure before the first weld, solved.
pub(super) struct Solved {
    pub(super) condensed: Condensed,
    /// The frame: members, tacks, clamps or rests.
    pub(super) first: Frame,
    /// What each coordinate reads.
    pub(super) probes: Vec<Probe>,
}

/// Solves the structure under a unit force along every coordinate.
pub(super) fn condense(
    job: &Job,
    model: &FrameModel,
    measures: &[Measure],
    held: &Held,
    tacks: &[[Tie; 6]],
) -> Result<Solved, StructureError> {
    let mut frame = beams(job, model);
    let probes = probes(&frame, model, measures, &rests(model));
    let rests = if held.lies_on_rests {
        held.rests.as_slice()
    } else {
        &[]
    };
    let ties = tacks.iter().flatten().chain(&held.clamps).chain(rests);
    frame.springs = ties.map(|tie| tie.spring(&probes)).collect();
    let structure = Structure::new(&frame)?;
    let size = probes.len();
    let compliance = structure.flexibility(&probes, &probes)?;
    Ok(Solved {
        condensed: Condensed::new(size, compliance),
        first: frame,
        probes,
    })
}
