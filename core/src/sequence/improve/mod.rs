//! A better order from one that is given, where laying a weld is costly.
//!
//! Nothing is built here: the climb begins with the order it is given, changes it a little, and takes the change by late
//! acceptance (see [`super::search`]), in every second climb also by annealing: by chance what is a little worse, less
//! and less so (S. Kirkpatrick, C. D. Gelatt and M. P. Vecchi, *Optimization by Simulated Annealing*, Science 220 (1983)
//! 671-680). When a climb stalls, the best so far is shaken and climbed again. It is any-time, seeded and repeatable.
//! How much worse is a share of what stands, so that the scale of the heat changes nothing.
//!
//! Three things keep a trial cheap:
//!
//! 1. What the rules forbid is never laid, and the way a welder walks is added up without laying.
//! 2. `KEPT` places along the order that is being climbed are kept as they stand: a trial is laid from the last of them
//!    before its first change.
//! 3. Behind its last change a trial goes on like the order it was made from, from a frame that stands a little
//!    differently. What that comes to in the end the assessor can foresee ([`Foresee::foreseen`]). What promises to be
//!    the best so far is laid to the end: no order is advised on a promise.

mod change;
mod trial;

use super::random::Pcg;
use super::rules::{self, Item, SequenceError};
use super::search::Progress;
use super::{Assess, Cost, Step, cost_within};

/// Length of the memory of late acceptance.
const MEMORY: usize = 24;
/// Trials between two reports.
const REPORT_EVERY: u64 = 8;
/// Changes that shake the best order so far before it is climbed again.
const SHAKES: usize = 4;
/// How much worse an annealing takes at first, on the average, as a share of the peak: a hundredth of the movement, whose
/// square it is.
const HEAT: f64 = 0.02;

/// An assessor that can say beforehand what a change in the middle of an order does to the rest of it.
pub trait Foresee: Assess {
    /// The frame after some steps, as far as it is judged.
    type View: Clone;

    /// [`Assess::start`], arranged so that what is about to be laid in nearly this order is laid fast.
    fn start_towards(&self, expected: &[Step]) -> Self::State {
        let _ = expected;
        self.start()
    }

    /// How the frame looks.
    fn view(&self, state: &Self::State) -> Self::View;

    /// The magnitude of what looks so: [`Assess::magnitude`].
    fn magnitude_of(&self, view: &Self::View) -> u64;

    /// What it is going to look like later in an order, at a place where it looked like `later`, if at an earlier place
    /// it looks like `now` instead of like `was`, with the same items laid. `None` where nothing can be said.
    fn foreseen(
        &self,
        later: &Self::View,
        was: &Self::View,
        now: &Self::View,
    ) -> Option<Self::View>;
}

/// An order as it stands after one of its steps.
#[derive(Clone, Debug)]
pub struct Passed<V> {
    view: V,
    /// The greatest magnitude so far, and after how many steps it was met first.
    peak: u64,
    peak_after: usize,
}

/// Working space for as many items as there are: three orders, and what two of them look like on the way.
#[derive(Debug)]
pub struct Space<'a, V> {
    /// Orders.
    pub orders: [&'a mut [Step]; 3],
    /// What they look like on the way; nothing at first.
    pub passed: [&'a mut [Option<Passed<V>>]; 2],
}

/// An order that is made better and better; `KEPT` places along it are kept as they stand.
pub struct Improve<'a, A: Foresee, const KEPT: usize> {
    assess: &'a A,
    items: &'a [Item],
    most_turns: u16,
    random: Pcg,
    current: &'a mut [Step],
    trial: &'a mut [Step],
    best: &'a mut [Step],
    /// Cost of `current`.
    standing: Cost,
    progress: Progress,
    any_directed: bool,
    /// The trial laid last was laid to the end for what it promised.
    was_tested: bool,
    /// After each step of `current`, and of the trial as far as it was laid anew.
    passed: &'a mut [Option<Passed<A::View>>],
    fresh: &'a mut [Option<Passed<A::View>>],
    /// `current` after every so many of its steps, and the same of the trial.
    kept: [Option<A::State>; KEPT],
    fresh_kept: [Option<A::State>; KEPT],
}

/// What a change did to an order: the first and the last place that differ.
#[derive(Clone, Copy)]
struct Changed {
    first: usize,
    last: usize,
}

impl<'a, A: Foresee, const KEPT: usize> Improve<'a, A, KEPT> {
    /// Begins with a given order.
    ///
    /// # Errors
    /// [`SequenceError`]: the rules allow no order, or not with so few turns, or not this one, or there is too little
    /// working space.
    pub fn from(
        assess: &'a A,
        items: &'a [Item],
        most_turns: u16,
        seed: u64,
        space: Space<'a, A::View>,
        begin: &[Step],
    ) -> Result<Self, SequenceError> {
        let least = rules::check(items)?;
        if least > most_turns {
            return Err(SequenceError::TooFewTurns { needed: least });
        }
        let needed = items.len();
        let too_small = SequenceError::ScratchTooSmall { needed };
        let [current, trial, best] = space.orders.map(|o| o.get_mut(..needed).ok_or(too_small));
        let [passed, fresh] = space.passed.map(|p| p.get_mut(..needed).ok_or(too_small));
        let mut this = Self {
            assess,
            items,
            most_turns,
            random: Pcg::new(seed),
            current: current?,
            trial: trial?,
            best: best?,
            standing: Cost::WORST,
            progress: Progress {
                trials: 0,
                climbs: 0,
                best: Cost::WORST,
            },
            any_directed: (0..).zip(items).any(|(weld, _)| assess.is_directed(weld)),
            was_tested: false,
            passed: passed?,
            fresh: fresh?,
            kept: core::array::from_fn(|_| None),
            fresh_kept: core::array::from_fn(|_| None),
        };
        if this.consider(begin) {
            Ok(this)
        } else {
            let weld = begin.first().map_or(0, |step| step.weld);
            Err(SequenceError::Contradiction { weld })
        }
    }

