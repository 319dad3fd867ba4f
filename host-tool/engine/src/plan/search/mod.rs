//! The search for an order: one climb, and two strategies for what it tries.
//!
//! ```text
//! items, objective -> exact    few items, and the score depends only on which are done: the best order there is
//!                  -> Rebuild  simulating a weld is cheap: orders are built anew and climbed
//!                  -> Improve  simulating a weld is costly: one order is changed, and a change's effect predicted
//! ```
//!
//! Where even that is too costly, [`remembered`] stands in for the objective: it adds up what each item did in the orders
//! that were simulated.
//!
//! The climb is late acceptance: a change is accepted when it costs no more than the order did some steps ago (E. K.
//! Burke and Y. Bykov, *The late acceptance Hill-Climbing heuristic*, European Journal of Operational Research 258
//! (2017) 70-78). It only compares costs, so it needs no temperature and the scale of the heat cannot change what it
//! finds. A strategy may anneal as well: slightly worse orders are accepted by chance, less and less often (S.
//! Kirkpatrick, C. D. Gelatt and M. P. Vecchi, *Optimization by Simulated Annealing*, Science 220 (1983) 671-680).
//! "Slightly worse" is a share of the order's own score.
//!
//! Stop a search whenever you like: the best order so far is ready. The same seed and trials give the same order. To
//! try another idea, write a [`Strategy`].
//!
//! ```
//! use coldsquare_core::sequence::Item;
//! use coldsquare_core::sequence::balance::ShrinkageBalance;
//! use coldsquare_engine::plan::search::Search;
//!
//! let moments = [[-10, 0], [-10, 0], [10, 0], [10, 0]];
//! let objective = ShrinkageBalance::new(&moments);
//! let items = [Item::default(); 4];
//! let (flips, seed, trials) = (0, 1, 1000);
//! let mut search = Search::building(&objective, &items, flips, seed)?;
//! search.run(trials, |_| true);
//! assert_eq!(search.best().1.peak, 100, "left and right in turn");
//! # Ok::<(), coldsquare_engine::plan::search::SequenceError>(())
//! ```

mod change;
pub mod exact;
mod improve;
mod objective;
mod rebuild;
pub mod remembered;
mod rules;
mod simulate;
#[cfg(test)]
mod tests;

pub use improve::Improve;
pub use objective::{DependsOnSetAlone, NoObjective, PredictChange, cost};
pub use rebuild::Rebuild;
pub use rules::{SequenceError, check};

use coldsquare_core::sequence::random::Pcg32;
use coldsquare_core::sequence::{Cost, Item, Objective, Step};
use objective::cost_within;

/// Length of the memory of late acceptance.
const MEMORY: usize = 24;

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Orders tried so far.
    pub trials: u64,
    /// Climbs finished so far.
    pub climbs: u64,
    /// What the best order so far costs.
    pub best: Cost,
}

/// What a search tries, and where it climbs from next when it has stalled.
pub trait Strategy<O: Objective>: Sized {
    /// Trials between two reports of progress.
    const REPORT_EVERY: u64;

    /// A climb has stalled after this many trials without a better order.
    fn patience(items: u64) -> u64;

    /// How much worse an order may be at the start of this climb, on average, as a share of the peak; 0: not annealed.
    fn heat(climb: u64) -> f64;

