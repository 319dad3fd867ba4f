//! What a trial costs: laid from the last place that is kept before its change, and foreseen behind it.

use super::super::Cost;
use super::{Changed, Foresee, Improve, Passed};

/// Why a trial promises nothing: it is going to be worse than it may be, or nothing can be said.
#[derive(Clone, Copy, PartialEq, Eq)]
enum NoPromise {
    Worse,
    Unforeseen,
}
use NoPromise::{Unforeseen, Worse};

impl<A: Foresee, const KEPT: usize> Improve<'_, A, KEPT> {
    /// Steps from one kept place to the next.
    fn stride(&self) -> usize {
        self.items.len() / (KEPT + 1) + 1
    }

    /// What the trial costs, or promises to cost; `None` when it is worse than `bound`. What promises to be the best so
    /// far is laid to the end.
    pub(super) fn lay_trial(&mut self, changed: Changed, way: &Cost, bound: &Cost) -> Option<Cost> {
        let Changed { first, last } = changed;
        let stride = self.stride();
        let (from, mut state) = self.last_kept(first);
        for place in from..first {
            self.assess.lay(&mut state, *self.trial.get(place)?);
            if (place + 1).is_multiple_of(stride)
                && let Some(kept) = self.kept.get_mut((place + 1) / stride - 1)
            {
                *kept = Some(state.clone());
            }
        }
        self.fresh.iter_mut().for_each(|fresh| *fresh = None);
        let fresh_kept = self.fresh_kept.iter_mut().skip(first / stride);
        fresh_kept.for_each(|kept| *kept = None);
        let mut cost = *way;
        for place in first..self.trial.len() {
            self.assess.lay(&mut state, *self.trial.get(place)?);
            self.pass(place, self.assess.view(&state), &mut cost, bound)?;
            if (place + 1).is_multiple_of(stride)
                && let Some(kept) = self.fresh_kept.get_mut((place + 1) / stride - 1)
            {
                *kept = Some(state.clone());
            }
            if place == last {
                let promised = self.promise(last, cost, bound);
                if promised.is_ok_and(|promised| promised >= self.progress.best) {
                    return promised.ok();
                }
                if promised == Err(Worse) {
                    return None;
                }
                self.was_tested = promised.is_ok();
            }
        }
        Some(cost)
    }

    /// The last place kept up to this one, and how many steps were laid there.
    fn last_kept(&self, first: usize) -> (usize, A::State) {
        let stride = self.stride();
        let kept = self.kept.iter().enumerate().take(first / stride).rev();
        let mut kept = kept.filter_map(|(k, state)| Some(((k + 1) * stride, state.as_ref()?)));
        kept.next().map_or_else(
            || (0, self.assess.start_towards(self.current)),
            |(from, state)| (from, state.clone()),
        )
    }

    /// Notes how a trial looks after a step; `None` when it is then worse than `bound`.
    fn pass(&mut self, place: usize, view: A::View, cost: &mut Cost, bound: &Cost) -> Option<()> {
        let before = place.checked_sub(1);
        let before = before.and_then(|before| {
            // What stands before the first change is that of the current order.
            let fresh = self.fresh.get(before)?.as_ref();
            fresh.or(self.passed.get(before)?.as_ref())
        });
        let (mut peak, mut peak_after) = before.map_or((0, 0), |p| (p.peak, p.peak_after));
        cost.last = self.assess.magnitude_of(&view);
        if cost.last > peak {
            (peak, peak_after) = (cost.last, place + 1);
        }
        cost.peak = peak;
        *self.fresh.get_mut(place)? = Some(Passed {
            view,
            peak,
            peak_after,
        });
        let is_past = (cost.excess_turns, cost.peak) > (bound.excess_turns, bound.peak);
        (!is_past).then_some(())
    }

    /// What a trial is going to look like and to cost whose last change stands.
    fn promise(&mut self, last: usize, mut cost: Cost, bound: &Cost) -> Result<Cost, NoPromise> {
        for place in last + 1..self.trial.len() {
            let was = self.passed.get(last).and_then(Option::as_ref);
            let later = self.passed.get(place).and_then(Option::as_ref);
            let now = self.fresh.get(last).and_then(Option::as_ref);
            let (Some(was), Some(later), Some(now)) = (was, later, now) else {
                return Err(Unforeseen);
            };
            let view = self.assess.foreseen(&later.view, &was.view, &now.view);
            let view = view.ok_or(Unforeseen)?;
            self.pass(place, view, &mut cost, bound).ok_or(Worse)?;
        }
        if cost > *bound { Err(Worse) } else { Ok(cost) }
    }

    /// Goes on from the trial.
    pub(super) fn take_trial(&mut self, changed: Changed, cost: Cost) {
        let passed = self.passed.iter_mut().zip(self.fresh.iter_mut());
        for (passed, fresh) in passed.skip(changed.first) {
            *passed = fresh.take();
        }
        let unchanged = changed.first / self.stride();
        let kept = self.kept.iter_mut().zip(&mut self.fresh_kept);
        for (kept, fresh) in kept.skip(unchanged) {
            *kept = fresh.take();
        }
        self.current.copy_from_slice(self.trial);
        self.standing = cost;
        if cost < self.progress.best {
            self.best.copy_from_slice(self.current);
            self.progress.best = cost;
        }
    }
}
