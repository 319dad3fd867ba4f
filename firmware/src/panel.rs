//! What the welder presses and sees.

mod buttons;
mod show;

pub use buttons::TwoButtons;

use coldsquare_core::link::Advice;

/// A wish of the welder.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Input {
    /// On to the next weld of the plan.
    Next,
    /// Leave this weld for later and go on to the next.
    Skip,
    /// Do this weld again.
    Redo,
    /// Remember this moment.
    Mark,
    /// No current flows: take what the clamp says now as its zero.
    Tare,
}

/// What a panel shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shown {
    /// The arc burns.
    pub lit: bool,
    /// The weld that the next bead is taken for; `None` before the first press and after the last planned weld.
    pub weld: Option<u16>,
    /// The weld that the advice is about.
    pub next: Option<u16>,
    /// What to do.
    pub advice: Advice,
    /// Welds of the plan still to do.
    pub left: u8,
    /// Beads so far.
    pub beads: u32,
    /// Something was noticed that the log holds and somebody should look at.
    pub attention: bool,
}

/// Buttons and a light or a small display.
pub trait Panel {
    /// A press since the last call, if there was one; never blocks.
    fn input(&mut self) -> Option<Input>;
    /// Shows this from now on; called when something in it has changed.
    fn show(&mut self, shown: Shown);
}
