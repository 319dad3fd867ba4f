//! A better order for the welds that are left, found in steps small enough to fit between two samples.
//!
//! Each step simulates one weld or looks at one that could be next. For `left` welds of a plan of `planned` there are at
//! most `(left + 1) + left · (planned + 1) + 1 + 128 · (left + 1)` steps. It begins with the order as it was, compares it with one built anew (always the weld that leaves the frame
//! nearest to balance, without a flip as long as there is one), then tries small changes of the better one. The best
//! order so far can be read at any time.

#[cfg(test)]
mod tests;

use super::random::Pcg32;
use super::{Cost, Item, MAX_WELDS, Objective, Step, Tally, WeldSet, words};
use heapless::Vec;

/// Most welds that are left.
pub const MAX_LEFT: usize = 64;
/// Changes that are tried.
const TRIALS: u16 = 128;

/// How far the work has come, and the rules for what is left.
#[derive(Clone, Copy, Debug)]
pub struct Situation<'a, O, const WORDS: usize = { words(MAX_WELDS) }> {
    /// Scores orders.
    pub objective: &'a O,
    /// All welds of the plan.
    pub items: &'a [Item<WORDS>],
    /// Those that need not be welded any more.
    pub done: &'a WeldSet<WORDS>,
    /// Whether the frame has been flipped since the beginning of the plan.
    pub back_up: bool,
    /// Flips that are still allowed.
    pub flips_left: u16,
    /// The last weld made.
    pub previous: Option<u16>,
}

/// An order being simulated.
#[derive(Clone, Debug)]
struct Simulation<S, const WORDS: usize> {
    state: S,
    tally: Tally<WORDS>,
}

impl<S: Clone, const WORDS: usize> Simulation<S, WORDS> {
    fn new<O: Objective<State = S>>(situation: &Situation<'_, O, WORDS>, state: &S) -> Self {
        Self {
            state: state.clone(),
            tally: Tally::new(*situation.done, situation.back_up, situation.previous),
        }
    }

    /// Applies a weld; false when the rules forbid it here.
    fn apply<O: Objective<State = S>>(
        &mut self,
        situation: &Situation<'_, O, WORDS>,
        weld: u8,
    ) -> bool {
        let weld = u16::from(weld);
        if !self.tally.add(situation.items, situation.flips_left, weld) {
            return false;
        }
        let objective = situation.objective;
        objective.apply(&mut self.state, Step::forward(weld));
        self.tally.note_score(objective.score(&self.state));
        true
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    /// Simulates the order as it was.
    Given,
    /// Builds a new one: the weld to look at next, and the best candidate so far: flip, score, distance, weld.
    Building {
        look: u8,
        best: Option<(bool, u64, u64, u8)>,
    },
    /// Simulates a changed one; this many changes are left.
    Changing { trials: u16 },
    /// Nothing more to do.
    Done,
}

/// A search for another order that can pause after every step. `S` is the state of the objective.
#[derive(Clone, Debug)]
pub struct Replan<S, const WORDS: usize = { words(MAX_WELDS) }> {
    /// The best so far; the first of equals, so that nobody is asked to change for nothing.
    order: Vec<u8, MAX_LEFT>,
    /// The last of equals: changes start here, so that the search can leave a plateau.
    current: Vec<u8, MAX_LEFT>,
    trial: Vec<u8, MAX_LEFT>,
    best: Cost,
    simulation: Option<Simulation<S, WORDS>>,
    phase: Phase,
    random: Pcg32,
}

impl<S: Clone, const WORDS: usize> Default for Replan<S, WORDS> {
    fn default() -> Self {
        Self::idle()
    }
}

impl<S: Clone, const WORDS: usize> Replan<S, WORDS> {
    /// Nothing to do.
    #[must_use]
    pub const fn idle() -> Self {
        Self {
            order: Vec::new(),
            current: Vec::new(),
            trial: Vec::new(),
            best: Cost::WORST,
            simulation: None,
            phase: Phase::Done,
            random: Pcg32::new(1),
        }
    }

    /// Begins with the order as it was: the welds that are left.
    pub fn begin(&mut self, left: &[u8]) {
        self.order.clear();
        // No plan is longer; what does not fit would be left out.
        let _ = self
            .order
            .extend_from_slice(left.get(..MAX_LEFT).unwrap_or(left));
        self.current.clone_from(&self.order);
        self.trial.clone_from(&self.order);
        self.best = Cost::WORST;
        self.simulation = None;
        self.phase = match left.len() {
            0 | 1 => Phase::Done,
            _ => Phase::Given,
        };
    }

    /// Whether there is nothing more to do.
    #[must_use]
    pub fn is_done(&self) -> bool {
        self.phase == Phase::Done
    }

    /// The best order so far.
    #[must_use]
    pub fn order(&self) -> &[u8] {
        &self.order
    }