    /// Prepares for a climb from the current order.
    fn begin(search: &mut Search<'_, O, Self>);

    /// Changes the current order a little, and accepts the change if it then costs no more than `bound`.
    fn try_change(search: &mut Search<'_, O, Self>, bound: &Cost) -> bool;

    /// Makes another order the current one, within the trials up to `until`.
    fn restart(search: &mut Search<'_, O, Self>, until: u64);
}

/// A search for an order; run it as often as you like.
pub struct Search<'a, O: Objective, S> {
    objective: &'a O,
    items: &'a [Item],
    max_flips: u16,
    random: Pcg32,
    /// The order that is climbed from, and its cost.
    current: Vec<Step>,
    cost: Cost,
    /// The current order with a change.
    trial: Vec<Step>,
    best: Vec<Step>,
    progress: Progress,
    any_directed: bool,
    strategy: S,
}

impl<'a, O: Objective, S: Strategy<O>> Search<'a, O, S> {
    fn new(
        objective: &'a O,
        items: &'a [Item],
        max_flips: u16,
        seed: u64,
        strategy: S,
    ) -> Result<Self, SequenceError> {
        let needed = check(items)?;
        if needed > max_flips {
            return Err(SequenceError::TooFewFlips { needed });
        }
        let order = vec![Step::default(); items.len()];
        Ok(Self {
            objective,
            items,
            max_flips,
            random: Pcg32::new(seed),
            current: order.clone(),
            cost: Cost::WORST,
            trial: order.clone(),
            best: order,
            progress: Progress {
                trials: 0,
                climbs: 0,
                best: Cost::WORST,
            },
            any_directed: (0..).zip(items).any(|(k, _)| objective.is_directed(k)),
            strategy,
        })
    }

    /// Considers this order too: the next [`Search::run`] climbs from it if it is the best so far. False when the
    /// rules forbid it.
    pub fn suggest(&mut self, order: &[Step]) -> bool {
        let found = self.cost_within(order, &Cost::WORST);
        if let Some((cost, _)) = found
            && cost < self.progress.best
        {
            self.best.copy_from_slice(order);
            self.progress.best = cost;
        }
        found.is_some()
    }

    /// Tries up to `trials` more orders; stops early when `on_progress` returns false.
    pub fn run(&mut self, trials: u64, mut on_progress: impl FnMut(&Progress) -> bool) {
        let until = self.progress.trials.saturating_add(trials);
        if self.items.len() < 2 && !self.objective.is_directed(0) {
            return;
        }
        self.return_to_best();
        while self.progress.trials < until {
            if !self.climb(until, &mut on_progress) {
                return;
            }
            self.progress.climbs += 1;
            S::restart(self, until);
        }
    }

    /// The best order so far, and what it costs.
    #[must_use]
    pub fn best(&self) -> (&[Step], Cost) {
        (&self.best, self.progress.best)
    }

    /// How far it has come.
    #[must_use]
    pub fn progress(&self) -> Progress {
        self.progress
    }

    /// Climbs from the current order until it stalls; false when `on_progress` says to stop.
    fn climb(&mut self, until: u64, on_progress: &mut impl FnMut(&Progress) -> bool) -> bool {
        let mut memory = [self.cost; MEMORY];
        let patience = S::patience(self.items.len() as u64);
        let heat = S::heat(self.progress.climbs);
        let cold_after = if heat > 0.0 { patience } else { 0 };
        let (mut tried, mut stalled, mut best_here) = (0, 0, self.cost);
        while self.progress.trials < until && stalled < patience {
            self.progress.trials += 1;
            tried += 1;
            stalled += 1;
            if self.progress.trials.is_multiple_of(S::REPORT_EVERY) && !on_progress(&self.progress)
            {
                return false;
            }
            let late = (self.progress.trials % MEMORY as u64) as usize;
            let mut bound = memory[late].max(self.cost);
            if tried < cold_after {
                stalled = 0;
                let left = 1.0 - tried as f64 / cold_after as f64;
                bound = bound.max(self.annealing_bound(heat * left * left));
            }
            if S::try_change(self, &bound) && self.cost < best_here {
                (best_here, stalled) = (self.cost, 0);
            }
            memory[late] = self.cost;
        }
        true
    }

    /// A cost that is worse than that of the current order: the peak by a random share, `heat` on average.
    fn annealing_bound(&mut self, heat: f64) -> Cost {
        let peak = self.cost.peak as f64 * (1.0 + heat * exponential(&mut self.random));
        if peak as u64 <= self.cost.peak {
            return self.cost;
        }
        Cost {
            excess_flips: self.cost.excess_flips,
            peak: peak as u64,
            ..Cost::WORST
        }
    }

    fn cost_within(&self, order: &[Step], bound: &Cost) -> Option<(Cost, usize)> {
        cost_within(self.objective, self.items, self.max_flips, order, bound)
    }

    fn return_to_best(&mut self) {
        self.current.copy_from_slice(&self.best);
        self.cost = self.progress.best;
        S::begin(self);
    }

    /// Makes the trial the current order.
    fn accept_trial(&mut self, cost: Cost) {
        self.current.copy_from_slice(&self.trial);
        self.cost = cost;
        self.keep_if_best();
    }

    fn keep_if_best(&mut self) {
        if self.cost < self.progress.best {
            self.best.copy_from_slice(&self.current);
            self.progress.best = self.cost;
        }
    }
}

/// An exponential deviate, mean 1; the logarithm is taken as straight between powers of two.
fn exponential(random: &mut Pcg32) -> f64 {
    let draw = random.bits();
    let zeros = draw.leading_zeros().min(31);
    let even = f64::from((draw << zeros) & (u32::MAX >> 1)) / f64::from(1_u32 << 31);
    (f64::from(zeros) + 1.0 - even) * std::f64::consts::LN_2
}
