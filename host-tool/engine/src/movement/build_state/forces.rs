//! The forces of a build on the tacked frame, worked out backwards from its present state, and the measures under them.

use super::updates::row_times_column;
use super::{BuildState, Event};
use crate::algebra::{add6, dot6};
use crate::movement::model::compliance_block::COLUMNS;

impl BuildState<'_> {
    /// Each measure as the frame is now, mm, in the order of [`MovementModel::measures`].
    ///
    /// [`MovementModel::measures`]: crate::movement::model::MovementModel::measures
    #[must_use]
    pub fn measures_mm(&self) -> Vec<f64> {
        let forces = self.forces();
        let rows = self.model.observation_matrix.iter();
        rows.flat_map(|row| row_times_column(row, &forces))
            .take(self.model.measures.len())
            .collect()
    }

    /// What welds, melted tacks, tendons and the release put on the tacked frame, by coordinate of the model: N, or
    /// N·mm for rotations.
    pub(in crate::movement) fn forces(&self) -> Vec<[f64; COLUMNS]> {
        // What was put on each coordinate after the event that is being looked at.
        let mut since = self.compliance.column();
        let joints = self.compliance.column_of_joint(0);
        since.as_flattened_mut()[joints..joints + self.restraint_count]
            .copy_from_slice(&self.release_forces);
        let mut ends = self.moved.clone();
        if self.release_forces.iter().any(|&force| force != 0.0) {
            // The release itself has moved the restraint coordinates already.
            let restraints = self.restraint_count.div_ceil(6);
            let active = ends.iter_mut().enumerate();
            for (joint, end) in active
                .take(self.compliance.active_joints())
                .skip(restraints)
            {
                add6(end, &self.compliance.row_times(joint, &since));
            }
        }
        let mut slips = self.slips.iter().rev().peekable();
        let active = self.events.iter().map(|event| event.active);
        let active_before: Vec<usize> =
            [self.coordinates.len()].into_iter().chain(active).collect();
        for (at, event) in self.events.iter().enumerate().rev() {
            while let Some(slip) = slips.next_if(|slip| slip.after > at) {
                let at = joints + 3 * slip.clamp;
                let since = &mut since.as_flattened_mut()[at..at + 3];
                since.iter_mut().zip(slip.push).for_each(|(s, p)| *s += p);
            }
            // The rows of the joints that were eliminated at this event are as they were then.
            let eliminated = ends.iter_mut().enumerate().take(active_before[at]);
            for (joint, end) in eliminated.skip(event.active) {
                add6(end, &self.compliance.row_times(joint, &since));
            }
            self.undo(event, &ends, &mut since);
        }
        self.spread(&since.as_flattened()[joints..])
    }

    /// Adds what an event put on the frame.
    #[inline]
    fn undo(&self, event: &Event, ends: &[[f64; 6]], since: &mut [[f64; COLUMNS]]) {
        if let Some((joint, joined)) = &event.join {
            let at_zero = joined.force_at_zero();
            let column = self.compliance.column_of_joint(*joint);
            let since = since.as_flattened_mut();
            for (k, row) in joined.change.iter().enumerate() {
                since[column + k] += at_zero[k] - dot6(row, &ends[*joint]);
            }
        }
        if let Some(segment) = event.pull {
            since.as_flattened_mut()[self.positions[segment].tendons] = 1.0;
        }
    }

    /// From the forces on joints to forces on all coordinates of the model.
    fn spread(&self, on_joints: &[f64]) -> Vec<[f64; COLUMNS]> {
        let layout = self.model.layout;
        let mut forces = vec![[0.0; COLUMNS]; layout.size().div_ceil(COLUMNS)];
        let on = forces.as_flattened_mut();
        let coordinates = self.coordinates.as_flattened();
        for (&coordinate, force) in coordinates.iter().zip(on_joints) {
            on[coordinate] += force;
        }
        for segment in self.events.iter().filter_map(|event| event.pull) {
            let tendons = &self.shrinkage.segments[segment].tendons_n;
            for (k, &force) in tendons.iter().enumerate() {
                on[layout.tendon(segment, k)] += force;
            }
        }
        forces
    }
}
