//! The state before the first weld: which joints and tendons the sequence needs, and in which order they are stored.

use super::frontal_compliance::{FrontalCompliance, Tendons};
use super::{BuildState, SegmentPosition};
use crate::movement::clamps::{ClampsOn, Releases};
use crate::movement::model::MovementModel;
use crate::movement::model::weld_part::WeldPart;
use crate::movement::shrinkage::Shrinkage;

/// An act of welding: the segment that joins, and the segment whose tendons pull, by index.
#[derive(Clone, Copy, Debug)]
struct Act {
    joins: Option<usize>,
    pulls: Option<usize>,
}

/// The acts of welding these parts, one after the other.
fn acts_of(model: &MovementModel, sequence: &[WeldPart]) -> Vec<Act> {
    let mut joined = vec![false; model.beams.segments.len()];
    let mut acts = Vec::new();
    for part in sequence {
        let weld = &model.weld_segments[part.weld];
        let steps = weld.steps(part, &mut joined).into_iter();
        acts.extend(steps.map(|step| Act {
            joins: step.joins.map(|entry| weld.segments[entry].index),
            pulls: step.pulls,
        }));
    }
    acts
}

impl<'a> BuildState<'a> {
    /// For a sequence that is known. Joints that it does not weld are left out.
    pub(in crate::movement) fn for_sequence(
        model: &'a MovementModel,
        sequence: &[WeldPart],
        shrinkage: &'a Shrinkage,
        releases: &'a Releases,
    ) -> Self {
        Self::new(model, shrinkage, releases, &acts_of(model, sequence))
    }

    /// For a build in which each next weld is chosen on the way. The nearer the choice is to the `expected` sequence, the
    /// sooner joints are eliminated.
    pub(in crate::movement) fn open(
        model: &'a MovementModel,
        shrinkage: &'a Shrinkage,
        expected: &[WeldPart],
    ) -> Self {
        let mut acts = acts_of(model, expected);
        let segments = model.beams.segments.len();
        let (mut joins, mut pulls) = (vec![false; segments], vec![false; segments]);
        for act in &acts {
            act.joins.into_iter().for_each(|index| joins[index] = true);
            act.pulls.into_iter().for_each(|index| pulls[index] = true);
        }
        acts.extend((0..segments).map(|index| Act {
            joins: (!joins[index]).then_some(index),
            pulls: (!pulls[index]).then_some(index),
        }));
        Self::new(model, shrinkage, &model.restraints.releases, &acts)
    }

    /// The joints that these acts need last come first, so that those to be eliminated are at the end.
    fn new(
        model: &'a MovementModel,
        shrinkage: &'a Shrinkage,
        releases: &'a Releases,
        acts: &[Act],
    ) -> Self {
        let (coordinates, restraint_count) = restraint_coordinates(model);
        let mut joints = JointOrder {
            awaited: vec![usize::MAX; coordinates.len()],
            coordinates,
            positions: vec![SegmentPosition::default(); model.beams.segments.len()],
        };
        joints.add(model, acts);
        let mut tendons: Vec<Tendons> = Vec::new();
        for segment in acts.iter().filter_map(|act| act.pulls) {
            joints.positions[segment].tendons = tendons.len();
            let forces_n = shrinkage.segments[segment].tendons_n;
            tendons.push((model.layout.tendon(segment, 0), forces_n));
        }
        let segments = model.beams.segments.len();
        let clamps = model.restraints.limits_n.len();
        Self {
            model,
            shrinkage,
            restraint_count,
            compliance: FrontalCompliance::new(&model.compliance, &joints.coordinates, &tendons),
            positions: joints.positions,
            awaited: joints.awaited,
            pulled: vec![false; tendons.len()],
            joined: vec![false; segments],
            events: Vec::with_capacity(segments),
            moved: vec![[0.0; 6]; joints.coordinates.len()],
            melted: vec![false; model.tacks.len()],
            gaps_mm: vec![0.0; model.welds()],
            segments_left: (0..model.welds())
                .map(|weld| model.segment_count(weld))
                .collect(),
            releases,
            clamps: ClampsOn::all(releases),
            lies_on_table: model.restraints.lies_on_table,
            released_forces_n: vec![[0.0; 3]; clamps],
            slips: Vec::new(),
            release_forces: vec![0.0; restraint_count],
            coordinates: joints.coordinates,
        }
    }
}

/// The order in which joints are stored.
struct JointOrder {
    coordinates: Vec<[usize; 6]>,
    awaited: Vec<usize>,
    positions: Vec<SegmentPosition>,
}

impl JointOrder {
    /// Adds the joints of these acts, last needed first.
    fn add(&mut self, model: &MovementModel, acts: &[Act]) {
        let pairs = model.beams.pairs.len();
        let (mut last, mut joins) = (vec![0; pairs], vec![0; pairs]);
        for (at, act) in (1..).zip(acts) {
            if let Some(segment) = act.joins {
                let pair = model.beams.segments[segment].pair;
                last[pair] = at;
                joins[pair] += 1;
            }
        }
        let mut needed: Vec<usize> = (0..pairs).filter(|&pair| last[pair] > 0).collect();
        needed.sort_by_key(|&pair| std::cmp::Reverse(last[pair]));
        let mut joints = vec![usize::MAX; pairs];
        for pair in needed {
            joints[pair] = self.coordinates.len();
            self.coordinates
                .push(std::array::from_fn(|k| model.layout.pair(pair, k)));
            self.awaited.push(joins[pair]);
        }
        for (position, segment) in self.positions.iter_mut().zip(&model.beams.segments) {
            position.joint = joints[segment.pair];
        }
    }
}

/// The restraint coordinates by six, and their number; the last one is repeated to fill the last six.
fn restraint_coordinates(model: &MovementModel) -> (Vec<[usize; 6]>, usize) {
    let layout = model.layout;
    // Without clamps nothing is released at the end.
    if model.restraints.clamps.is_empty() {
        return (Vec::new(), 0);
    }
    let all: Vec<usize> = (layout.clamp(0, 0)..layout.measure(0)).collect();
    let six = all
        .chunks(6)
        .map(|six| std::array::from_fn(|k| six[k.min(six.len() - 1)]));
    (six.collect(), all.len())
}
