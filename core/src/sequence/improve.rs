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

use super::random::Pcg;
use super::rules::{self, Item, SequenceError};
use super::search::Progress;
use super::{Assess, Cost, Step, Unjudged, cost_within};

/// Length of the memory of late acceptance.
const MEMORY: usize = 24;
/// Trials between two reports.
const REPORT_EVERY: u64 = 8;
/// Changes that shake the best order so far before it is climbed again.
const SHAKES: usize = 4;
/// How much worse an annealing takes at first, on the average, as a share of the peak: a hundredth of the movement, whose
/// square it is.
const HEAT: f64 = 0.02;
/// Lengths of a change: the whole order, a half, a quarter and so on.
const SCALES: usize = 6;
/// Changes that the rules forbid, one after the other, that count as a trial.
const FORBIDDEN: usize = 64;
/// A few items that are moved together.
const LONGEST_MOVED: usize = 4;

/// An assessor that can say beforehand what a change in the middle of an order does to the rest of it.
pub trait Foresee: Assess {
    /// The frame after some steps, as far as it is judged.
    type View: Clone;

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

/// Why a trial promises nothing: it is going to be worse than it may be, or nothing can be said.
#[derive(Clone, Copy, PartialEq, Eq)]
enum NoPromise {
    Worse,
    Unforeseen,
}
use NoPromise::{Unforeseen, Worse};

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

    /// Makes a trial of the current order that the rules allow, changed a little: where, and its turns and walking.
    fn change_trial(&mut self) -> Option<(Changed, Cost)> {
        for _ in 0..FORBIDDEN {
            self.trial.copy_from_slice(self.current);
            let peak_after = self.passed.last()?.as_ref()?.peak_after;
            self.change(peak_after);
            let differs = |(a, b): (&Step, &Step)| a != b;
            let first = self.trial.iter().zip(self.current.iter()).position(differs);
            let last = self
                .trial
                .iter()
                .zip(self.current.iter())
                .rposition(differs);
            let (Some(first), Some(last)) = (first, last) else {
                continue;
            };
            let way = cost_within(
                &Unjudged,
                self.items,
                self.most_turns,
                self.trial,
                &Cost::WORST,
            );
            if let Some((way, _)) = way
                && way.excess_turns <= self.standing.excess_turns
            {
                return Some((Changed { first, last }, way));
            }
        }
        None
    }

    /// Changes the trial a little: moves a few items together, swaps two of the same side, turns a stretch around, or
    /// welds one the other way.
    ///
    /// Half of the time across the place where the peak is: nothing else can lower it. What lies close together in the
    /// order is preferred, on every scale.
    fn change(&mut self, peak_after: usize) -> Option<()> {
        let n = self.trial.len();
        let random = &mut self.random;
        let scale = random.below(SCALES);
        let within = |places: usize| (places >> scale).max(1);
        let (a, mut b) = if random.below(2) == 0 && peak_after > 0 && peak_after < n {
            let (before, after) = (within(peak_after), within(n - peak_after));
            (
                peak_after - before + random.below(before),
                peak_after + random.below(after),
            )
        } else {
            let first = random.below(n);
            (first, (first + 1 + random.below(within(n))).min(n - 1))
        };
        let kind = random.below(3 + usize::from(self.any_directed));
        if kind == 1 {
            // Two of different sides would need turns.
            let side = |step: &Step| self.items.get(usize::from(step.weld)).map(|item| item.side);
            let wanted = self.trial.get(a).map(side);
            let like = |step: &Step| Some(side(step)) == wanted;
            b += self.trial.get(b..)?.iter().position(like).unwrap_or(0);
        }
        let stretch = self.trial.get_mut(a..=b)?;
        // Mostly one, sometimes a few, seldom as many as there are.
        let most = match random.below(4) {
            0 | 1 => 1,
            2 => LONGEST_MOVED,
            _ => usize::MAX,
        };
        let moved = 1 + random.below((stretch.len() / 2).clamp(1, most));
        match kind {
            0 if random.below(2) == 0 => stretch.rotate_left(moved),
            0 => stretch.rotate_right(moved),
            1 => {
                let last = stretch.len() - 1;
                stretch.swap(0, last);
            }
            2 => stretch.reverse(),
            _ => {
                if random.below(2) == 0 {
                    stretch.rotate_left(1);
                }
                let turned = if random.below(2) == 0 { a } else { b };
                let step = self.trial.get_mut(turned)?;
                if self.assess.is_directed(step.weld) {
                    step.reversed = !step.reversed;
                }
            }
        }
        Some(())
    }

    /// Steps from one kept place to the next.
    fn stride(&self) -> usize {
        self.items.len() / (KEPT + 1) + 1
    }

