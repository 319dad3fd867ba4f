//! A finished bead, and the short windows of sums that it consists of.
//!
//! Every sample belongs to exactly one window, and a window ends where the arc starts or stops, so it is wholly inside
//! one bead or outside all of them. The sums of a bead are therefore the sums of its windows, and beads and idle time
//! add up exactly to everything that was sampled.
//!
//! ```
//! use coldsquare_core::bead::{Bead, Window};
//! use coldsquare_core::samples::{RawPair, WindowSums};
//!
//! let mut window = Window { arc_on: true, ..Window::default() };
//! window.sums.add_repeated(RawPair::new(180, 1200), 100);
//! let mut bead = Bead::default();
//! bead.add_window(&window);
//! assert_eq!((bead.arc_samples, bead.sums.i), (100, 120_000));
//! ```

use crate::samples::{Sums, WindowSums};
use serde::{Deserialize, Serialize};

/// Sums over a short time: about 100 ms while the arc burns, longer while it does not.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Window {
    /// Position of the first sample, counted from the start of the log, dropped samples included.
    pub start: u64,
    /// True if the arc burned; false in a gap inside a bead and between beads.
    pub arc_on: bool,
    /// The sums.
    pub sums: WindowSums,
    /// Samples whose voltage reached a limit of the sensor or converter.
    pub clipped_voltage: u16,
    /// Samples whose current reached a limit of the sensor or converter.
    pub clipped_current: u16,
    /// Samples that were due in this window and did not arrive.
    pub dropped: u32,
}

impl Window {
    /// Positions covered: samples measured and samples dropped.
    #[must_use]
    pub const fn span(&self) -> u64 {
        self.sums.n as u64 + self.dropped as u64
    }

    /// Adds the window that follows. Returns false, and adds nothing, if both together do not fit.
    pub fn merge(&mut self, next: &Self) -> bool {
        if !self.sums.merge(&next.sums) {
            return false;
        }
        // A window clips no more samples than it holds, so these saturate only on damaged windows.
        self.clipped_voltage = self.clipped_voltage.saturating_add(next.clipped_voltage);
        self.clipped_current = self.clipped_current.saturating_add(next.clipped_current);
        self.dropped = self.dropped.saturating_add(next.dropped);
        true
    }
}

/// What one continuous arc leaves, from the first to the last sample with the arc on.
///
/// Short gaps (stutter starts, re-strikes) are inside it: `sums` includes them, `arc_samples` does not.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bead {
    /// Number in the log, from 1.
    pub number: u32,
    /// Position of the first sample, counted from the start of the log, dropped samples included.
    pub start: u64,
    /// Samples, measured or dropped, with the arc on: the arc time.
    pub arc_samples: u64,
    /// Sums from the first to the last arc-on sample, gaps included.
    pub sums: Sums,
    /// How often the arc went out and was struck again inside the bead.
    pub restarts: u16,
    /// Samples whose voltage reached a limit of the sensor or converter.
    pub clipped_voltage: u32,
    /// Samples whose current reached a limit of the sensor or converter.
    pub clipped_current: u32,
    /// Samples that were due and did not arrive.
    pub dropped: u32,
}

impl Bead {
    /// Positions covered, from the first to the last arc-on sample: samples measured and samples dropped.
    #[must_use]
    pub const fn span(&self) -> u64 {
        self.sums.n.saturating_add(self.dropped as u64)
    }

    /// Adds the window that follows: its sums and counts, and its time to the arc time if the arc was on.
    pub fn add_window(&mut self, window: &Window) {
        self.sums.add_window(&window.sums);
        if window.arc_on {
            self.arc_samples = self.arc_samples.saturating_add(window.span());
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
