//! The strategy where simulating a weld is cheap: build orders item by item, always towards balance, and climb each.

use super::{Search, SequenceError, Strategy, change};
use coldsquare_core::sequence::random::Pcg32;
use coldsquare_core::sequence::{Cost, Item, Objective, Side, Step, Tally, WeldSet};

/// Builds orders anew and changes them anywhere.
#[derive(Clone, Copy, Debug, Default)]
pub struct Rebuild {
    /// The step of the current order after which its peak is first met.
    peak_after: usize,
}

impl<'a, O: Objective> Search<'a, O, Rebuild> {
    /// Builds a first order.
    ///
    /// # Errors
    /// [`SequenceError`]: the rules allow no order, or not with so few flips.
    pub fn building(
        objective: &'a O,
        items: &'a [Item],
        max_flips: u16,
        seed: u64,
    ) -> Result<Self, SequenceError> {
        let mut this = Self::new(objective, items, max_flips, seed, Rebuild::default())?;
        this.build(false);
        Ok(this)
    }

    /// Builds the current order anew: always the item that leaves the frame nearest to balance, of those the rules
    /// allow with the side that is up. The first time it looks at all items, later at a random two thirds of them.
    fn build(&mut self, at_random: bool) {
        let mut builder = Builder::new(self.objective, self.items, self.max_flips);
        for place in 0..self.items.len() {
            let random = at_random.then_some(&mut self.random);
            let Some(step) = builder.next(random) else {
                return;
            };
            self.current[place] = step;
        }
        self.progress.trials += 1;
        Rebuild::begin(self);
        self.keep_if_best();
    }
}

impl<O: Objective> Strategy<O> for Rebuild {
    const REPORT_EVERY: u64 = 512;

    fn patience(items: u64) -> u64 {
        400 + 100 * items
    }

    fn heat(_: u64) -> f64 {
        0.0
    }

    fn begin(search: &mut Search<'_, O, Self>) {
        let found = search.cost_within(&search.current, &Cost::WORST);
        (search.cost, search.strategy.peak_after) = found.unwrap_or((Cost::WORST, 0));
    }

    fn try_change(search: &mut Search<'_, O, Self>, bound: &Cost) -> bool {
        search.trial.copy_from_slice(&search.current);
        let kinds = 3 + usize::from(search.any_directed);
        let (peak_after, random) = (search.strategy.peak_after, &mut search.random);
        let reversed = change::anywhere(&mut search.trial, kinds, peak_after, random);
        if let Some(step) = reversed.and_then(|place| search.trial.get_mut(place))
            && search.objective.is_directed(step.weld)
        {
            step.reversed = !step.reversed;
        }
        match search.cost_within(&search.trial, bound) {
            Some((cost, peak_after)) if cost <= *bound => {
                search.strategy.peak_after = peak_after;
                search.accept_trial(cost);
                true
            }
            _ => false,
        }
    }

    fn restart(search: &mut Search<'_, O, Self>, until: u64) {
        if search.progress.trials < until {
            search.build(true);
        }
    }
}

/// Builds one order, item after item.
struct Builder<'a, O: Objective> {
    objective: &'a O,
    items: &'a [Item],
    max_flips: u16,
    state: O::State,
    tally: Tally,
    /// Welds of the side that is up since the last flip.
    since_flip: usize,
}

/// A possible next step.
struct Candidate<S> {
    /// Passed over by chance; flips too soon or too late; score; distance to walk.
    rank: (bool, bool, u64, u64),
    step: Step,
    side: Side,
    state: S,
}

impl<'a, O: Objective> Builder<'a, O> {
    fn new(objective: &'a O, items: &'a [Item], max_flips: u16) -> Self {
        Self {
            objective,
            items,
            max_flips,
            state: objective.start(),
            tally: Tally::new(WeldSet::EMPTY, false, None),
            since_flip: 0,
        }
    }

    /// Chooses and adds the next step. `None` when the rules allow none.
    fn next(&mut self, mut random: Option<&mut Pcg32>) -> Option<Step> {
        let flip_now = self.tally.cost().flips < self.max_flips && self.since_flip >= self.share();
        let mut best: Option<Candidate<O::State>> = None;
        for (weld, item) in (0..).zip(self.items) {
            if !self.tally.allows(weld, item) {
                continue;
            }
            let passed_over = random.as_mut().is_some_and(|random| random.below(3) == 0);
            let flips = item.side.needs_flip(self.tally.is_back_up());
            for reversed in [false, true] {
                if reversed && !self.objective.is_directed(weld) {
                    break;
                }
                let step = Step { weld, reversed };
                let mut state = self.state.clone();
                self.objective.apply(&mut state, step);
                let walk_mm = self.tally.walk_to_mm(self.items, item);
                let score = self.objective.score(&state);
                let rank = (passed_over, flips != flip_now, score, walk_mm);
                if best.as_ref().is_none_or(|best| rank < best.rank) {
                    let side = item.side;
                    best = Some(Candidate {
                        rank,
                        step,
                        side,
                        state,
                    });
                }
            }
        }
        let best = best?;
        self.state = best.state;
        let flips = self.tally.cost().flips;
        self.tally.add(self.items, self.max_flips, best.step.weld);
        if self.tally.cost().flips > flips {
            self.since_flip = 0;
        }
        self.since_flip += usize::from(best.side != Side::Either);
        Some(best.step)
    }

    /// Welds of the side that is up that are due before the next flip. Before the first flip and after the last a
    /// side gets half as many as in between, so that the frame leans as far to the front as to the back.
    fn share(&self) -> usize {
        let side = if self.tally.is_back_up() {
            Side::Back
        } else {
            Side::Front
        };
        let welds = self.items.iter().filter(|item| item.side == side).count();
        let (flip, flips) = (self.tally.cost().flips, self.max_flips);
        let weight = |flip: u16| if flip == 0 || flip == flips { 1 } else { 2 };
        let of_this_side = (flip % 2..=flips).step_by(2).map(weight).sum::<usize>();
        (welds * weight(flip)).div_ceil(of_this_side.max(1))
    }
}