    /// What the trial costs, or promises to cost; `None` when it is worse than `bound`. What promises to be the best so
    /// far is laid to the end.
    fn lay_trial(&mut self, changed: Changed, way: &Cost, bound: &Cost) -> Option<Cost> {
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
            || (0, self.assess.start()),
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
    fn take_trial(&mut self, changed: Changed, cost: Cost) {
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
mod tests {
    use super::super::{Side, WeldSet};
    use super::*;
    use std::vec::Vec;

    /// Each item moves the frame the less, the more is done, and the other way when welded backwards.
    struct Stiffening;

    impl Foresee for Stiffening {
        type View = i64;

        fn view(&self, state: &Self::State) -> i64 {
            state.0
        }

        fn magnitude_of(&self, view: &i64) -> u64 {
            view.unsigned_abs()
        }

        /// What is done later does the same, for as many items are done.
        fn foreseen(&self, later: &i64, was: &i64, now: &i64) -> Option<i64> {
            Some(later - was + now)
        }
    }

    impl Assess for Stiffening {
        type State = (i64, i64);

        fn is_directed(&self, weld: u16) -> bool {
            weld.is_multiple_of(3)
        }

        fn start(&self) -> Self::State {
            (0, 2)
        }

        fn lay(&self, (sum, done): &mut Self::State, step: Step) {
            let pull = (i64::from(step.weld) * 7919) % 2001 - 1000;
            *sum += if step.reversed { -pull } else { pull } * 16 / *done;
            *done += 1;
        }

        fn magnitude(&self, (sum, _): &Self::State) -> u64 {
            sum.unsigned_abs()
        }
    }

    /// The same, seen darkly: nothing can be foreseen.
    struct Blind;

    impl Assess for Blind {
        type State = (i64, i64);

        fn is_directed(&self, weld: u16) -> bool {
            Stiffening.is_directed(weld)
        }

        fn start(&self) -> Self::State {
            Stiffening.start()
        }

        fn lay(&self, state: &mut Self::State, step: Step) {
            Stiffening.lay(state, step);
        }

        fn magnitude(&self, state: &Self::State) -> u64 {
            Stiffening.magnitude(state)
        }
    }

    impl Foresee for Blind {
        type View = i64;

        fn view(&self, state: &Self::State) -> i64 {
            state.0
        }

        fn magnitude_of(&self, view: &i64) -> u64 {
            view.unsigned_abs()
        }

        fn foreseen(&self, _: &i64, _: &i64, _: &i64) -> Option<i64> {
            None
        }
    }

    fn improved<A: Foresee, const KEPT: usize>(
        assess: &A,
        items: &[Item],
        begin: &[Step],
        trials: u64,
    ) -> (Vec<Step>, Cost, u64) {
        let mut orders = [(); 3].map(|()| std::vec![Step::default(); items.len()]);
        let mut passed = [(); 2].map(|()| std::vec![None; items.len()]);
        let space = Space {
            orders: orders.each_mut().map(Vec::as_mut_slice),
            passed: passed.each_mut().map(Vec::as_mut_slice),
        };
        let mut search =
            Improve::<_, KEPT>::from(assess, items, 2, 7, space, begin).expect("an order");
        search.run(trials, |_| true);
        let (order, cost) = search.best();
        assert_eq!(
            super::super::cost(assess, items, 2, order),
            Some(cost),
            "it costs what it says"
        );
        (order.to_vec(), cost, search.progress().climbs)
    }

    fn found<A: Foresee, const KEPT: usize>(assess: &A, count: u16) -> (Vec<Step>, Cost, u64) {
        let items: Vec<Item> = (0..count)
            .map(|k| Item {
                side: [Side::Front, Side::Back, Side::Either][usize::from(k) % 3],
                before: if k % 7 == 6 {
                    WeldSet::of(&[k - 3])
                } else {
                    WeldSet::EMPTY
                },
                at_mm: [i32::from(k) * 40, 0, 0],
                ..Item::default()
            })
            .collect();
        let mut begin: Vec<Step> = (0..count).map(Step::forward).collect();
        begin.sort_by_key(|step| step.weld % 3);
        let found = improved::<A, KEPT>(assess, &items, &begin, 3000);
        assert!(
            found
                .0
                .iter()
                .all(|step| !step.reversed || step.weld % 3 == 0)
        );
        found
    }

    #[test]
    fn what_is_kept_and_foreseen_on_the_way_changes_nothing_but_the_time() {
        for count in [1, 2, 9, 40] {
            let plain = found::<_, 0>(&Blind, count);
            assert_eq!(plain, found::<_, 3>(&Stiffening, count));
            assert_eq!(plain, found::<_, 8>(&Stiffening, count));
        }
    }

    #[test]
    fn what_is_found_is_much_better_than_what_was_given() {
        let items = std::vec![Item::default(); 40];
        let begin: Vec<Step> = (0..40).map(Step::forward).collect();
        let given = super::super::cost(&Stiffening, &items, 0, &begin).expect("an order");
        let (_, cost, _) = improved::<_, 4>(&Stiffening, &items, &begin, 2000);
        assert!(cost.peak < given.peak / 2);
    }
}
