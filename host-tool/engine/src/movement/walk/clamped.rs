//! What holds the frame to the table: clamps that slip, that come off on the way, and that come off in the end.

use super::super::coordinates::{CLAMP_STIFFNESS_N_PER_MM, Tie};
use super::super::deposit::Joining;
use super::super::matrix6;
use super::super::rows::Change;
use super::super::slipping::{self, length};
use super::{Laid, Slip, Walk};

/// Most rounds in which clamps slip one after the other until all of them hold.
const MOST_SLIPS: usize = 100;

impl Walk<'_> {
    /// Takes clamps off together. Where those that are left do not hold the frame, it lies on the table from now on.
    pub(super) fn take_off(&mut self, clamps: &[usize]) {
        if clamps.is_empty() {
            return;
        }
        let held = &self.engine.held;
        for &clamp in clamps {
            self.held_n[clamp] = self.clamp_force_n(clamp);
        }
        if !self.lies_on_rests && !self.clamps.hold(self.releases) {
            self.lies_on_rests = true;
            let first = held.clamps.len();
            for joint in first / 6..self.held.div_ceil(6) {
                let stiffness = std::array::from_fn(|k| {
                    let rest = (6 * joint + k).checked_sub(first);
                    let rest = rest.and_then(|rest| held.rests.get(rest));
                    rest.map_or(0.0, |tie| tie.stiffness)
                });
                self.hold(joint, stiffness, [0.0; 6]);
            }
        }
        for &clamp in clamps {
            let (joint, at) = (3 * clamp / 6, 3 * clamp % 6);
            let (mut stiffness, mut force) = ([0.0; 6], [0.0; 6]);
            stiffness[at..at + 3].fill(-CLAMP_STIFFNESS_N_PER_MM);
            let holds = self.clamp_force_n(clamp);
            force[at..at + 3].copy_from_slice(&holds.map(|force| -force));
            self.hold(joint, stiffness, force);
        }
        self.slip();
    }

    /// Adds stiffness along the six coordinates of what holds the frame, without force but this.
    pub(super) fn hold(&mut self, joint: usize, stiffness: [f64; 6], force: [f64; 6]) {
        let change = std::array::from_fn(|i| {
            std::array::from_fn(|j| if i == j { stiffness[i] } else { 0.0 })
        });
        let joining = Joining::new(change, force, self.moved[joint]);
        let Change { own, inner } = self.rows.stiffen(joint, &change);
        self.push(&joining, &matrix6::times(&inner, &own));
        self.laid.push(Laid {
            hold: Some((joint, joining)),
            pull: None,
            needed: self.rows.needed(),
        });
    }

    /// Lets clamps that are pulled harder than they hold slip until they hold that much.
    pub(super) fn slip(&mut self) {
        let limits = &self.engine.held.limits_n;
        for _ in 0..MOST_SLIPS {
            let mut still = true;
            for (clamp, &limit) in limits.iter().enumerate() {
                let pulls = length(self.clamp_force_n(clamp)) > limit * (1.0 + 1e-9);
                if pulls && self.clamps.is_on(clamp) {
                    self.give_way(clamp, limit);
                    still = false;
                }
            }
            if still {
                return;
            }
        }
    }

    /// Lets a clamp slip the way it is pulled until it is pulled no harder than this.
    fn give_way(&mut self, clamp: usize, limit: f64) {
        self.rows.settle();
        let at = 3 * clamp;
        // Of a push on the clamp the frame answers a part; the rest is what the clamp loses.
        let lost: [[f64; 3]; 3] = std::array::from_fn(|i| {
            std::array::from_fn(|j| {
                let answered = CLAMP_STIFFNESS_N_PER_MM * self.rows.entry(at + i, at + j);
                f64::from(i == j) - answered
            })
        });
        let force = self.clamp_force_n(clamp);
        let push = slipping::push(&lost, force, limit);
        let needed = 6 * self.rows.needed();
        let moved = &mut self.moved.as_flattened_mut()[..needed];
        for (i, moved) in moved.iter_mut().enumerate() {
            let by = |k: usize| push[k] * self.rows.entry(i, at + k);
            *moved += by(0) + by(1) + by(2);
        }
        self.slips.push(Slip {
            clamp,
            after: self.laid.len(),
            push,
        });
    }

    /// What slipping has put on a clamp's place so far, N.
    pub(super) fn slipped(&self, clamp: usize) -> [f64; 3] {
        let mut sum = [0.0; 3];
        for slip in self.slips.iter().filter(|slip| slip.clamp == clamp) {
            sum.iter_mut().zip(slip.push).for_each(|(s, p)| *s += p);
        }
        sum
    }

    /// What a clamp puts on the frame as it stands.
    pub(super) fn clamp_force_n(&self, clamp: usize) -> [f64; 3] {
        let moved = &self.moved.as_flattened()[3 * clamp..][..3];
        let slipped = self.slipped(clamp);
        std::array::from_fn(|k| slipped[k] - CLAMP_STIFFNESS_N_PER_MM * moved[k])
    }

    /// How far the coordinates that hold the frame to the table have moved.
    pub(in crate::movement) fn held_mm(&self) -> &[f64] {
        &self.moved.as_flattened()[..self.held]
    }

    /// How much further each measure goes in the end for each of them that has moved 1 mm further by now.
    pub(in crate::movement) fn letting_go(&self) -> Vec<Vec<f64>> {
        let plain = self.clone().finish().released_mm;
        let further = |coordinate: usize| {
            let mut walk = self.clone();
            walk.moved.as_flattened_mut()[coordinate] += 1.0;
            let moved = walk.finish().released_mm;
            moved.iter().zip(&plain).map(|(m, p)| m - p).collect()
        };
        (0..self.held).map(further).collect()
    }

    /// Takes off the clamps that are still on and returns the force that each clamp held before it came off.
    pub(in crate::movement) fn release(&mut self) -> Vec<[f64; 3]> {
        self.rows.settle();
        let held = &self.engine.held;
        let clamps = held.clamps.len();
        let all = 0..held.limits_n.len();
        let force_of = |c: usize| {
            if self.clamps.is_on(c) {
                self.clamp_force_n(c)
            } else {
                self.held_n[c]
            }
        };
        let forces: Vec<[f64; 3]> = all.clone().map(force_of).collect();
        let slipped: Vec<[f64; 3]> = all.map(|c| self.slipped(c)).collect();
        let slipped = slipped.as_flattened();
        let moved = self.moved.as_flattened_mut();
        let rested: Vec<f64> = moved[clamps.min(self.held)..self.held].to_vec();
        let rests = if clamps > 0 && !self.lies_on_rests {
            held.rests.as_slice()
        } else {
            &[]
        };
        for (k, tie) in rests.iter().enumerate() {
            self.rows.add_spring(clamps + k, tie.stiffness, self.held);
        }
        let comes_off = |(c, _): &(usize, &Tie)| self.clamps.is_on(c / 3);
        for (c, tie) in held.clamps.iter().enumerate().filter(comes_off) {
            let force = tie.stiffness * moved[c] - slipped[c];
            self.rows.add_spring(c, -tie.stiffness, self.held);
            for (i, moved) in moved[..self.held].iter_mut().enumerate() {
                *moved += force * self.rows.entry(i, c);
            }
        }
        for (c, tie) in held.clamps.iter().enumerate().filter(comes_off) {
            self.let_go[c] = tie.stiffness * moved[c] - slipped[c];
        }
        for (k, tie) in rests.iter().enumerate() {
            self.let_go[clamps + k] = -tie.stiffness * (moved[clamps + k] - rested[k]);
        }
        forces
    }
}
