//! A finished bead, and the short windows of sums that it is made of.
//!
//! Every sample belongs to exactly one window, and every window lies wholly inside one bead or wholly outside all
//! of them: windows are cut where the arc starts and stops. So the sums of a bead are the sums of its windows, and
//! beads and idle time together add up to everything that was sampled, exactly.

use crate::samples::{Sums, WindowSums};
use serde::{Deserialize, Serialize};

/// Sums over a short stretch (about 100 ms while the arc burns, longer while it does not).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Window {
    /// Position of the first sample, counted from the start of the log, dropped samples included.
    pub start: u64,
    /// True while the arc burned; false in a gap inside a bead and between beads.
    pub lit: bool,
    /// The sums.
    pub sums: WindowSums,
    /// Samples whose voltage reached a limit of the sensor or converter.
    pub clipped_voltage: u16,
    /// Samples whose current reached a limit of the sensor or converter.
    pub clipped_current: u16,
    /// Samples that were due in this stretch and never came.
    pub dropped: u32,
}

impl Window {
    /// Positions covered: samples taken and samples dropped.
    #[must_use]
    pub const fn span(&self) -> u64 {
        self.sums.n as u64 + self.dropped as u64
    }

    /// Adds all that the next window holds. Returns false, and adds nothing, when both together would not fit.
    pub fn merge(&mut self, next: &Self) -> bool {
        if !self.sums.merge(&next.sums) {
            return false;
        }
        // No more samples can be clipped than a window holds, so these saturate only on damaged windows.
        self.clipped_voltage = self.clipped_voltage.saturating_add(next.clipped_voltage);
        self.clipped_current = self.clipped_current.saturating_add(next.clipped_current);
        self.dropped = self.dropped.saturating_add(next.dropped);
        true
    }
}

/// One continuous arc-on deposit, from the first to the last moment its arc burned.
///
/// Short gaps (stutter starts, re-strikes) are inside it: `sums` covers them, `lit` does not count them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bead {
    /// Number in the log, from 1.
    pub number: u32,
    /// Position of the first sample, counted from the start of the log, dropped samples included.
    pub start: u64,
    /// Samples, taken or dropped, during which the arc burned: the arc time.
    pub lit: u64,
    /// Sums from the first to the last lit sample, gaps included.
    pub sums: Sums,
    /// How often the arc went out and came back inside the bead.
    pub restarts: u16,
    /// Samples whose voltage reached a limit of the sensor or converter.
    pub clipped_voltage: u32,
    /// Samples whose current reached a limit of the sensor or converter.
    pub clipped_current: u32,
    /// Samples that were due and never came.
    pub dropped: u32,
}

impl Bead {
    /// Positions covered, from the first to the last lit sample: samples taken and samples dropped.
    #[must_use]
    pub const fn span(&self) -> u64 {
        self.sums.n.saturating_add(self.dropped as u64)
    }

    /// Adds a window that follows: its sums and counts, and its time to the arc time when it was lit.
    pub fn add_window(&mut self, window: &Window) {
        self.sums.add_window(&window.sums);
        if window.lit {
            self.lit = self.lit.saturating_add(window.span());
        }
        self.clipped_voltage = self
            .clipped_voltage
            .saturating_add(window.clipped_voltage.into());
        self.clipped_current = self
            .clipped_current
            .saturating_add(window.clipped_current.into());
        self.dropped = self.dropped.saturating_add(window.dropped);
    }
}
