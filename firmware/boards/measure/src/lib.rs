//! The loop whose instructions are counted, the same on every emulated processor: from the front end's reading to the end of
//! the logger's turn.
#![no_std]

use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::process::Process;
use coldsquare_core::record::WallClock;
use coldsquare_core::samples::RawPair;
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::link::Unconnected;
use coldsquare_firmware::logger::{Hardware, Logger, Parts, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::store::{Store, StoreError};
use core::cell::Cell;
use core::fmt;
use core::hint::black_box;

const ZERO: i32 = 0;
const GAIN: f64 = 1.0 / 1024.0;
const RATE: f64 = 10_000.0;
/// Pairs of one measurement: fewer than remain of an arc-on window of 1000 after the first hundred, so that nothing is
/// written meanwhile.
const STEADY: u32 = 800;

/// Pairs that change from sample to sample, as those of an arc do: about 24 V and 180 A.
struct Arc<'a> {
    arc_on: &'a Cell<bool>,
    at: i32,
}

impl FrontEnd for Arc<'_> {
    #[inline]
    fn next(&mut self) -> Reading {
        self.at = (self.at + 97) & 0x3FF;
        Reading::Pair(if self.arc_on.get() {
            RawPair::new(24 * 1024 + self.at, 180 * 1024 - self.at)
        } else {
            RawPair::new(self.at, ZERO)
        })
    }
}

struct Nowhere;

impl Store for Nowhere {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        black_box(record);
        Ok(())
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        Ok(())
    }
}

impl Clock for Nowhere {
    fn now(&mut self) -> Option<WallClock> {
        None
    }
}

impl Panel for Nowhere {
    fn input(&mut self) -> Option<Input> {
        None
    }

    fn show(&mut self, shown: Shown) {
        black_box(shown);
    }
}

fn setup() -> Option<Setup> {
    let channel = Channel {
        gain_per_count: GAIN,
        zero_in_256ths: 256 * ZERO,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.1,
        lowest_count: -8_000_000,
        highest_count: 8_000_000,
    };
    let calibration = Calibration {
        voltage: channel,
        current: channel,
        sample_rate_hz: RATE,
        rate_relative_uncertainty: 1e-4,
    };
    let settings = ArcSettings::for_process(Process::MagSolid);
    Some(Setup {
        device: heapless::String::new(),
        board: "measured",
        title: heapless::String::new(),
        process: None,
        calibration,
        calibrated_unix_s: 0,
        arc: ArcConfig::new(&settings, &calibration).ok()?.counts(),
        order: heapless::Vec::new(),
        resume: Resume::default(),
    })
}

/// The counts.
#[derive(Clone, Copy, Debug)]
pub struct Figures {
    /// Instructions of 100 pairs between two windows with the arc off.
    pub dark: u32,
    /// The same while the arc burns.
    pub burning: u32,
    /// The same averaged over a second, in which ten windows are closed and written.
    pub second: u32,
    /// Instructions of the longest turn.
    pub longest: u32,
}

/// One name and number a line.
impl fmt::Display for Figures {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "dark_per_100_pairs {}", self.dark)?;
        writeln!(f, "burning_per_100_pairs {}", self.burning)?;
        writeln!(f, "second_per_100_pairs {}", self.second)?;
        writeln!(f, "longest_turn {}", self.longest)
    }
}

/// Turns in which the longest is looked for: a second of arc and one without; with a seal, until that is due.
const TURNS: u32 = if cfg!(feature = "seal") {
    50_000
} else {
    20_000
};

/// Starts the logger, with a seal if that is to be counted.
#[inline(always)]
fn started<H: FrontEnd, P: core::borrow::BorrowMut<NextWeld>>(
    parts: Parts<H, Nowhere, Unconnected, Nowhere, Nowhere, P>,
) -> Option<Logger<impl Hardware>> {
    #[cfg(feature = "seal")]
    {
        use coldsquare_core::seal::{SIMULATION, Secret};
        Logger::start_sealed(parts, setup()?, Secret::new(SIMULATION)?, &[1; 32]).ok()
    }
    #[cfg(not(feature = "seal"))]
    Logger::start(parts, setup()?).ok()
}

/// Runs the logger. `count` runs what it is given and returns how many instructions that took. `None` if the logger does
/// not start.
pub fn measure(plan: &mut NextWeld, count: impl Fn(&mut dyn FnMut()) -> u32) -> Option<Figures> {
    let arc_on = Cell::new(false);
    let parts = Parts {
        front_end: Arc {
            arc_on: &arc_on,
            at: 0,
        },
        store: Nowhere,
        link: Unconnected,
        clock: Nowhere,
        panel: Nowhere,
        plan,
    };
    let mut logger = started(parts)?;
    let mut turns = |number: u32| {
        count(&mut || {
            for _ in 0..number {
                logger.poll();
            }
        })
    };
    turns(100);
    let dark = 100 * turns(STEADY) / STEADY;
    arc_on.set(true);
    turns(100);
    let burning = 100 * turns(STEADY) / STEADY;
    let second = turns(10_000) / 100;
    // Into the next windows, turn by turn, out of the bead, and to the end of it: the longest turn of all.
    let mut longest = 0;
    for turn in 0..TURNS {
        arc_on.set(turn < 10_000);
        longest = longest.max(turns(1));
    }
    Some(Figures {
        dark,
        burning,
        second,
        longest,
    })
}
