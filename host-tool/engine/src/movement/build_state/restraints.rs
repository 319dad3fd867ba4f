//! The restraints during a build: clamps that slip, that are released on the way, and that are released at the end.

use super::frontal_compliance::StiffnessChange;
use super::{BuildState, Event, Slip, slipping};
use crate::algebra::{Vector3, Vector6, hypot3, product};
use crate::movement::model::coordinates::{CLAMP_STIFFNESS_N_PER_MM, ConstraintSpring};
use crate::movement::model::segment::JoinedPair;

/// Limit of the rounds in which clamps slip one after the other until all of them hold. Most hold after a few; those that
/// pull on each other through joints that give take hundreds.
const MAX_SLIP_ROUNDS: usize = 1000;

impl BuildState<'_> {
    /// Releases clamps together. If the others do not hold the frame, it lies on the table from now on.
    pub(super) fn release_clamps(&mut self, clamps: &[usize]) {
        if clamps.is_empty() {
            return;
        }
        let restraints = &self.model.restraints;
        for &clamp in clamps {
            self.released_forces_n[clamp] = self.clamp_force_n(clamp);
        }
        if !self.lies_on_table && !self.clamps.restrain(self.releases) {
            self.lies_on_table = true;
            let first = restraints.clamps.len();
            for joint in first / 6..self.restraint_count.div_ceil(6) {
                let stiffness = std::array::from_fn(|k| {
                    let rest = (6 * joint + k).checked_sub(first);
                    let rest = rest.and_then(|rest| restraints.rests.get(rest));
                    rest.map_or(0.0, |spring| spring.stiffness)
                });
                self.add_restraint(joint, stiffness, [0.0; 6]);
            }
        }
        for &clamp in clamps {
            let (joint, at) = (3 * clamp / 6, 3 * clamp % 6);
            let (mut stiffness, mut force) = ([0.0; 6], [0.0; 6]);
            stiffness[at..at + 3].fill(-CLAMP_STIFFNESS_N_PER_MM);
            let clamped = self.clamp_force_n(clamp);
            force[at..at + 3].copy_from_slice(&clamped.map(|force| -force));
            self.add_restraint(joint, stiffness, force);
        }
        self.slip();
    }

    /// Adds stiffness along six restraint coordinates; it is without force now, apart from `force`.
    fn add_restraint(&mut self, joint: usize, stiffness: Vector6, force: Vector6) {
        let change = std::array::from_fn(|i| {
            std::array::from_fn(|j| if i == j { stiffness[i] } else { 0.0 })
        });
        let joined = JoinedPair::new(change, force, self.moved[joint]);
        let StiffnessChange { own, inner } = self.compliance.add_stiffness(joint, &change);
        self.apply_force(&joined, &product(&inner, &own));
        self.events.push(Event {
            join: Some((joint, joined)),
            pull: None,
            active: self.compliance.active_joints(),
        });
    }

    /// Lets clamps that are pulled harder than they hold slip until each is left with the force it holds.
    pub(super) fn slip(&mut self) {
        let limits = &self.model.restraints.limits_n;
        for _ in 0..MAX_SLIP_ROUNDS {
            let mut all_hold = true;
            for (clamp, &limit) in limits.iter().enumerate() {
                let overloaded = hypot3(self.clamp_force_n(clamp)) > limit * (1.0 + 1e-9);
                if overloaded && self.clamps.is_on(clamp) {
                    self.slip_one(clamp, limit);
                    all_hold = false;
                }
            }
            if all_hold {
                return;
            }
        }
    }

    /// Lets one clamp slip in the direction of its force until that force is the limit, N.
    fn slip_one(&mut self, clamp: usize, limit: f64) {
        self.compliance.apply_pending();
        let at = 3 * clamp;
        // The frame takes a part of a push on the clamp; the clamp loses the rest.
        let lost: [Vector3; 3] = std::array::from_fn(|i| {
            std::array::from_fn(|j| {
                let taken = CLAMP_STIFFNESS_N_PER_MM * self.compliance.entry(at + i, at + j);
                f64::from(i == j) - taken
            })
        });
        let force = self.clamp_force_n(clamp);
        let push = slipping::push(&lost, force, limit);
        let active = 6 * self.compliance.active_joints();
        let moved = &mut self.moved.as_flattened_mut()[..active];
        for (i, moved) in moved.iter_mut().enumerate() {
            let by = |k: usize| push[k] * self.compliance.entry(i, at + k);
            *moved += by(0) + by(1) + by(2);
        }
        self.slips.push(Slip {
            clamp,
            after: self.events.len(),
            push,
        });
    }

    /// What slipping has put on a clamp so far, N.
    pub(super) fn slip_force(&self, clamp: usize) -> Vector3 {
        let mut sum = [0.0; 3];
        for slip in self.slips.iter().filter(|slip| slip.clamp == clamp) {
            sum.iter_mut().zip(slip.push).for_each(|(s, p)| *s += p);
        }
        sum
    }

    /// The force of a clamp on the frame, N.
    fn clamp_force_n(&self, clamp: usize) -> Vector3 {
        let moved = &self.moved.as_flattened()[3 * clamp..][..3];
        let slip = self.slip_force(clamp);
        std::array::from_fn(|k| slip[k] - CLAMP_STIFFNESS_N_PER_MM * moved[k])
    }

    /// How far each restraint coordinate has moved, mm, for [`MovementModel::springback`].
    ///
    /// [`MovementModel::springback`]: crate::movement::model::MovementModel::springback
    #[must_use]
    pub(crate) fn restraint_movements_mm(&self) -> &[f64] {
        &self.moved.as_flattened()[..self.restraint_count]
    }

    /// How much further each measure goes on release for each restraint coordinate that has moved 1 mm further by now.
    pub(in crate::movement) fn springback(&self) -> Vec<Vec<f64>> {
        let as_is = self.clone().release().released_mm;
        let further = |coordinate: usize| {
            let mut state = self.clone();
            state.moved.as_flattened_mut()[coordinate] += 1.0;
            let moved = state.release().released_mm;
            moved.iter().zip(&as_is).map(|(m, p)| m - p).collect()
        };
        (0..self.restraint_count).map(further).collect()
    }

    /// Releases the clamps that are still on and returns the force that each clamp had before it was released, N.
    pub(in crate::movement) fn release_all(&mut self) -> Vec<Vector3> {
        self.compliance.apply_pending();
        let restraints = &self.model.restraints;
        let clamps = restraints.clamps.len();
        let all = 0..restraints.limits_n.len();
        let force_of = |c: usize| {
            if self.clamps.is_on(c) {
                self.clamp_force_n(c)
            } else {
                self.released_forces_n[c]
            }
        };
        let forces: Vec<Vector3> = all.clone().map(force_of).collect();
        let slips: Vec<Vector3> = all.map(|c| self.slip_force(c)).collect();
        let rests = if clamps > 0 && !self.lies_on_table {
            restraints.rests.as_slice()
        } else {
            &[]
        };
        self.replace_clamps_by_table(slips.as_flattened(), rests);
        forces
    }

    /// Takes off the springs of the clamps that are on and puts the frame on the table; `slips` are the forces from
    /// slipping on each clamp coordinate.
    fn replace_clamps_by_table(&mut self, slips: &[f64], rests: &[ConstraintSpring]) {
        let springs = &self.model.restraints.clamps;
        let (clamps, count) = (springs.len(), self.restraint_count);
        let moved = self.moved.as_flattened_mut();
        let rested: Vec<f64> = moved[clamps.min(count)..count].to_vec();
        for (k, spring) in rests.iter().enumerate() {
            self.compliance
                .add_spring(clamps + k, spring.stiffness, count);
        }
        let is_on = |(c, _): &(usize, &ConstraintSpring)| self.clamps.is_on(c / 3);
        for (c, spring) in springs.iter().enumerate().filter(is_on) {
            let force = spring.stiffness * moved[c] - slips[c];
            self.compliance.add_spring(c, -spring.stiffness, count);
            for (i, moved) in moved[..count].iter_mut().enumerate() {
                *moved += force * self.compliance.entry(i, c);
            }
        }
        for (c, spring) in springs.iter().enumerate().filter(is_on) {
            self.release_forces[c] = spring.stiffness * moved[c] - slips[c];
        }
        for (k, spring) in rests.iter().enumerate() {
            self.release_forces[clamps + k] = -spring.stiffness * (moved[clamps + k] - rested[k]);
        }
    }
}
