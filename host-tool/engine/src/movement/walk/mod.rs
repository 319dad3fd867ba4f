//! Welds laid one after the other, with the answers worked out backwards.
//!
//! Only the joints that are still to be welded, and what holds the frame to the table, are carried along: the
//! compliance among them, and how each later pull of a strip moves them. When a joint has got its last weld its rows
//! are left behind as they are. They say how it moves under whatever happens later to the joints after it, so its final
//! movement, and with it every force in the frame, follows by going through the welds backwards once. The measures are
//! what these forces do to the frame of the first moment.
//!
//! A clamp that comes off on the way is a change of stiffness like a weld, with the other sign. What comes off in the
//! end only has to be known to the table, and is cheaper.

mod backwards;
mod begin;
mod clamped;

use super::coordinates::CLAMP_STIFFNESS_N_PER_MM;
use super::deposit::{Deposit, Joining};
use super::engine::{Engine, Outcome, Shrinkage};
use super::holding::{ClampsOn, Releases};
use super::matrix6::{self, Matrix6};
use super::part::{Holding, Part, Touch};
use super::rows::{Change, Needed, Rows};
use super::slipping::length;

/// A build under way.
#[derive(Clone, Debug)]
pub(super) struct Walk<'a> {
    engine: &'a Engine,
    shrinkage: &'a Shrinkage,
    /// Coordinates of the engine, six a joint, those needed longest first. What holds the frame to the table comes
    /// first of all and is kept like joints.
    coordinates: Vec<[usize; 6]>,
    /// How many coordinates hold the frame to the table.
    held: usize,
    rows: Rows,
    /// For each piece of weld, by index of its seam, where it stands in the rows.
    plan: Vec<Place>,
    /// For each joint of the rows the seams that are still to take hold or to pull there; what holds the frame to the
    /// table is needed to the end.
    awaited: Vec<usize>,
    /// Which pulls were done.
    pulled: Vec<bool>,
    holding: Holding,
    /// What was done so far: acts of laying, and clamps that came off on the way.
    laid: Vec<Laid>,
    moved: Vec<[f64; 6]>,
    melted: Vec<bool>,
    gaps_mm: Vec<f64>,
    /// For each weld its stretches that are still to be laid.
    left: Vec<usize>,
    /// When clamps come off.
    releases: &'a Releases,
    clamps: ClampsOn,
    lies_on_rests: bool,
    /// The force in each clamp that came off on the way, just before.
    held_n: Vec<[f64; 3]>,
    /// What clamps that slipped put on the frame: after how many pieces, on which joint of the rows, and how much.
    slips: Vec<Slip>,
    /// What the release put on each coordinate that holds the frame.
    let_go: Vec<f64>,
}

/// A clamp that gave way.
#[derive(Clone, Copy, Debug)]
struct Slip {
    clamp: usize,
    /// After so many pieces.
    after: usize,
    /// What it put on the frame: its stiffness times how far it slipped, N.
    push: [f64; 3],
}

/// Where a piece of weld stands in the rows.
#[derive(Clone, Copy, Debug, Default)]
struct Place {
    joint: usize,
    pull: usize,
}

/// An act of laying that was done, or what holds the frame to the table and changed.
#[derive(Clone, Debug)]
struct Laid {
    /// The joint of the rows whose stiffness changed, and how.
    hold: Option<(usize, Joining)>,
    /// Index of the seam whose strips pulled.
    pull: Option<usize>,
    /// So many joints were still needed then.
    needed: usize,
}

