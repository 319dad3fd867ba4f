//! The logger's live readings.

use crate::record::EventKind;
use crate::units::{Amperes, Joules, Seconds, Volts, Watts};

/// Live readings, and what to do next.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Live {
    /// Samples since the log began.
    pub position: u64,
    /// The arc burns.
    pub arc_on: bool,
    /// RMS voltage over the last window (100 ms while the arc burns).
    pub voltage: Volts,
    /// RMS current over the last window.
    pub current: Amperes,
    /// True power over the last window: the mean of volts times amps.
    pub power: Watts,
    /// Beads so far, including the one being welded.
    pub beads: u32,
    /// Arc energy of that bead so far, before thermal efficiency.
    pub bead_energy: Joules,
    /// Its arc time so far.
    pub bead_arc_time: Seconds,
    /// Arc energy of the current weld so far, all its beads together.
    pub weld_energy: Joules,
    /// Arc energy that the plan expects for it; 0 without a plan.
    pub planned_energy: Joules,
    /// Number of the current weld, to which the next bead belongs.
    pub weld: Option<u16>,
    /// Number of the weld that the advice is about: the current one until its arc has burned, then the one after it.
    pub next: Option<u16>,
    /// What to do.
    pub advice: Advice,
    /// Welds still to do.
    pub left: u8,
    /// The last alarm that someone should look at.
    pub last_alarm: Option<EventKind>,
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
    /// Flip the frame, then weld the next one.
    Flip,
    /// The work did not go as planned, and a better order is being searched. The next one may be welded meanwhile.
    Replanning,
    /// All welds of the plan are done or skipped.
    Finished,
}
