//! The frame between two welds: stiffness so far, movements so far.
//!
//! A new weld is without force when it joins its pair, melts the tacks it runs over and then shrinks: it closes the joint
//! until it yields, and its tendons pull on the members that go on past it.
//!
//! Only the joints that are still to be welded, and the restraints, are carried along: the compliance among them
//! (`frontal_compliance`), and how each later tendon moves them. A joint whose last segment is welded is eliminated.
//! Its rows are kept: they give its movement under every later load on the joints welded after it. So going through the
//! welds backwards once gives the final movement of every joint, and with it every force in the frame
//! (`forces.rs`). The measures are what these forces do to the tacked frame.
//!
//! A clamp that is released on the way is a negative change of stiffness. Those released at the end matter only to
//! the restraint coordinates, which is cheaper (`restraints.rs`).

mod begin;
mod forces;
mod frontal_compliance;
mod restraints;
mod slipping;
mod updates;

use super::clamps::{ClampsOn, Releases};
use super::model::MovementModel;
use super::model::coordinates::CLAMP_STIFFNESS_N_PER_MM;
use super::model::segment::{JoinedPair, Segment};
use super::model::weld_part::{SegmentStep, WeldPart};
use super::outcome::Outcome;
use super::shrinkage::Shrinkage;
use crate::algebra::{Matrix6, Vector3, Vector6, difference, dot6, hypot3, product};
use frontal_compliance::{Active, FrontalCompliance, StiffnessChange};

/// The frame after some of its welds.
///
/// A search that chooses each next weld on the way, or that goes back to where two orders part, clones it and goes on
/// from there. A sequence that is known from the start is faster by [`MovementModel::simulate`], which eliminates each
/// joint as soon as no later weld needs it.
#[derive(Clone, Debug)]
pub struct BuildState<'a> {
    model: &'a MovementModel,
    shrinkage: &'a Shrinkage,
    /// Coordinates of the model, six to a joint; those needed longest come first. The restraints come before all joints
    /// and are treated like joints.
    coordinates: Vec<[usize; 6]>,
    /// Number of restraint coordinates.
    restraint_count: usize,
    compliance: FrontalCompliance,
    /// By index of the segment.
    positions: Vec<SegmentPosition>,
    /// For each joint the number of segments that are still to join there; restraints are needed to the end.
    awaited: Vec<usize>,
    /// Which tendons have pulled.
    pulled: Vec<bool>,
    /// Which segments have joined, by index.
    joined: Vec<bool>,
    /// What was done so far.
    events: Vec<Event>,
    moved: Vec<Vector6>,
    melted: Vec<bool>,
    gaps_mm: Vec<f64>,
    /// For each weld the number of segments still to be welded.
    segments_left: Vec<usize>,
    releases: &'a Releases,
    clamps: ClampsOn,
    lies_on_table: bool,
    /// The force in each clamp released on the way, just before, N.
    released_forces_n: Vec<Vector3>,
    slips: Vec<Slip>,
    /// What the release at the end puts on each restraint coordinate, N.
    release_forces: Vec<f64>,
}

/// A clamp that slipped.
#[derive(Clone, Copy, Debug)]
struct Slip {
    clamp: usize,
    /// The number of events before it.
    after: usize,
    /// What it put on the frame: the clamp's stiffness times how far it slipped, N.
    push: Vector3,
}

/// Where a segment is among the joints and the tendons.
#[derive(Clone, Copy, Debug, Default)]
struct SegmentPosition {
    joint: usize,
    tendons: usize,
}

/// A segment that joined or pulled, or a change of the restraints.
#[derive(Clone, Debug)]
struct Event {
    /// The joint whose stiffness changed, and how.
    join: Option<(usize, JoinedPair)>,
    /// Index of the segment whose tendons pulled.
    pull: Option<usize>,
    /// The number of joints that were still active then.
    active: usize,
}