    /// What it costs; [`Cost::WORST`] before it has been simulated, and when the rules forbid it.
    #[must_use]
    pub const fn cost(&self) -> Cost {
        self.best
    }

    /// One small step; false when there is nothing more to do. `state` is the frame now. When it or the situation
    /// changes, [`Replan::begin`] again.
    pub fn step<O: Objective<State = S>>(
        &mut self,
        situation: &Situation<'_, O, WORDS>,
        state: &S,
    ) -> bool {
        let simulation = match self.simulation.take() {
            Some(simulation) => simulation,
            None => Simulation::new(situation, state),
        };
        match self.phase {
            Phase::Done => return false,
            Phase::Building { look, best } => self.build(situation, simulation, look, best),
            Phase::Given | Phase::Changing { .. } => self.simulate(situation, simulation),
        }
        self.phase != Phase::Done
    }

    /// Applies the next weld of the trial.
    fn simulate<O: Objective<State = S>>(
        &mut self,
        situation: &Situation<'_, O, WORDS>,
        mut simulation: Simulation<S, WORDS>,
    ) {
        let allowed = match self.trial.get(simulation.tally.steps()) {
            Some(&weld) => simulation.apply(situation, weld),
            None => false,
        };
        let tally = &simulation.tally;
        let hopeful = allowed && !tally.cost().exceeds(&self.best);
        if hopeful && tally.steps() < self.trial.len() {
            self.simulation = Some(simulation);
            return;
        }
        if hopeful {
            let cost = *tally.cost();
            self.take(cost);
        }
        self.next_trial();
    }

    /// Goes on from the trial if it is no worse; advises it if it is better.
    fn take(&mut self, cost: Cost) {
        if cost > self.best {
            return;
        }
        self.current.clone_from(&self.trial);
        if cost < self.best {
            self.best = cost;
            self.order.clone_from(&self.trial);
        }
    }

    fn next_trial(&mut self) {
        self.phase = match self.phase {
            Phase::Given => {
                self.trial.clear();
                Phase::Building {
                    look: 0,
                    best: None,
                }
            }
            Phase::Changing { trials: 0 } | Phase::Done => Phase::Done,
            Phase::Changing { trials } => Phase::Changing { trials: trials - 1 },
            Phase::Building { .. } => Phase::Changing { trials: TRIALS },
        };
        if matches!(self.phase, Phase::Changing { .. }) {
            self.trial.clone_from(&self.current);
            change(&mut self.trial, &mut self.random);
        }
    }

    /// Looks at one weld that could be next, or adds the best of those looked at.
    fn build<O: Objective<State = S>>(
        &mut self,
        situation: &Situation<'_, O, WORDS>,
        simulation: Simulation<S, WORDS>,
        look: u8,
        best: Option<(bool, u64, u64, u8)>,
    ) {
        let Some(item) = situation.items.get(usize::from(look)) else {
            return self.add_best(situation, simulation, best);
        };
        let (weld, tally) = (u16::from(look), &simulation.tally);
        let mut found = best;
        if tally.allows(weld, item) {
            let mut state = simulation.state.clone();
            situation.objective.apply(&mut state, Step::forward(weld));
            let rank = (
                item.side.needs_flip(tally.is_back_up()),
                situation.objective.score(&state),
                tally.walk_to_mm(situation.items, item),
                look,
            );
            found = Some(best.map_or(rank, |best| best.min(rank)));
        }
        self.simulation = Some(simulation);
        self.phase = Phase::Building {
            look: look.saturating_add(1),
            best: found,
        };
    }

    fn add_best<O: Objective<State = S>>(
        &mut self,
        situation: &Situation<'_, O, WORDS>,
        mut simulation: Simulation<S, WORDS>,
        best: Option<(bool, u64, u64, u8)>,
    ) {
        let added = best.is_some_and(|(.., weld)| {
            simulation.apply(situation, weld) && self.trial.push(weld).is_ok()
        });
        if added && self.trial.len() < self.order.len() {
            self.simulation = Some(simulation);
            self.phase = Phase::Building {
                look: 0,
                best: None,
            };
            return;
        }
        if added && *simulation.tally.cost() < self.best {
            self.take(*simulation.tally.cost());
        }
        self.next_trial();
    }
}

/// Changes an order a little: moves a weld, swaps two, or reverses a run of welds.
fn change(order: &mut [u8], random: &mut Pcg32) {
    let n = order.len();
    let (a, b) = (random.below(n), random.below(n));
    let Some(run) = order.get_mut(a.min(b)..=a.max(b)) else {
        return;
    };
    match random.below(4) {
        0 => run.rotate_left(1),
        1 => run.rotate_right(1),
        2 => {
            let last = run.len().saturating_sub(1);
            run.swap(0, last);
        }
        _ => run.reverse(),
    }
}
