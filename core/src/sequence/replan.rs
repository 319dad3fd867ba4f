//! Another order for what is left, found in steps small enough to fit between two samples.
//!
//! Where [`super::search`] takes all the time it gets, this takes a bounded number of steps ([`Replan::most_steps`]),
//! each of them the laying of one weld or a look at one that could be next. It begins with the order that stood so far,
//! compares it with one built anew (always the weld that leaves the frame nearest to balance, without a turn as long as
//! there is one), and then tries small changes of the better one. The best so far stands at any time.
//!
//! Reaches are not looked at: every weld is taken to stand alone.

use super::random::Pcg;
use super::{Assess, Cost, Item, Step, WeldSet};
use heapless::Vec;

/// Most welds that are left.
pub const MOST_LEFT: usize = 64;
/// Changes that are tried.
const TRIALS: u16 = 128;

/// How the frame stands, and what the rules are.
#[derive(Clone, Copy, Debug)]
pub struct Standing<'a, A> {
    /// Judges orders.
    pub assess: &'a A,
    /// All welds of the plan.
    pub items: &'a [Item],
    /// Those that need not be done any more.
    pub done: &'a WeldSet,
    /// The frame lies the other way round than at the beginning of the plan.
    pub back_up: bool,
    /// Turns that are still allowed.
    pub turns_left: u16,
    /// The weld made last.
    pub previous: Option<u16>,
}

/// An order being walked through.
#[derive(Clone, Debug)]
struct Walk<S> {
    state: S,
    done: WeldSet,
    back_up: bool,
    previous: Option<u16>,
    cost: Cost,
    /// Welds laid.
    laid: usize,
}

impl<S: Clone> Walk<S> {
    fn new<A: Assess<State = S>>(standing: &Standing<'_, A>, state: &S) -> Self {
        Self {
            state: state.clone(),
            done: *standing.done,
            back_up: standing.back_up,
            previous: standing.previous,
            cost: Cost::default(),
            laid: 0,
        }
    }

    /// Lays a weld; false when the rules forbid it here.
    fn lay<A: Assess<State = S>>(&mut self, standing: &Standing<'_, A>, weld: u8) -> bool {
        let Some(item) = standing.items.get(usize::from(weld)) else {
            return false;
        };
        let weld = u16::from(weld);
        if self.done.contains(weld) || !item.before.is_subset_of(&self.done) {
            return false;
        }
        let before = self
            .previous
            .and_then(|k| standing.items.get(usize::from(k)));
        if let Some(before) = before {
            let way_mm = before.distance_mm(item);
            self.cost.walk_mm = self.cost.walk_mm.saturating_add(way_mm);
            let moved_on = u16::from(!before.is_in_reach_of(item, way_mm));
            self.cost.moves = self.cost.moves.saturating_add(moved_on);
        }
        if item.side.needs_turn(self.back_up) {
            self.back_up = !self.back_up;
            self.cost.turns = self.cost.turns.saturating_add(1);
            self.cost.excess_turns = self.cost.turns.saturating_sub(standing.turns_left);
        }
        standing.assess.lay(&mut self.state, Step::forward(weld));
        self.done.insert(weld);
        self.previous = Some(weld);
        self.laid += 1;
        self.cost.last = standing.assess.magnitude(&self.state);
        self.cost.peak = self.cost.peak.max(self.cost.last);
        true
    }
}

/// What is being done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    /// The order that stood is walked through.
    Standing,
    /// A new one is built; the weld that is looked at next, and the best candidate: turn, magnitude, way, weld.
    Building {
        look: u8,
        best: Option<(bool, u64, u64, u8)>,
    },
    /// A changed one is walked through; so many changes are left.
    Changing { trials: u16 },
    /// There is nothing more to do.
    Ready,
}

/// A search for another order, resumable after every step. `S` is the state of the assessor.
#[derive(Clone, Debug)]
pub struct Replan<S> {
    order: Vec<u8, MOST_LEFT>,
    trial: Vec<u8, MOST_LEFT>,
    best: Cost,
    walk: Option<Walk<S>>,
    phase: Phase,
    random: Pcg,
}

impl<S: Clone> Default for Replan<S> {
    fn default() -> Self {
        Self::ready()
    }
}

impl<S: Clone> Replan<S> {
    /// Nothing to do.
    #[must_use]
    pub const fn ready() -> Self {
        Self {
            order: Vec::new(),
            trial: Vec::new(),
            best: Cost::WORST,
            walk: None,
            phase: Phase::Ready,
            random: Pcg::new(1),
        }
    }