impl BuildState<'_> {
    /// Welds a part of a weld, and releases the clamps that come off before or after it. Each segment is to be welded
    /// once.
    pub fn apply_part(&mut self, part: &WeldPart) {
        self.release_before(part.weld);
        self.apply_segments(part);
        self.release_after(part.weld);
    }

    /// Releases the clamps that must be off for a weld, and returns them.
    pub(super) fn release_before(&mut self, weld: usize) -> Vec<usize> {
        let off = self.clamps.release_before(self.releases, weld);
        self.release_clamps(&off);
        off
    }

    /// Releases the clamps whose last awaited weld this is, once all of it is welded, and returns them.
    pub(super) fn release_after(&mut self, weld: usize) -> Vec<usize> {
        if self.segments_left[weld] > 0 {
            return Vec::new();
        }
        let off = self.clamps.release_after(self.releases, weld);
        self.release_clamps(&off);
        off
    }

    /// Welds a part with the clamps that are on.
    pub(super) fn apply_segments(&mut self, part: &WeldPart) {
        let weld_segments = &self.model.weld_segments[part.weld];
        let segments = &weld_segments.segments;
        let steps = weld_segments.steps(part, &mut self.joined);
        let joining = steps.iter().filter_map(|step| step.joins);
        let widest = joining
            .map(|entry| {
                let segment = &segments[entry];
                let joint = self.positions[segment.index].joint;
                segment.contraction.opening_mm(&self.moved[joint])
            })
            .chain([self.gaps_mm[part.weld]])
            .max_by(|a, b| a.abs().total_cmp(&b.abs()));
        self.gaps_mm[part.weld] = widest.unwrap_or(0.0);
        for SegmentStep { joins, pulls } in steps {
            let join = joins.map(|entry| {
                let segment = &segments[entry];
                let joint = self.positions[segment.index].joint;
                let joined = self.join(segment, part.reversed);
                self.awaited[joint] -= 1;
                (joint, joined)
            });
            if let Some(index) = pulls {
                let tendons = self.positions[index].tendons;
                self.compliance.pull(tendons, &mut self.moved);
                self.pulled[tendons] = true;
            }
            self.eliminate_what_is_done();
            self.events.push(Event {
                join,
                pull: pulls,
                active: self.compliance.active_joints(),
            });
        }
        let left = &mut self.segments_left[part.weld];
        *left = left.saturating_sub(part.segments.len());
        self.slip();
    }

    /// Joins a pair as it is and lets the weld cool.
    fn join(&mut self, segment: &Segment, reversed: bool) -> JoinedPair {
        let joint = self.positions[segment.index].joint;
        let before = self.moved[joint];
        let mut joined = segment.join(before, &self.model.tacks, &mut self.melted);
        let StiffnessChange { own, inner } = self.compliance.add_stiffness(joint, &joined.change);
        let stiffer = product(&inner, &own);
        let compliance = difference(&own, &product(&own, &stiffer));
        let shrinkage = &self.shrinkage.segments[segment.index];
        segment.cool(shrinkage, &compliance, reversed, &mut joined);
        self.apply_force(&joined, &stiffer);
        joined
    }

    /// Applies the force of the last change of stiffness; `stiffer` is its M S.
    fn apply_force(&mut self, joined: &JoinedPair, stiffer: &Matrix6) {
        // The joint's columns are now C (1 − M S); the force is subtracted because C is.
        let force = &joined.force;
        let pushed = std::array::from_fn(|i| dot6(&stiffer[i], force) - force[i]);
        self.compliance.push(&pushed, &mut self.moved);
    }

    /// Eliminates joints that are welded all round and tendons that have pulled, from the end.
    fn eliminate_what_is_done(&mut self) {
        let is_needed = |awaited: &usize| *awaited > 0;
        let joints = self.awaited.iter().rposition(is_needed);
        let first_tendon = self.pulled.iter().position(|done| !done);
        self.compliance.eliminate_all_but(Active {
            joints: joints.map_or(0, |last| last + 1),
            first_tendon: first_tendon.unwrap_or(self.pulled.len()),
        });
    }

    /// Releases the clamps that are still on: what the frame is then.
    #[must_use]
    pub fn release(mut self) -> Outcome {
        let clamped_mm = self.measures_mm();
        let clamp_forces_n = self.release_all();
        let released_mm = if self.release_forces.iter().all(|&force| force == 0.0) {
            clamped_mm.clone()
        } else {
            self.measures_mm()
        };
        Outcome {
            released_mm,
            clamped_mm,
            clamp_slips_mm: (0..self.model.restraints.limits_n.len())
                .map(|clamp| hypot3(self.slip_force(clamp)) / CLAMP_STIFFNESS_N_PER_MM)
                .collect(),
            clamp_forces_n,
            gaps_mm: self.gaps_mm,
            steps_mm: Vec::new(),
        }
    }
}
