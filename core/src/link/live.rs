//! What a logger measures just now.

use crate::record::EventKind;
use crate::units::{Amperes, Joules, Seconds, Volts, Watts};

/// Measured just now, and what to do next.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Live {
    /// Samples since the log began.
    pub position: u64,
    /// The arc burns.
    pub lit: bool,
    /// RMS voltage over the last window (100 ms while the arc burns).
    pub voltage: Volts,
    /// RMS current over it.
    pub current: Amperes,
    /// True power over it, the mean of volts times amps.
    pub power: Watts,
    /// Beads so far, the one being made included.
    pub beads: u32,
    /// Arc energy of that bead so far, before thermal efficiency.
    pub bead_energy: Joules,
    /// Its arc time so far.
    pub bead_arc_time: Seconds,
    /// Arc energy of the present weld so far, all its beads together.
    pub weld_energy: Joules,
    /// Arc energy that its procedure expects of it; 0 without a plan.
    pub planned_energy: Joules,
    /// Number of the weld that the next bead is taken for.
    pub weld: Option<u16>,
    /// Number of the weld that the advice is about: the present one until its arc has burned, then the one after it.
    pub next: Option<u16>,
    /// What to do.
    pub advice: Advice,
    /// Welds still to do.
    pub left: u8,
    /// What was noticed last and somebody should look at.
    pub noticed: Option<EventKind>,
    /// Records lost since the last one that was stored.
    pub lost: u32,
}

/// What to do next.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Advice {
    /// There is no plan.
    #[default]
    NoPlan,
    /// Weld the next one.
    Go,
    /// Weld the next one once its joint has cooled this long, s.
    Wait(u16),
    /// Turn the frame over, then weld the next one.
    TurnOver,
    /// It was not done as planned: a better order is being looked for. The next one may be welded meanwhile.
    Replanning,
    /// Everything of the plan is done or was skipped.
    Finished,
}
