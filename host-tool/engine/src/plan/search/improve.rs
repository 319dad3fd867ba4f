//! The strategy where simulating a weld is costly: begin with a given order and make it better and better.
//!
//! Every second climb anneals too: it finds what the other misses, and takes longer. When a climb stalls, the best
//! order so far is perturbed and climbed again. Three things keep a trial cheap:
//!
//! 1. The rules, flips and walking are checked first, without simulating.
//! 2. `SNAPSHOTS` states along the current order are kept: a trial is simulated from the last one before its first
//!    change.
//! 3. Behind its last change a trial is the current order again, on a frame that is a little different. The objective
//!    predicts what that comes to ([`PredictChange`]). A trial that promises to be the best so far is simulated to the
//!    end: no order is advised on a prediction.

use super::objective::cost_within;
use super::{NoObjective, PredictChange, Search, SequenceError, Strategy, change};
use coldsquare_core::sequence::{Cost, Item, Step};

/// Changes that perturb the best order so far before it is climbed again.
const PERTURBATIONS: usize = 4;
/// How much worse an annealed order may be at first, on average, as a share of the peak: a hundredth of the movement,
/// as scores are its square.
const HEAT: f64 = 0.02;
/// Changes in a row that the rules forbid before they count as one trial.
const FORBIDDEN: usize = 64;

/// The current order after one of its steps.
#[derive(Clone, Debug)]
pub(super) struct Checkpoint<V> {
    pub(super) view: V,
    /// The greatest score so far, and the step after which it is first met.
    pub(super) peak: u64,
    pub(super) peak_after: usize,
}

/// Changes one order step by step; keeps `SNAPSHOTS` states along it.
pub struct Improve<O: PredictChange, const SNAPSHOTS: usize> {
    /// After each step of the current order, and of the trial as far as it was simulated.
    pub(super) checkpoints: Vec<Option<Checkpoint<O::View>>>,
    pub(super) trial_checkpoints: Vec<Option<Checkpoint<O::View>>>,
    /// The current order at evenly spaced steps, and the same of the trial.
    pub(super) snapshots: [Option<O::State>; SNAPSHOTS],
    pub(super) trial_snapshots: [Option<O::State>; SNAPSHOTS],
    /// The last trial was simulated to the end for what it promised.
    pub(super) promised_best: bool,
}

/// The first and the last place of an order that a change has altered.
#[derive(Clone, Copy)]
pub(super) struct Changed {
    pub(super) first: usize,
    pub(super) last: usize,
}

impl<'a, O: PredictChange, const N: usize> Search<'a, O, Improve<O, N>> {
    /// Begins with a given order.
    ///
    /// # Errors
    /// [`SequenceError`]: the rules allow no order, or not with so few flips, or not this one.
    pub fn improving(
        objective: &'a O,
        items: &'a [Item],
        max_flips: u16,
        seed: u64,
        begin: &[Step],
    ) -> Result<Self, SequenceError> {
        let strategy = Improve {
            checkpoints: vec![None; items.len()],
            trial_checkpoints: vec![None; items.len()],
            snapshots: std::array::from_fn(|_| None),
            trial_snapshots: std::array::from_fn(|_| None),
            promised_best: false,
        };
        let mut this = Self::new(objective, items, max_flips, seed, strategy)?;
        if this.suggest(begin) {
            Ok(this)
        } else {
            let weld = begin.first().map_or(0, |step| step.weld);
            Err(SequenceError::Contradiction { weld })
        }
    }

    /// Makes a trial of the current order that the rules allow: what is changed, and its cost in flips and walking.
    fn change_trial(&mut self) -> Option<(Changed, Cost)> {
        for _ in 0..FORBIDDEN {
            self.trial.copy_from_slice(&self.current);
            let peak_after = self.strategy.checkpoints.last()?.as_ref()?.peak_after;
            change::nearby(
                &mut self.trial,
                self.objective,
                self.items,
                self.any_directed,
                peak_after,
                &mut self.random,
            );
            let mut both = self.trial.iter().zip(&self.current);
            let first = both.clone().position(|(a, b)| a != b);
            let last = both.rposition(|(a, b)| a != b);
            let (Some(first), Some(last)) = (first, last) else {
                continue;
            };
            let (items, flips) = (self.items, self.max_flips);
            let handling = cost_within(&NoObjective, items, flips, &self.trial, &Cost::WORST);
            if let Some((handling, _)) = handling
                && handling.excess_flips <= self.cost.excess_flips
            {
                return Some((Changed { first, last }, handling));
            }
        }
        None
    }

    /// Makes the simulated trial the current order.
    fn accept(&mut self, changed: Changed, cost: Cost) {
        let unchanged = changed.first / self.stride();
        let strategy = &mut self.strategy;
        let checkpoints = strategy.checkpoints.iter_mut();
        let checkpoints = checkpoints.zip(&mut strategy.trial_checkpoints);
        for (current, trial) in checkpoints.skip(changed.first) {
            *current = trial.take();
        }
        let snapshots = strategy.snapshots.iter_mut();
        let snapshots = snapshots.zip(&mut strategy.trial_snapshots);
        for (current, trial) in snapshots.skip(unchanged) {
            *current = trial.take();
        }
        self.accept_trial(cost);
    }
}

impl<O: PredictChange, const N: usize> Strategy<O> for Improve<O, N> {
    const REPORT_EVERY: u64 = 8;

    fn patience(items: u64) -> u64 {
        50 + 4 * items
    }

    fn heat(climb: u64) -> f64 {
        if climb % 2 == 1 { HEAT } else { 0.0 }
    }

    /// Simulates the current order anew.
    fn begin(search: &mut Search<'_, O, Self>) {
        search.trial.copy_from_slice(&search.current);
        let strategy = &mut search.strategy;
        strategy.checkpoints.iter_mut().for_each(|old| *old = None);
        strategy.snapshots.iter_mut().for_each(|old| *old = None);
        let all = Changed {
            first: 0,
            last: search.items.len(),
        };
        let handling = search.cost;
        let found = search.simulate_trial(all, &handling, &Cost::WORST);
        search.accept(all, found.unwrap_or(Cost::WORST));
    }

    fn try_change(search: &mut Search<'_, O, Self>, bound: &Cost) -> bool {
        let Some((changed, handling)) = search.change_trial() else {
            return false;
        };
        search.strategy.promised_best = false;
        let found = search.simulate_trial(changed, &handling, bound);
        if let Some(cost) = found.filter(|cost| cost <= bound) {
            search.accept(changed, cost);
            return true;
        }
        if search.strategy.promised_best {
            // It was worse than predicted, and so would those be that follow: correct the predictions.
            Self::begin(search);
        }
        false
    }

    /// Returns to the best order so far, perturbed by a few changes that the rules allow.
    fn restart(search: &mut Search<'_, O, Self>, until: u64) {
        search.return_to_best();
        for _ in 0..PERTURBATIONS {
            if search.progress.trials >= until {
                return;
            }
            search.progress.trials += 1;
            Self::try_change(search, &Cost::WORST);
        }
    }
}