    /// Takes this order for the best so far if it is. False when the rules forbid it.
    fn consider(&mut self, order: &[Step]) -> bool {
        let found = cost_within(
            self.assess,
            self.items,
            self.most_turns,
            order,
            &Cost::WORST,
        );
        if let Some((cost, _)) = found
            && cost < self.progress.best
        {
            self.best.copy_from_slice(order);
            self.progress.best = cost;
        }
        found.is_some()
    }

    /// Tries up to `trials` more orders; stops before that when `keep_going` says no.
    pub fn run(&mut self, trials: u64, mut keep_going: impl FnMut(&Progress) -> bool) {
        let until = self.progress.trials.saturating_add(trials);
        if self.items.len() < 2 && !self.assess.is_directed(0) {
            return;
        }
        self.stand_on_best();
        while self.progress.trials < until {
            // One climb in two begins hot: it finds what the other misses, and takes longer.
            let heat = if self.progress.climbs % 2 == 1 {
                HEAT
            } else {
                0.0
            };
            if !self.climb(until, heat, &mut keep_going) {
                return;
            }
            self.progress.climbs += 1;
            self.shake(until);
        }
    }

    /// The best order so far, and what it costs.
    #[must_use]
    pub fn best(&self) -> (&[Step], Cost) {
        (self.best, self.progress.best)
    }

    /// How far it has come.
    #[must_use]
    pub fn progress(&self) -> Progress {
        self.progress
    }

    /// Climbs from `current` until it stalls; false when told to stop.
    fn climb(
        &mut self,
        until: u64,
        heat: f64,
        keep_going: &mut impl FnMut(&Progress) -> bool,
    ) -> bool {
        let mut memory = [self.standing; MEMORY];
        let patience = 50 + 4 * self.items.len() as u64;
        let cold = if heat > 0.0 { patience } else { 0 };
        let (mut tried, mut stalled, mut best_here) = (0, 0, self.standing);
        while self.progress.trials < until && stalled < patience {
            self.progress.trials += 1;
            tried += 1;
            stalled += 1;
            if self.progress.trials.is_multiple_of(REPORT_EVERY) && !keep_going(&self.progress) {
                return false;
            }
            let late = (self.progress.trials % MEMORY as u64) as usize;
            let bound = memory
                .get(late)
                .map_or(self.standing, |late| (*late).max(self.standing));
            let bound = if tried < cold {
                stalled = 0;
                let left = 1.0 - tried as f64 / cold as f64;
                bound.max(self.by_chance_worse(heat * left * left))
            } else {
                bound
            };
            if self.try_a_change(&bound) && self.standing < best_here {
                (best_here, stalled) = (self.standing, 0);
            }
            if let Some(late) = memory.get_mut(late) {
                *late = self.standing;
            }
        }
        true
    }

    /// A cost that is worse than what stands, as an annealing takes it: by a share that is `heat` on the average.
    fn by_chance_worse(&mut self, heat: f64) -> Cost {
        let peak = self.standing.peak as f64 * (1.0 + heat * self.random.exponential());
        if peak as u64 <= self.standing.peak {
            return self.standing;
        }
        Cost {
            excess_turns: self.standing.excess_turns,
            peak: peak as u64,
            ..Cost::WORST
        }
    }

    /// Changes `current` a little and takes the change if it then costs no more than `bound`.
    fn try_a_change(&mut self, bound: &Cost) -> bool {
        let Some((changed, way)) = self.change_trial() else {
            return false;
        };
        self.was_tested = false;
        let found = self.lay_trial(changed, &way, bound);
        if let Some(cost) = found.filter(|cost| cost <= bound) {
            self.take_trial(changed, cost);
            return true;
        }
        if self.was_tested {
            // It kept less than it promised, and so would those that follow.
            self.stand_on_current();
        }
        false
    }

    /// Makes the best so far the one to climb from.
    fn stand_on_best(&mut self) {
        self.current.copy_from_slice(self.best);
        self.standing = self.progress.best;
        self.stand_on_current();
    }

    /// Lays the order that is being climbed anew.
    fn stand_on_current(&mut self) {
        self.trial.copy_from_slice(self.current);
        self.passed.iter_mut().for_each(|passed| *passed = None);
        self.kept.iter_mut().for_each(|kept| *kept = None);
        let all = Changed {
            first: 0,
            last: self.items.len(),
        };
        let way = self.standing;
        let found = self.lay_trial(all, &way, &Cost::WORST);
        self.take_trial(all, found.unwrap_or(Cost::WORST));
    }

    /// Makes the best so far the one to climb from, shaken by a few changes that the rules allow.
    fn shake(&mut self, until: u64) {
        self.stand_on_best();
        for _ in 0..SHAKES {
            if self.progress.trials >= until {
                return;
            }
            self.progress.trials += 1;
            self.try_a_change(&Cost::WORST);
        }
    }
}

#[cfg(test)]
mod tests;
