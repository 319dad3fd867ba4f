//! In which order to weld: a search of fixed capacity, generic over what an order is judged by.
//!
//! ```text
//! items (side, place, what must come before) --\
//! assessor (what each weld does)  ---------------> exact (up to about 20) or search (any number) -> order of steps
//!                                                                   or improve (where laying is costly)
//! ```
//!
//! The search knows nothing of steel. What welding in some order does to the frame is said by an [`Assess`]: the
//! logger balances heat moments ([`balance`]), a host may lay each weld on the structure as it then stands. An order
//! is better when, in this sense, the frame is never far out on the way; then when it ends nearer; then when it is
//! turned over less often; then when more is welded without moving on; then when there is less walking ([`Cost`]).
//!
//! Magnitudes are whole numbers: a tie is a tie whatever was added first, so a mirrored frame gets the mirrored order
//! and equal welds are taken in the order drawn. Nothing is allocated; working space comes from the caller.
//!
//! Words: an *item* is a weld or a piece of a long one. A *reach* is what is welded from one place without putting
//! the torch down. A *turn* is turning the frame over on the table.

pub mod balance;
pub mod exact;
pub mod improve;
mod random;
pub mod replan;
pub mod rules;
pub mod search;
pub mod set;

pub use rules::{Item, SequenceError, Side};
pub use set::WeldSet;

/// Most items of one search.
pub const MOST_WELDS: usize = 256;

/// One item of an order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Step {
    /// Index of the item.
    pub weld: u16,
    /// Welded from its end to its start.
    pub reversed: bool,
}

impl Step {
    /// An item welded from its start to its end.
    #[must_use]
    pub const fn forward(weld: u16) -> Self {
        Self {
            weld,
            reversed: false,
        }
    }
}

/// Judges an order while it is laid, step by step.
///
/// `State` is all that later steps depend on. It is cloned where a search branches, so small is fast.
pub trait Assess {
    /// The frame as it stands after some steps.
    type State: Clone;

    /// Whether the direction of an item makes a difference, so that it is worth trying both.
    fn is_directed(&self, weld: u16) -> bool {
        let _ = weld;
        false
    }

    /// Before the first step.
    fn start(&self) -> Self::State;

    /// Lays one step.
    fn lay(&self, state: &mut Self::State, step: Step);

    /// How far out the frame is: 0 is perfect, more is worse. Only comparisons are made, never sums.
    fn magnitude(&self, state: &Self::State) -> u64;
}

/// Judges nothing: for what an order costs in turns and walking alone.
pub(crate) struct Unjudged;

impl Assess for Unjudged {
    type State = ();

    fn start(&self) {}

    fn lay(&self, (): &mut (), _: Step) {}

    fn magnitude(&self, (): &()) -> u64 {
        0
    }
}

/// A promise: the magnitude depends on which items were laid, not on their order or direction.
///
/// It makes an exact answer possible ([`exact`]).
pub trait DependsOnSetAlone: Assess {}

/// What an order costs. Compared from the first field to the last.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cost {
    /// Turns beyond those allowed.
    pub excess_turns: u16,
    /// The greatest magnitude after any step.
    pub peak: u64,
    /// The magnitude after the last step.
    pub last: u64,
    /// Turns of the frame.
    pub turns: u16,
    /// Times the welder has to move on: the next item is on another side or out of reach
    /// ([`rules::REACH_MM`]).
    pub moves: u16,
    /// Way from the middle of one item to the middle of the next, summed, mm.
    pub walk_mm: u64,
}

impl Cost {
    /// Worse than any.
    pub const WORST: Self = Self {
        excess_turns: u16::MAX,
        peak: u64::MAX,
        last: u64::MAX,
        turns: u16::MAX,
        moves: u16::MAX,
        walk_mm: u64::MAX,
    };
}

/// Adds up what an order costs, step by step.
struct Tally<'a, A: Assess> {
    assess: &'a A,
    items: &'a [Item],
    most_turns: u16,
    state: A::State,
    done: WeldSet,
    back_up: bool,
    previous: Option<&'a Item>,
    cost: Cost,
    /// After how many steps the peak was met first.
    peak_after: usize,
    steps: usize,
}

impl<'a, A: Assess> Tally<'a, A> {
    fn new(assess: &'a A, items: &'a [Item], most_turns: u16) -> Self {
        Self {
            state: assess.start(),
            assess,
            items,
            most_turns,
            done: WeldSet::EMPTY,
            back_up: false,
            previous: None,
            cost: Cost::default(),
            peak_after: 0,
            steps: 0,
        }
    }

    /// Adds a step; false when the rules forbid it here.
    fn add(&mut self, step: Step) -> bool {
        let Some(item) = self.items.get(usize::from(step.weld)) else {
            return false;
        };
        if self.done.contains(step.weld) || !item.before.is_subset_of(&self.done) {
            return false;
        }
        if let Some(previous) = self.previous {
            if previous.reach != item.reach && previous.is_left_open(self.items, &self.done) {
                return false;
            }
            let way_mm = previous.distance_mm(item);
            self.cost.walk_mm += way_mm;
            self.cost.moves += u16::from(!previous.is_in_reach_of(item, way_mm));
        }
        if item.side.needs_turn(self.back_up) {
            self.back_up = !self.back_up;
            self.cost.turns = self.cost.turns.saturating_add(1);
            self.cost.excess_turns = self.cost.turns.saturating_sub(self.most_turns);
        }
        self.assess.lay(&mut self.state, step);
        self.done.insert(step.weld);
        self.previous = Some(item);
        self.steps += 1;
        self.cost.last = self.assess.magnitude(&self.state);
        if self.cost.last > self.cost.peak {
            self.cost.peak = self.cost.last;
            self.peak_after = self.steps;
        }
        true
    }

    /// Whether it can no longer cost at most `bound`, whatever follows.
    fn is_past(&self, bound: &Cost) -> bool {
        (self.cost.excess_turns, self.cost.peak) > (bound.excess_turns, bound.peak)
    }
}

/// What a complete order costs, and after how many steps its peak is met; `None` when the rules forbid it or it is
/// worse than `bound` beyond doubt.
pub(crate) fn cost_within<A: Assess>(
    assess: &A,
    items: &[Item],
    most_turns: u16,
    order: &[Step],
    bound: &Cost,
) -> Option<(Cost, usize)> {
    if order.len() != items.len() {
        return None;
    }
    let mut tally = Tally::new(assess, items, most_turns);
    for &step in order {
        if !tally.add(step) || tally.is_past(bound) {
            return None;
        }
    }
    Some((tally.cost, tally.peak_after))
}

/// What a complete order costs; `None` when it is not complete or the rules forbid it.
pub fn cost<A: Assess>(
    assess: &A,
    items: &[Item],
    most_turns: u16,
    order: &[Step],
) -> Option<Cost> {
    cost_within(assess, items, most_turns, order, &Cost::WORST).map(|(cost, _)| cost)
}
