//! Solving the tacked frame once and reducing it to its compliance between the coordinates.

use super::beam_model::BeamModel;
use super::coordinates::{ConstraintSpring, Layout, probes};
use super::reduced_compliance::ReducedCompliance;
use super::restraints::Restraints;
use crate::job::model::{Job, Point};
use crate::movement::measures::{Measure, corners};
use crate::structure::{Beam, BeamStiffness, Frame, Probe, Structure, StructureError};

/// The beams of the beams without anything that joins them.
fn frame_of(job: &Job, beams: &BeamModel) -> Frame {
    let stiffness: Vec<_> = job
        .members
        .iter()
        .map(|m| BeamStiffness::of(&m.section, &job.material))
        .collect();
    Frame {
        nodes: beams.nodes.iter().map(|&node| node.into()).collect(),
        beams: beams
            .elements
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

/// Six restraints that just hold a body: a point in three directions, a second in two, a third in one.
///
/// The points are corners of the frame where it has them, otherwise nodes that are far apart.
fn rests(beams: &BeamModel) -> [(usize, Point); 6] {
    let [a, b, c] =
        corners(beams).map_or_else(|| far_apart(beams), |[bl, br, _, tl]| [bl[0], br[0], tl[0]]);
    let at = |n: usize| beams.nodes[n];
    let x = (at(b) - at(a)).unit().unwrap_or(Point::new(1.0, 0.0, 0.0));
    let z = x
        .cross(at(c) - at(a))
        .unit()
        .unwrap_or(Point::new(0.0, 0.0, 1.0));
    let y = z.cross(x);
    [(a, x), (a, y), (a, z), (b, y), (b, z), (c, z)]
}

fn far_apart(beams: &BeamModel) -> [usize; 3] {
    let farthest = |score: &dyn Fn(usize) -> f64| {
        (0..beams.nodes.len())
            .max_by(|&a, &b| score(a).total_cmp(&score(b)).then(b.cmp(&a)))
            .unwrap_or(0)
    };
    let at = |n: usize| beams.nodes[n];
    let a = 0;
    let b = farthest(&|n| (at(n) - at(a)).length());
    let line = (at(b) - at(a)).unit().unwrap_or(Point::new(1.0, 0.0, 0.0));
    let c = farthest(&|n| line.cross(at(n) - at(a)).length());
    [a, b, c]
}

/// The solved structure before the first weld.
pub(super) struct Solved {
    pub(super) compliance: ReducedCompliance,
    /// Members, tacks, clamps or the table.
    pub(super) frame: Frame,
    /// The probe of each coordinate.
    pub(super) probes: Vec<Probe>,
}

/// Solves the structure under a unit force along every coordinate that needs a row: joints, restraints and, if the frame
/// is `measured`, measures. How tendons move each other is never asked.
pub(super) fn condense(
    job: &Job,
    beams: &BeamModel,
    measures: &[Measure],
    measured: bool,
    restraints: &Restraints,
    tacks: &[[ConstraintSpring; 6]],
) -> Result<Solved, StructureError> {
    let mut frame = frame_of(job, beams);
    let probes = probes(&frame, beams, measures, &rests(beams));
    let rests = if restraints.lies_on_table {
        restraints.rests.as_slice()
    } else {
        &[]
    };
    let springs = tacks.iter().flatten().chain(&restraints.clamps);
    let springs = springs.chain(rests);
    frame.springs = springs.map(|spring| spring.on_frame(&probes)).collect();
    let structure = Structure::new(&frame)?;
    let layout = Layout::new(beams, measures.len());
    let columns = layout.measure(0);
    let rows: Vec<usize> = (0..layout.tendon(0, 0))
        .chain(layout.clamp(0, 0)..if measured { layout.size() } else { columns })
        .collect();
    let forces: Vec<Probe> = rows.iter().map(|row| probes[*row].clone()).collect();
    let compliance = structure.flexibility(&forces, &probes[..columns])?;
    Ok(Solved {
        compliance: ReducedCompliance::new(&rows, columns, compliance),
        frame,
        probes,
    })
}