    /// Begins with the order that stood so far: the welds that are left.
    pub fn begin(&mut self, left: &[u8]) {
        self.order.clear();
        // What does not fit is not looked at; a plan is never longer.
        let _ = self
            .order
            .extend_from_slice(left.get(..MOST_LEFT).unwrap_or(left));
        self.trial.clone_from(&self.order);
        self.best = Cost::WORST;
        self.walk = None;
        self.phase = match left.len() {
            0 | 1 => Phase::Ready,
            _ => Phase::Standing,
        };
    }

    /// Whether there is nothing more to do.
    #[must_use]
    pub fn is_ready(&self) -> bool {
        self.phase == Phase::Ready
    }

    /// The best order so far.
    #[must_use]
    pub fn order(&self) -> &[u8] {
        &self.order
    }

    /// What it costs; [`Cost::WORST`] before it was walked through, and when the rules forbid it.
    #[must_use]
    pub const fn cost(&self) -> Cost {
        self.best
    }

    /// The most steps that a search for this many welds takes, out of a plan of so many.
    #[must_use]
    pub const fn most_steps(left: usize, planned: usize) -> usize {
        (left + 1) + left * (planned + 1) + 1 + TRIALS as usize * (left + 1)
    }

    /// One small step; false when there is nothing more to do. `state` is the frame as it stands; neither it nor the
    /// standing may change between two steps, or else [`Replan::begin`] again.
    pub fn step<A: Assess<State = S>>(&mut self, standing: &Standing<'_, A>, state: &S) -> bool {
        let walk = match self.walk.take() {
            Some(walk) => walk,
            None => Walk::new(standing, state),
        };
        match self.phase {
            Phase::Ready => return false,
            Phase::Building { look, best } => self.build(standing, walk, look, best),
            Phase::Standing | Phase::Changing { .. } => self.go_on(standing, walk),
        }
        self.phase != Phase::Ready
    }

    /// Lays the next weld of the trial.
    fn go_on<A: Assess<State = S>>(&mut self, standing: &Standing<'_, A>, mut walk: Walk<S>) {
        let allowed = match self.trial.get(walk.laid) {
            Some(&weld) => walk.lay(standing, weld),
            None => false,
        };
        let hopeless =
            (walk.cost.excess_turns, walk.cost.peak) > (self.best.excess_turns, self.best.peak);
        if allowed && !hopeless && walk.laid < self.trial.len() {
            self.walk = Some(walk);
            return;
        }
        if allowed && !hopeless && walk.cost <= self.best {
            self.best = walk.cost;
            self.order.clone_from(&self.trial);
        }
        self.next_trial();
    }

    fn next_trial(&mut self) {
        self.phase = match self.phase {
            Phase::Standing => {
                self.trial.clear();
                Phase::Building {
                    look: 0,
                    best: None,
                }
            }
            Phase::Changing { trials: 0 } | Phase::Ready => Phase::Ready,
            Phase::Changing { trials } => Phase::Changing { trials: trials - 1 },
            Phase::Building { .. } => Phase::Changing { trials: TRIALS },
        };
        if matches!(self.phase, Phase::Changing { .. }) {
            self.trial.clone_from(&self.order);
            change(&mut self.trial, &mut self.random);
        }
    }

    /// Looks at one weld that could be next, or lays the best of those looked at.
    fn build<A: Assess<State = S>>(
        &mut self,
        standing: &Standing<'_, A>,
        mut walk: Walk<S>,
        look: u8,
        best: Option<(bool, u64, u64, u8)>,
    ) {
        let Some(item) = standing.items.get(usize::from(look)) else {
            return self.lay_best(standing, walk, best);
        };
        let weld = u16::from(look);
        let mut found = best;
        if !walk.done.contains(weld) && item.before.is_subset_of(&walk.done) {
            let mut state = walk.state.clone();
            standing.assess.lay(&mut state, Step::forward(weld));
            let before = walk
                .previous
                .and_then(|k| standing.items.get(usize::from(k)));
            let rank = (
                item.side.needs_turn(walk.back_up),
                standing.assess.magnitude(&state),
                before.map_or(0, |before| before.distance_mm(item)),
                look,
            );
            found = Some(best.map_or(rank, |best| best.min(rank)));
        }
        walk.laid = self.trial.len();
        self.walk = Some(walk);
        self.phase = Phase::Building {
            look: look.saturating_add(1),
            best: found,
        };
    }

