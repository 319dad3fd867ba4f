//! The panel: buttons, and a light or a small display.

mod buttons;
mod shown;

pub use buttons::TwoButtons;

use coldsquare_core::link::Advice;
use coldsquare_core::trouble::Trouble;

/// What the welder asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Input {
    /// Go to the next weld of the plan.
    Next,
    /// Leave this weld for later and go on to the next.
    Skip,
    /// Weld this weld again.
    Redo,
    /// Mark this moment in the log.
    Mark,
    /// No current flows: tare the clamp.
    Tare,
}

/// What a panel shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shown {
    /// The arc burns.
    pub arc_on: bool,
    /// The current weld; `None` before the first press and after the last planned weld.
    pub weld: Option<u16>,
    /// The weld that the advice is about.
    pub next: Option<u16>,
    /// What to do.
    pub advice: Advice,
    /// Welds of the plan still to do.
    pub left: u8,
    /// Beads so far.
    pub beads: u32,
    /// There was an alarm that someone should look at; it is in the log.
    pub attention: bool,
    /// A computer asks for something that somebody here must agree to.
    pub asked: bool,
    /// What is wrong with the store.
    pub trouble: Option<Trouble>,
}

/// Buttons and a light or a small display.
pub trait Panel {
    /// A press since the last call, if any; never blocks.
    fn input(&mut self) -> Option<Input>;
    /// Whether consent can be given with it: then clearing and calibrating over the link need it.
    fn can_confirm(&self) -> bool {
        false
    }
    /// Shows this from now on; called when something in it changes.
    fn show(&mut self, shown: Shown);
}
