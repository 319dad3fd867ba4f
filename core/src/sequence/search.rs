//! A good order for many items, or where the magnitude depends on the order itself.
//!
//! Any-time (stop it whenever you like, the best so far stands), seeded and repeatable. Orders are built up one item
//! after the other, always towards balance, then climbed by late acceptance: a change is taken when it is no worse
//! than what stood some steps ago (E. K. Burke and Y. Bykov, *The late acceptance Hill-Climbing heuristic*, European
//! Journal of Operational Research 258 (2017) 70-78). It only ever compares costs, so it needs no temperature and the
//! scale of the heat cannot change what it finds. When a climb stalls, another order is built and climbed.
//!
//! Where laying a weld is costly, [`super::improve`] takes the place of this.

use super::random::Pcg;
use super::rules::{self, Item, SequenceError, Side};
use super::{Assess, Cost, Step, WeldSet, cost_within};

/// Length of the memory of late acceptance.
const MEMORY: usize = 24;
/// Trials between two reports.
const REPORT_EVERY: u64 = 512;

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Orders tried so far.
    pub trials: u64,
    /// Orders built anew so far.
    pub climbs: u64,
    /// The best order so far costs this.
    pub best: Cost,
}

/// A search that can be run on and on.
pub struct Search<'a, A: Assess> {
    assess: &'a A,
    items: &'a [Item],
    most_turns: u16,
    random: Pcg,
    current: &'a mut [Step],
    trial: &'a mut [Step],
    best: &'a mut [Step],
    /// Cost of `current`, and after how many of its steps the peak is met.
    standing: (Cost, usize),
    progress: Progress,
    any_directed: bool,
}

impl<'a, A: Assess> Search<'a, A> {
    /// Builds a first order. `orders` is working space for three orders of all items.
    ///
    /// # Errors
    /// [`SequenceError`]: the rules allow no order, or not with so few turns, or there is too little working space.
    pub fn new(
        assess: &'a A,
        items: &'a [Item],
        most_turns: u16,
        seed: u64,
        orders: [&'a mut [Step]; 3],
    ) -> Result<Self, SequenceError> {
        let needed = rules::check(items)?;
        if needed > most_turns {
            return Err(SequenceError::TooFewTurns { needed });
        }
        let needed = items.len();
        let [current, trial, best] = orders.map(|o| {
            o.get_mut(..needed)
                .ok_or(SequenceError::ScratchTooSmall { needed })
        });
        let mut this = Self {
            assess,
            items,
            most_turns,
            random: Pcg::new(seed),
            current: current?,
            trial: trial?,
            best: best?,
            standing: (Cost::WORST, 0),
            progress: Progress {
                trials: 0,
                climbs: 0,
                best: Cost::WORST,
            },
            any_directed: (0..).zip(items).any(|(weld, _)| assess.is_directed(weld)),
        };
        this.build(None);
        Ok(this)
    }

    /// Also considers this order, and climbs from it next if it is better than the best so far. False when the rules
    /// forbid it.
    pub fn suggest(&mut self, order: &[Step]) -> bool {
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
        self.current.copy_from_slice(self.best);
        while self.progress.trials < until {
            if !self.climb(until, &mut keep_going) {
                return;
            }
            self.progress.climbs += 1;
            self.build(Some(until));
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

    /// Late acceptance from `current` until it stalls; false when told to stop.
    fn climb(&mut self, until: u64, keep_going: &mut impl FnMut(&Progress) -> bool) -> bool {
        self.trial.copy_from_slice(self.current);
        self.standing = self.cost_of_trial(&Cost::WORST).unwrap_or((Cost::WORST, 0));
        let mut memory = [self.standing.0; MEMORY];
        let items = self.items.len() as u64;
        let patience = 400 + 100 * items;
        let (mut stalled, mut best_here) = (0, self.standing.0);
        while self.progress.trials < until && stalled < patience {
            self.progress.trials += 1;
            stalled += 1;
            if self.progress.trials.is_multiple_of(REPORT_EVERY) && !keep_going(&self.progress) {
                return false;
            }
            let late = (self.progress.trials % MEMORY as u64) as usize;
            let bound = memory
                .get(late)
                .map_or(Cost::WORST, |late| (*late).max(self.standing.0));
            self.change_trial();
            if let Some(found) = self.cost_of_trial(&bound)
                && found.0 <= bound
            {
                self.current.copy_from_slice(self.trial);
                self.standing = found;
                self.keep_if_best();
                if found.0 < best_here {
                    (best_here, stalled) = (found.0, 0);
                }
            }
            if let Some(late) = memory.get_mut(late) {
                *late = self.standing.0;
            }
        }
        true
    }

    /// Makes the trial of the current order, changed a little.
    fn change_trial(&mut self) {
        self.trial.copy_from_slice(self.current);
        let peak_after = self.standing.1;
        let kinds = 3 + usize::from(self.any_directed);
        let turned = change(self.trial, kinds, peak_after, &mut self.random);
        if let Some(step) = turned.and_then(|place| self.trial.get_mut(place))
            && self.assess.is_directed(step.weld)
        {
            step.reversed = !step.reversed;
        }
    }

    fn cost_of_trial(&self, bound: &Cost) -> Option<(Cost, usize)> {
        cost_within(self.assess, self.items, self.most_turns, self.trial, bound)
    }

    fn keep_if_best(&mut self) {
        if self.standing.0 < self.progress.best {
            self.best.copy_from_slice(self.current);
            self.progress.best = self.standing.0;
        }
    }

    /// Builds `current` anew: always the item that leaves the frame nearest to balance, of those the rules allow on
    /// the side that is up. The first time all items are looked at, later two thirds of them by chance.
    ///
    /// Between turns each side gets its share of the welds: half as much before the first turn and after the last as
    /// in between, so that the frame leans as far to the front as to the back.
    fn build(&mut self, until: Option<u64>) {
        if until.is_some_and(|until| self.progress.trials >= until) {
            return;
        }
        let mut builder = Builder::new(self.assess, self.items, self.most_turns);
        let by_chance = until.is_some();
        for place in 0..self.items.len() {
            let random = by_chance.then_some(&mut self.random);
            let Some(step) = builder.next(random) else {
                return;
            };
            if let Some(slot) = self.current.get_mut(place) {
                *slot = step;
            }
        }
        self.progress.trials += 1;
        let found = cost_within(
            self.assess,
            self.items,
            self.most_turns,
            self.current,
            &Cost::WORST,
        );
        self.standing = found.unwrap_or((Cost::WORST, 0));
        self.keep_if_best();
    }
}

/// Builds one order, item after item.
struct Builder<'a, A: Assess> {
    assess: &'a A,
    items: &'a [Item],
    most_turns: u16,
    at: Standing<'a, A>,
}

/// A next step that could be taken.
struct Candidate<S> {
    /// Passed over by chance; turns when it should not or the other way round; magnitude; way to walk.
    rank: (bool, bool, u64, u64),
    step: Step,
    state: S,
}

/// What a builder stands on, and from where it looks one step ahead.
struct Standing<'a, A: Assess> {
    state: A::State,
    done: WeldSet,
    previous: Option<&'a Item>,
    back_up: bool,
    turns: u16,
    /// Welds of the side that is up since the last turn.
    since_turn: usize,
}

impl<'a, A: Assess> Builder<'a, A> {
    fn new(assess: &'a A, items: &'a [Item], most_turns: u16) -> Self {
        Self {
            assess,
            items,
            most_turns,
            at: Standing {
                state: assess.start(),
                done: WeldSet::EMPTY,
                previous: None,
                back_up: false,
                turns: 0,
                since_turn: 0,
            },
        }
    }