impl<'a> Walk<'a> {
    pub(super) fn engine(&self) -> &'a Engine {
        self.engine
    }

    /// Lays the whole order and lets the clamps off; `steps` asks for the measures after each weld.
    pub(super) fn outcome(mut self, order: &[Part], steps: bool) -> Outcome {
        let mut steps_mm = Vec::new();
        for part in order {
            self.lay(part);
            if steps {
                steps_mm.push(self.measures_mm());
            }
        }
        Outcome {
            steps_mm,
            ..self.finish()
        }
    }

    /// Leaves behind what is not needed any more: joints that hold all round, and pulls that are done, from the end.
    fn leave_what_is_done(&mut self) {
        let is_needed = |awaited: &usize| *awaited > 0;
        let joints = self.awaited.iter().rposition(is_needed);
        let first_pull = self.pulled.iter().position(|done| !done);
        self.rows.leave_all_but(Needed {
            joints: joints.map_or(0, |last| last + 1),
            first_pull: first_pull.unwrap_or(self.pulled.len()),
        });
    }

    /// Lets the clamps off.
    pub(super) fn finish(mut self) -> Outcome {
        let clamped_mm = self.measures_mm();
        let clamp_forces_n = self.release();
        let released_mm = if self.let_go.iter().all(|&force| force == 0.0) {
            clamped_mm.clone()
        } else {
            self.measures_mm()
        };
        Outcome {
            released_mm,
            clamped_mm,
            clamp_slips_mm: (0..self.engine.held.limits_n.len())
                .map(|clamp| length(self.slipped(clamp)) / CLAMP_STIFFNESS_N_PER_MM)
                .collect(),
            clamp_forces_n,
            gaps_mm: self.gaps_mm,
            steps_mm: Vec::new(),
        }
    }

    /// Lays the next weld, or a part of one, and takes off the clamps that come off before or after it.
    pub(super) fn lay(&mut self, part: &Part) {
        self.come_off_before(part.weld);
        self.part(part);
        self.come_off_after(part.weld);
    }

    /// Takes off the clamps that must be off for a weld, and tells them.
    pub(super) fn come_off_before(&mut self, weld: usize) -> Vec<usize> {
        let off = self.clamps.off_before(self.releases, weld);
        self.take_off(&off);
        off
    }

    /// Takes off the clamps that waited for this weld last, where all of it is laid, and tells them.
    pub(super) fn come_off_after(&mut self, weld: usize) -> Vec<usize> {
        if self.left[weld] > 0 {
            return Vec::new();
        }
        let off = self.clamps.off_after(self.releases, weld);
        self.take_off(&off);
        off
    }

    /// Lays a part with the clamps that are on.
    pub(super) fn part(&mut self, part: &Part) {
        let engine = self.engine;
        let deposits = &engine.deposits[part.weld];
        let touches = engine.touches(part, &mut self.holding);
        let taking_hold = touches.iter().filter_map(|touch| touch.hold);
        let widest = taking_hold
            .map(|deposit| {
                let piece = &deposits[deposit];
                let joint = self.plan[piece.seam].joint;
                piece.across.read(&self.moved[joint])
            })
            .chain([self.gaps_mm[part.weld]])
            .max_by(|a, b| a.abs().total_cmp(&b.abs()));
        self.gaps_mm[part.weld] = widest.unwrap_or(0.0);
        for Touch { hold, pull } in touches {
            let hold = hold.map(|deposit| {
                let deposit = &deposits[deposit];
                let joint = self.plan[deposit.seam].joint;
                let joining = self.take_hold(deposit);
                self.awaited[joint] -= 1;
                (joint, joining)
            });
            if let Some(seam) = pull {
                let pull = self.plan[seam].pull;
                self.rows.pull(pull, &mut self.moved);
                self.pulled[pull] = true;
            }
            self.leave_what_is_done();
            self.laid.push(Laid {
                hold,
                pull,
                needed: self.rows.needed(),
            });
        }
        self.left[part.weld] = self.left[part.weld].saturating_sub(part.stretches.len());
        self.slip();
    }

    /// Lets the force of the last change of stiffness act; `stiffer` is its M S.
    fn push(&mut self, joining: &Joining, stiffer: &Matrix6) {
        // The joint's columns as they are now are C (1 − M S). Taken off with the other sign: pushed.
        let force = &joining.force;
        let pushed = std::array::from_fn(|i| dot(&stiffer[i], force) - force[i]);
        self.rows.push(&pushed, &mut self.moved);
    }

    /// Joins a pair where it stands, and closes it as the weld cools.
    fn take_hold(&mut self, deposit: &Deposit) -> Joining {
        let joint = self.plan[deposit.seam].joint;
        let before = self.moved[joint];
        let mut joining = deposit.join(before, &self.engine.tacks, &mut self.melted);
        let Change { own, inner } = self.rows.stiffen(joint, &joining.change);
        let stiffer = matrix6::times(&inner, &own);
        let compliance = minus(&own, &matrix6::times(&own, &stiffer));
        let shrinks = &self.shrinkage.seams[deposit.seam];
        deposit.cool(shrinks, &compliance, &mut joining);
        self.push(&joining, &stiffer);
        joining
    }
}

fn dot(a: &[f64; 6], b: &[f64; 6]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn minus(a: &Matrix6, b: &Matrix6) -> Matrix6 {
    std::array::from_fn(|i| std::array::from_fn(|j| a[i][j] - b[i][j]))
}
