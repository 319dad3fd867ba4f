//! The order of welding on the logger: what an order must keep to, what it costs, and a new order for the welds that
//! are left when the work has gone differently.
//!
//! ```text
//! items (side, place, what must come before) --\
//! objective (what each weld does to the frame) ---> Replan, step by step -> order of the welds left
//! ```
//!
//! Nothing here knows steel: an [`Objective`] says what an order does to the frame. The logger uses the
//! [shrinkage balance](balance); the host predicts movements and brings its own, with a search of its own that
//! counts steps by the same [`Tally`]. Try another rule of thumb by writing an [`Objective`]; what makes one order
//! better than another is [`Cost`], compared from its first field to its last.
//!
//! Scores are whole numbers, so that equal is equal in whatever order it was added up: a mirrored frame gets the
//! mirrored order, and an order gives way only to a better one. Nothing is allocated.
//!
//! An *item* is a weld, or a part of a long one. A *flip* turns the frame over on the table.
//!
//! ```
//! use coldsquare_core::sequence::balance::ShrinkageBalance;
//! use coldsquare_core::sequence::replan::{Replan, Situation};
//! use coldsquare_core::sequence::{Item, Objective, WeldSet};
//!
//! // Four welds: two pull to the left, two to the right.
//! let moments = [[-10, 0], [-10, 0], [10, 0], [10, 0]];
//! let objective = ShrinkageBalance::new(&moments);
//! let none_done: WeldSet = WeldSet::EMPTY;
//! let situation = Situation {
//!     objective: &objective,
//!     items: &[Item::default(); 4],
//!     done: &none_done,
//!     back_up: false,
//!     flips_left: 0,
//!     previous: None,
//! };
//! let mut replan = Replan::idle();
//! replan.begin(&[0, 1, 2, 3]);
//! while replan.step(&situation, &objective.start()) {}
//! // Left and right in turn: never more than one weld out of balance.
//! assert_eq!(replan.cost().peak, 100);
//! assert_eq!(replan.cost().last, 0);
//! ```

pub mod balance;
mod item;
pub mod random;
pub mod replan;
pub(crate) mod set;
mod tally;

pub use item::{Item, REACH_MM, Side};
pub use set::{WeldSet, words};
pub use tally::{Cost, Tally};

/// Most items of one order, on the host.
pub const MAX_WELDS: usize = 1024;

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

/// The objective function of a search: it scores an order step by step.
///
/// `State` is all that later steps depend on. A search clones it at each branch, so keep it small.
pub trait Objective {
    /// The frame after some steps.
    type State: Clone;

    /// Whether the direction of an item makes a difference, so that both are worth trying.
    fn is_directed(&self, weld: u16) -> bool {
        let _ = weld;
        false
    }

    /// The frame before the first step.
    fn start(&self) -> Self::State;

    /// Applies one step.
    fn apply(&self, state: &mut Self::State, step: Step);

    /// How far out the frame is: 0 is perfect, more is worse. Scores are only compared, never added up.
    fn score(&self, state: &Self::State) -> u64;
}
