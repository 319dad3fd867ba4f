//! What a changed order costs: simulated from the last snapshot before its change, and predicted behind it.

use super::improve::{Changed, Checkpoint, Improve};
use super::{PredictChange, Search};
use coldsquare_core::sequence::Cost;

/// Why a trial promises nothing: it is going to be worse than the bound, or cannot be predicted.
#[derive(Clone, Copy, PartialEq, Eq)]
enum NoPromise {
    Worse,
    Unpredictable,
}
use NoPromise::{Unpredictable, Worse};

impl<O: PredictChange, const N: usize> Search<'_, O, Improve<O, N>> {
    /// Steps from one snapshot to the next.
    pub(super) fn stride(&self) -> usize {
        self.items.len() / (N + 1) + 1
    }

    /// What the trial costs, or is predicted to cost; `None` when it is worse than `bound`. A trial that promises to
    /// be the best so far is simulated to the end. `handling` is its cost in flips and walking.
    pub(super) fn simulate_trial(
        &mut self,
        changed: Changed,
        handling: &Cost,
        bound: &Cost,
    ) -> Option<Cost> {
        let Changed { first, last } = changed;
        let stride = self.stride();
        let mut state = self.state_before(first);
        let strategy = &mut self.strategy;
        let old = strategy.trial_checkpoints.iter_mut();
        old.for_each(|old| *old = None);
        let old = strategy.trial_snapshots.iter_mut().skip(first / stride);
        old.for_each(|old| *old = None);
        let mut cost = *handling;
        for place in first..self.trial.len() {
            self.objective.apply(&mut state, self.trial[place]);
            self.record(place, self.objective.view(&state), &mut cost, bound)?;
            if let Some(k) = snapshot_after(place, stride)
                && let Some(snapshot) = self.strategy.trial_snapshots.get_mut(k)
            {
                *snapshot = Some(state.clone());
            }
            if place == last {
                let promised = self.predict(last, cost, bound);
                if promised.is_ok_and(|promised| promised >= self.progress.best) {
                    return promised.ok();
                }
                if promised == Err(Worse) {
                    return None;
                }
                self.strategy.promised_best = promised.is_ok();
            }
        }
        Some(cost)
    }

    /// The state of the trial before its first change, from the last snapshot up to there; missing ones are taken.
    fn state_before(&mut self, first: usize) -> O::State {
        let stride = self.stride();
        let snapshots = self.strategy.snapshots.iter().enumerate();
        let mut snapshots = snapshots.take(first / stride).rev();
        let last = snapshots.find_map(|(k, state)| Some(((k + 1) * stride, state.as_ref()?)));
        let (from, mut state) = match last {
            Some((from, state)) => (from, state.clone()),
            None => (0, self.objective.start_towards(&self.current)),
        };
        for place in from..first {
            self.objective.apply(&mut state, self.trial[place]);
            if let Some(k) = snapshot_after(place, stride)
                && let Some(snapshot) = self.strategy.snapshots.get_mut(k)
            {
                *snapshot = Some(state.clone());
            }
        }
        state
    }

    /// Records how a trial looks after a step; `None` when it is then worse than `bound`.
    fn record(&mut self, place: usize, view: O::View, cost: &mut Cost, bound: &Cost) -> Option<()> {
        let strategy = &mut self.strategy;
        let before = place.checked_sub(1).and_then(|before| {
            // Before its first change the trial is the current order.
            let trial = strategy.trial_checkpoints[before].as_ref();
            trial.or(strategy.checkpoints[before].as_ref())
        });
        let (mut peak, mut peak_after) = before.map_or((0, 0), |p| (p.peak, p.peak_after));
        cost.last = self.objective.score_of(&view);
        if cost.last > peak {
            (peak, peak_after) = (cost.last, place + 1);
        }
        cost.peak = peak;
        strategy.trial_checkpoints[place] = Some(Checkpoint {
            view,
            peak,
            peak_after,
        });
        (!cost.exceeds(bound)).then_some(())
    }

    /// What a trial is predicted to cost that has been simulated up to its last change.
    fn predict(&mut self, last: usize, mut cost: Cost, bound: &Cost) -> Result<Cost, NoPromise> {
        for place in last + 1..self.trial.len() {
            let strategy = &self.strategy;
            let before = strategy.checkpoints[last].as_ref();
            let later = strategy.checkpoints[place].as_ref();
            let after = strategy.trial_checkpoints[last].as_ref();
            let (Some(before), Some(later), Some(after)) = (before, later, after) else {
                return Err(Unpredictable);
            };
            let objective = self.objective;
            let view = objective.predict_after_change(&later.view, &before.view, &after.view);
            let view = view.ok_or(Unpredictable)?;
            self.record(place, view, &mut cost, bound).ok_or(Worse)?;
        }
        if cost > *bound { Err(Worse) } else { Ok(cost) }
    }
}

/// Index of the snapshot that is taken after the step at `place`, if one is.
fn snapshot_after(place: usize, stride: usize) -> Option<usize> {
    let steps = place + 1;
    steps.is_multiple_of(stride).then(|| steps / stride - 1)
}