    fn lay_best<A: Assess<State = S>>(
        &mut self,
        standing: &Standing<'_, A>,
        mut walk: Walk<S>,
        best: Option<(bool, u64, u64, u8)>,
    ) {
        let laid = best
            .is_some_and(|(.., weld)| walk.lay(standing, weld) && self.trial.push(weld).is_ok());
        if laid && self.trial.len() < self.order.len() {
            self.walk = Some(walk);
            self.phase = Phase::Building {
                look: 0,
                best: None,
            };
            return;
        }
        if laid && walk.cost < self.best {
            self.best = walk.cost;
            self.order.clone_from(&self.trial);
        }
        self.next_trial();
    }
}

/// Changes an order a little: moves a weld, swaps two, or turns a stretch around.
fn change(order: &mut [u8], random: &mut Pcg) {
    let n = order.len();
    let (a, b) = (random.below(n), random.below(n));
    let Some(stretch) = order.get_mut(a.min(b)..=a.max(b)) else {
        return;
    };
    match random.below(4) {
        0 => stretch.rotate_left(1),
        1 => stretch.rotate_right(1),
        2 => {
            let last = stretch.len().saturating_sub(1);
            stretch.swap(0, last);
        }
        _ => stretch.reverse(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::balance::Balance;
    use super::super::{Side, cost, search::Search};
    use super::*;
    use std::vec::Vec as StdVec;

    struct Case {
        items: StdVec<Item>,
        moments: StdVec<[i32; 7]>,
    }

    /// Welds at the corners and middles of a ring, front and back, some after others.
    fn case(count: usize, seed: u64) -> Case {
        let mut random = Pcg::new(seed);
        let part = |random: &mut Pcg| random.below(2001) as i32 - 1000;
        let items = (0..count)
            .map(|k| Item {
                before: match k {
                    k if k % 5 == 4 => WeldSet::of(&[k as u16 - 1]),
                    _ => WeldSet::EMPTY,
                },
                side: [Side::Front, Side::Back, Side::Either][random.below(3)],
                at_mm: [part(&mut random), part(&mut random), 0],
                ..Item::default()
            })
            .collect();
        let moments = (0..count)
            .map(|_| core::array::from_fn(|_| part(&mut random) * 1000))
            .collect();
        Case { items, moments }
    }

    fn replanned(case: &Case, most_turns: u16) -> (StdVec<u8>, Cost, usize) {
        let balance = Balance::new(&case.moments);
        let standing = Standing {
            assess: &balance,
            items: &case.items,
            done: &WeldSet::EMPTY,
            back_up: false,
            turns_left: most_turns,
            previous: None,
        };
        let left: StdVec<u8> = (0..case.items.len() as u8).collect();
        let mut replan = Replan::ready();
        replan.begin(&left);
        let mut steps = 1;
        while replan.step(&standing, &balance.start()) {
            steps += 1;
        }
        (replan.order().to_vec(), replan.cost(), steps)
    }

    #[test]
    fn an_order_of_all_that_is_left_comes_out_within_the_steps_promised() {
        for (count, seed) in [(2, 1), (7, 2), (30, 3), (64, 4), (64, 5)] {
            let case = case(count, seed);
            let (order, found, steps) = replanned(&case, 3);
            assert!(
                steps <= Replan::<[i64; 7]>::most_steps(count, count),
                "{steps}"
            );
            let mut sorted = order.clone();
            sorted.sort_unstable();
            assert_eq!(sorted, (0..count as u8).collect::<StdVec<_>>());
            let steps: StdVec<Step> = order.iter().map(|k| Step::forward(u16::from(*k))).collect();
            let balance = Balance::new(&case.moments);
            assert_eq!(cost(&balance, &case.items, 3, &steps), Some(found));
        }
    }

    #[test]
    fn it_is_not_far_behind_the_search_of_the_computer() {
        let mut worst = 0.0_f64;
        for seed in 10..30 {
            let case = case(24, seed);
            let (_, found, _) = replanned(&case, 3);
            let balance = Balance::new(&case.moments);
            let mut space = [(); 3].map(|()| std::vec![Step::default(); 24]);
            let mut search = Search::new(
                &balance,
                &case.items,
                3,
                1,
                space.each_mut().map(|s| s.as_mut_slice()),
            )
            .unwrap();
            search.run(20_000, |_| true);
            let best = search.best().1;
            assert_eq!(found.excess_turns, 0);
            worst = worst.max((found.peak as f64 / best.peak as f64).sqrt());
        }
        assert!(worst < 1.8, "peak {worst} times the computer's");
    }

    #[test]
    fn what_must_come_first_comes_first_and_a_forbidden_order_is_mended() {
        let mut case = case(6, 9);
        case.items[0].before = WeldSet::of(&[5]);
        let (order, found, _) = replanned(&case, 9);
        let place = |weld: u8| order.iter().position(|k| *k == weld);
        assert!(place(5) < place(0) && found < Cost::WORST, "{order:?}");
    }
}