    /// Chooses and lays the next step. `None` when the rules allow none.
    fn next(&mut self, mut random: Option<&mut Pcg>) -> Option<Step> {
        let turn_now = self.at.turns < self.most_turns && self.at.since_turn >= self.share();
        let mut least: Option<Candidate<A::State>> = None;
        for (weld, item) in (0..).zip(self.items) {
            if !self.allows(weld, item) {
                continue;
            }
            let passed_over = random.as_mut().is_some_and(|random| random.below(3) == 0);
            let turns = item.side.needs_turn(self.at.back_up);
            for reversed in [false, true] {
                if reversed && !self.assess.is_directed(weld) {
                    break;
                }
                let step = Step { weld, reversed };
                let mut state = self.at.state.clone();
                self.assess.lay(&mut state, step);
                let way = self.at.previous.map_or(0, |p| p.distance_mm(item));
                let magnitude = self.assess.magnitude(&state);
                let rank = (passed_over, turns != turn_now, magnitude, way);
                if least.as_ref().is_none_or(|least| rank < least.rank) {
                    least = Some(Candidate { rank, step, state });
                }
            }
        }
        let least = least?;
        self.at.state = least.state;
        self.lay(least.step);
        Some(least.step)
    }

    fn allows(&self, weld: u16, item: &Item) -> bool {
        let t = &self.at;
        !t.done.contains(weld)
            && item.before.is_subset_of(&t.done)
            && t.previous
                .is_none_or(|p| p.reach == item.reach || !p.is_left_open(self.items, &t.done))
            && item.may_begin_reach(self.items, &t.done)
    }

    fn lay(&mut self, step: Step) {
        let t = &mut self.at;
        let Some(item) = self.items.get(usize::from(step.weld)) else {
            return;
        };
        if item.side.needs_turn(t.back_up) {
            t.back_up = !t.back_up;
            t.turns += 1;
            t.since_turn = 0;
        }
        t.since_turn += usize::from(item.side != Side::Either);
        t.done.insert(step.weld);
        t.previous = Some(item);
    }

    /// Welds of the side that is up that are due before the next turn.
    fn share(&self) -> usize {
        let side = if self.at.back_up {
            Side::Back
        } else {
            Side::Front
        };
        let welds = self.items.iter().filter(|item| item.side == side).count();
        let (turn, turns) = (self.at.turns, self.most_turns);
        let weight = |turn: u16| if turn == 0 || turn == turns { 1 } else { 2 };
        let of_this_side = (turn % 2..=turns).step_by(2).map(weight).sum::<usize>();
        (welds * weight(turn)).div_ceil(of_this_side.max(1))
    }
}

/// Changes an order a little: moves an item, swaps two, turns a stretch around, or welds one the other way.
///
/// Half of the time across the place where the peak is: nothing else can lower it. The fourth of its `kinds` asks for the item at the place it gives to be
/// welded the other way.
fn change(order: &mut [Step], kinds: usize, peak_after: usize, random: &mut Pcg) -> Option<usize> {
    let n = order.len();
    let across_peak = random.below(2) == 0 && peak_after > 0 && peak_after < n;
    let (a, b) = if across_peak {
        (
            random.below(peak_after),
            peak_after + random.below(n - peak_after),
        )
    } else {
        (random.below(n), random.below(n))
    };
    let (a, b) = (a.min(b), a.max(b));
    let stretch = order.get_mut(a..=b)?;
    match random.below(kinds) {
        0 if random.below(2) == 0 => stretch.rotate_left(1),
        0 => stretch.rotate_right(1),
        1 => {
            let last = stretch.len() - 1;
            stretch.swap(0, last);
        }
        2 => stretch.reverse(),
        _ if random.below(2) == 0 => return Some(a),
        _ => {
            stretch.rotate_left(1);
            return Some(b);
        }
    }
    None
}
