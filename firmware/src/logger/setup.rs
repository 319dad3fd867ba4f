//! The parts of a logger and its settings at the start.

use crate::clock::Clock;
use crate::front_end::FrontEnd;
use crate::link::Link;
use crate::next_weld::NextWeld;
use crate::panel::Panel;
use crate::store::{Resume, Store};
use coldsquare_core::arc::ArcCounts;
use coldsquare_core::calibration::Calibration;
use coldsquare_core::process::Process;
use coldsquare_core::record::Header;
use core::borrow::BorrowMut;
use heapless::{String, Vec};

/// The most welds in [`Setup::order`].
pub const MAX_ORDER: usize = 128;

/// The parts of a logger: hardware, or a simulation of it.
#[derive(Debug)]
pub struct Parts<F, S, L, C, P, N> {
    /// Delivers sample pairs.
    pub front_end: F,
    /// Stores records.
    pub store: S,
    /// Connects to a computer.
    pub link: L,
    /// May know the time of day.
    pub clock: C,
    /// Buttons and light or display.
    pub panel: P,
    /// Holds the plan: 8 KiB that should not move about the stack.
    pub plan: N,
}

/// The types of a logger's parts.
pub trait Hardware {
    /// Delivers sample pairs.
    type FrontEnd: FrontEnd;
    /// Stores records.
    type Store: Store;
    /// Connects to a computer.
    type Link: Link;
    /// May know the time of day.
    type Clock: Clock;
    /// Buttons and light or display.
    type Panel: Panel;
    /// Holds the plan.
    type Plan: BorrowMut<NextWeld>;
}

impl<F, S, L, C, P, N> Hardware for Parts<F, S, L, C, P, N>
where
    F: FrontEnd,
    S: Store,
    L: Link,
    C: Clock,
    P: Panel,
    N: BorrowMut<NextWeld>,
{
    type FrontEnd = F;
    type Store = S;
    type Link = L;
    type Clock = C;
    type Panel = P;
    type Plan = N;
}

/// What the logger needs to know before it starts.
#[derive(Clone, Debug)]
pub struct Setup {
    /// Name of this logger, given by its owner.
    pub device: String<24>,
    /// The board it runs on, at most 24 bytes.
    pub board: &'static str,
    /// What is being built; may be empty.
    pub title: String<48>,
    /// Welding process, if it is known.
    pub process: Option<Process>,
    /// From counts to volts and amps.
    pub calibration: Calibration,
    /// When the calibration was made, seconds since 1970-01-01T00:00:00Z; 0 for one from data sheets.
    pub calibrated_unix_s: u64,
    /// How beads are found; see [`ArcConfig::new`](coldsquare_core::arc::ArcConfig::new).
    pub arc: ArcCounts,
    /// Numbers of the welds in welding order. Empty without a plan: then each press of *next* counts up by one.
    pub order: Vec<u16, MAX_ORDER>,
    /// Where an earlier log in the same store ended; the default for an empty store.
    pub resume: Resume,
}

impl Setup {
    /// Restores the settings of the last log in the same store: calibration with its date and uncertainties, process and
    /// arc settings. Returns false, and changes nothing, if the sampling rate was different.
    pub fn restore(&mut self, header: &Header) -> bool {
        let (now, then) = (&self.calibration, &header.calibration);
        if now.sample_rate_hz != then.sample_rate_hz {
            return false;
        }
        self.calibration = header.calibration;
        self.calibrated_unix_s = header.calibrated_unix_s;
        self.arc = header.arc;
        self.process = header.process;
        true
    }
}
