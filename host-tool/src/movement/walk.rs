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

use super::coordinates::{CLAMP_STIFFNESS_N_PER_MM, Tie};
use super::deposit::{Deposit, Joining};
use super::engine::{Engine, Outcome, Shrinkage};
use super::holding::{ClampsOn, Releases};
use super::matrix6::{self, Matrix6};
use super::part::{Holding, Part, Touch};
use super::rows::{Change, Needed, Pull, Rows};
use super::slipping::{self, length};
use super::update::{WIDE, times};

/// Most rounds in which clamps slip one after the other until all of them hold.
const MOST_SLIPS: usize = 100;

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
    /// What each act of laying leaves needed; everything where there is none.
    needed: Vec<Needed>,
    holding: Holding,
    /// What was done so far: acts of laying, and clamps that came off on the way.
    laid: Vec<Laid>,
    /// How many acts of laying that were.
    acts: usize,
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
    /// A build in an order that is known: what no later weld needs is left behind on the way.
    pub(super) fn new(
        engine: &'a Engine,
        order: &[Part],
        shrinkage: &'a Shrinkage,
        releases: &'a Releases,
    ) -> Self {
        let mut holding = vec![false; engine.model.seams.len()];
        // For each act the pair that takes hold, if one does, and the seam that pulls.
        let mut acts = Vec::new();
        for part in order {
            let deposits = &engine.deposits[part.weld];
            let pair_of = |deposit: usize| engine.model.seams[deposits[deposit].seam].pair;
            let touches = engine.touches(part, &mut holding).into_iter();
            acts.extend(touches.map(|touch| (touch.hold.map(pair_of), touch.pull)));
        }
        let mut last = vec![0; engine.model.pairs.len()];
        for (at, &(pair, _)) in acts.iter().enumerate() {
            if let Some(pair) = pair {
                last[pair] = at + 1;
            }
        }
        let mut pairs: Vec<usize> = (0..last.len()).filter(|&pair| last[pair] > 0).collect();
        pairs.sort_by_key(|&pair| std::cmp::Reverse(last[pair]));
        let pulls: Vec<usize> = acts.iter().filter_map(|&(_, pull)| pull).collect();
        let mut walk = Self::over(engine, shrinkage, releases, &pairs, &pulls);
        let mut needed = Needed {
            joints: walk.coordinates.len(),
            first_pull: 0,
        };
        for (at, &(pair, pull)) in acts.iter().enumerate() {
            needed.first_pull += usize::from(pull.is_some());
            needed.joints -= usize::from(pair.is_some_and(|pair| last[pair] == at + 1));
            walk.needed.push(needed);
        }
        walk
    }

    /// A build in which each next weld is chosen on the way: every joint stays.
    pub(super) fn open(engine: &'a Engine, shrinkage: &'a Shrinkage) -> Self {
        let pairs: Vec<usize> = (0..engine.model.pairs.len()).collect();
        let seams: Vec<usize> = (0..engine.model.seams.len()).collect();
        Self::over(engine, shrinkage, &engine.held.releases, &pairs, &seams)
    }

    pub(super) fn engine(&self) -> &'a Engine {
        self.engine
    }

    /// The frame before the first weld, with these pairs and the pulls of these seams in this order.
    fn over(
        engine: &'a Engine,
        shrinkage: &'a Shrinkage,
        releases: &'a Releases,
        pairs: &[usize],
        seams: &[usize],
    ) -> Self {
        let (layout, model) = (engine.layout, &engine.model);
        let (mut coordinates, held) = holding(engine);
        let mut joints = vec![usize::MAX; model.pairs.len()];
        for &pair in pairs {
            joints[pair] = coordinates.len();
            coordinates.push(std::array::from_fn(|k| layout.pair(pair, k)));
        }
        let pulls: Vec<Pull> = seams
            .iter()
            .map(|&seam| (layout.strip(seam, 0), shrinkage.seams[seam].strips_n))
            .collect();
        let mut plan = vec![Place::default(); model.seams.len()];
        for (place, seam) in plan.iter_mut().zip(&model.seams) {
            place.joint = joints[seam.pair];
        }
        for (pull, &seam) in seams.iter().enumerate() {
            plan[seam].pull = pull;
        }
        Self {
            engine,
            shrinkage,
            held,
            rows: Rows::new(&engine.condensed, &coordinates, &pulls),
            plan,
            needed: Vec::new(),
            holding: vec![false; model.seams.len()],
            laid: Vec::with_capacity(model.seams.len()),
            acts: 0,
            moved: vec![[0.0; 6]; coordinates.len()],
            melted: vec![false; engine.tacks.len()],
            gaps_mm: vec![0.0; engine.welds()],
            left: (0..engine.welds())
                .map(|weld| engine.stretches(weld))
                .collect(),
            releases,
            clamps: ClampsOn::all(releases),
            lies_on_rests: engine.held.lies_on_rests,
            held_n: vec![[0.0; 3]; engine.held.limits_n.len()],
            slips: Vec::new(),
            let_go: vec![0.0; held],
            coordinates,
        }
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

    /// What is still needed after so many acts.
    fn needed_after(&self, acts: usize) -> Needed {
        let all = Needed {
            joints: self.coordinates.len(),
            first_pull: 0,
        };
        let before = acts.checked_sub(1);
        before
            .and_then(|k| self.needed.get(k).copied())
            .unwrap_or(all)
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
                (self.plan[deposit.seam].joint, self.take_hold(deposit))
            });
            if let Some(seam) = pull {
                self.rows.pull(self.plan[seam].pull, &mut self.moved);
            }
            self.acts += 1;
            let needed = self.needed_after(self.acts);
            self.laid.push(Laid {
                hold,
                pull,
                needed: needed.joints,
            });
            self.rows.leave_all_but(needed);
        }
        self.left[part.weld] = self.left[part.weld].saturating_sub(part.stretches.len());
        self.slip();
    }

    /// Takes clamps off together. Where those that are left do not hold the frame, it lies on the table from now on.
    fn take_off(&mut self, clamps: &[usize]) {
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
    fn hold(&mut self, joint: usize, stiffness: [f64; 6], force: [f64; 6]) {
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

    /// Lets clamps that are pulled harder than they hold slip until they hold that much.
    fn slip(&mut self) {
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
    fn slipped(&self, clamp: usize) -> [f64; 3] {
        let mut sum = [0.0; 3];
        for slip in self.slips.iter().filter(|slip| slip.clamp == clamp) {
            sum.iter_mut().zip(slip.push).for_each(|(s, p)| *s += p);
        }
        sum
    }

    /// What a clamp puts on the frame as it stands.
    fn clamp_force_n(&self, clamp: usize) -> [f64; 3] {
        let moved = &self.moved.as_flattened()[3 * clamp..][..3];
        let slipped = self.slipped(clamp);
        std::array::from_fn(|k| slipped[k] - CLAMP_STIFFNESS_N_PER_MM * moved[k])
    }

    /// How far the coordinates that hold the frame to the table have moved.
    pub(super) fn held_mm(&self) -> &[f64] {
        &self.moved.as_flattened()[..self.held]
    }

    /// How much further each measure goes in the end for each of them that has moved 1 mm further by now.
    pub(super) fn letting_go(&self) -> Vec<Vec<f64>> {
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
    pub(super) fn release(&mut self) -> Vec<[f64; 3]> {
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

    /// What welds, tacks that melted, strips and the release push on the frame of the first moment, by coordinate of
    /// the engine.
    pub(super) fn pushes(&self) -> Vec<[f64; WIDE]> {
        // What has been put on each coordinate since the moment that is being looked at.
        let mut since = self.rows.column();
        let joints = self.rows.column_of_joint(0);
        since.as_flattened_mut()[joints..joints + self.held].copy_from_slice(&self.let_go);
        let mut ends = self.moved.clone();
        if self.let_go.iter().any(|&force| force != 0.0) {
            // What holds the frame to the table was moved by the release itself.
            let on_the_table = self.held.div_ceil(6);
            let needed = ends.iter_mut().enumerate().take(self.rows.needed());
            for (joint, end) in needed.skip(on_the_table) {
                add(end, &self.rows.times(joint, &since));
            }
        }
        let mut slips = self.slips.iter().rev().peekable();
        for (piece, laid) in self.laid.iter().enumerate().rev() {
            while let Some(slip) = slips.next_if(|slip| slip.after > piece) {
                let at = joints + 3 * slip.clamp;
                let since = &mut since.as_flattened_mut()[at..at + 3];
                since.iter_mut().zip(slip.push).for_each(|(s, p)| *s += p);
            }
            if let Some((joint, joining)) = &laid.hold {
                let joint = *joint;
                if joint >= laid.needed {
                    // The last weld of this joint: its rows were left as they were then.
                    add(&mut ends[joint], &self.rows.times(joint, &since));
                }
                let at_zero = joining.at_zero();
                let column = self.rows.column_of_joint(joint);
                let since = since.as_flattened_mut();
                for (k, row) in joining.change.iter().enumerate() {
                    since[column + k] += at_zero[k] - dot(row, &ends[joint]);
                }
            }
            if let Some(seam) = laid.pull {
                since.as_flattened_mut()[self.plan[seam].pull] = 1.0;
            }
        }
        self.spread(&since.as_flattened()[joints..])
    }

    fn spread(&self, on_joints: &[f64]) -> Vec<[f64; WIDE]> {
        let layout = self.engine.layout;
        let mut pushes = vec![[0.0; WIDE]; layout.size().div_ceil(WIDE)];
        let on = pushes.as_flattened_mut();
        let coordinates = self.coordinates.as_flattened();
        for (&coordinate, push) in coordinates.iter().zip(on_joints) {
            on[coordinate] += push;
        }
        for seam in self.laid.iter().filter_map(|laid| laid.pull) {
            for (k, &force) in self.shrinkage.seams[seam].strips_n.iter().enumerate() {
                on[layout.strip(seam, k)] += force;
            }
        }
        pushes
    }

    /// Each measure as the frame lies now, mm.
    pub(super) fn measures_mm(&self) -> Vec<f64> {
        let pushes = self.pushes();
        let sixes = self.engine.measuring.iter();
        sixes
            .flat_map(|row| times(row, &pushes))
            .take(self.engine.measures.len())
            .collect()
    }
}

fn add(sum: &mut [f64; 6], other: &[f64; 6]) {
    sum.iter_mut().zip(other).for_each(|(s, o)| *s += o);
}

fn dot(a: &[f64; 6], b: &[f64; 6]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn minus(a: &Matrix6, b: &Matrix6) -> Matrix6 {
    std::array::from_fn(|i| std::array::from_fn(|j| a[i][j] - b[i][j]))
}

/// What holds the frame to the table: its coordinates by six, and how many they are before the last one is repeated to
/// fill the last six.
fn holding(engine: &Engine) -> (Vec<[usize; 6]>, usize) {
    let layout = engine.layout;
    // Without clamps nothing comes off in the end.
    if engine.held.clamps.is_empty() {
        return (Vec::new(), 0);
    }
    let all: Vec<usize> = (layout.clamp(0, 0)..layout.measure(0)).collect();
    let six = all
        .chunks(6)
        .map(|six| std::array::from_fn(|k| six[k.min(six.len() - 1)]));
    (six.collect(), all.len())
}
