//! The logger with its journal on a card. Its feed, over UART 1 or from flash, says when the plug will be pulled and which
//! reads the card refuses, then come a header and readings. Every retained record (all but windows) goes out over UART 0 as
//! soon as it is stored, never earlier; figures go out over UART 2.

use crate::BOARD;
use crate::card::{Sd, card};
use crate::fed::Feed;
use crate::plug::Plug;
use crate::ticks::Ticks;
use crate::uart::Uart;
use crate::watchdog;
use coldsquare_emulated::fed::{HeaderClock, header, setup, started};
use coldsquare_emulated::{exit, restart, stack};
use coldsquare_firmware::feed::{FedFrontEnd, FedPanel, Pressed};
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::link::Unconnected;
use coldsquare_firmware::logger::{Parts, Progress, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::store::{Extent, Store, StoreError};
use core::fmt::Write;
use cortex_m::singleton;

/// Reports each record once it is stored.
struct Acknowledging<'a> {
    journal: Journal<Card<Sd<'a>>>,
    acknowledged: Uart,
    /// Appended, but not yet synced.
    open: heapless::Vec<u8, 2048>,
}

impl Store for Acknowledging<'_> {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        self.journal.append(record)?;
        if !coldsquare_core::journal::is_window(record) {
            // Beads and presses are synced one by one; what does not fit is stored but not reported.
            let _ = self.open.extend_from_slice(record);
        }
        Ok(())
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        self.journal.sync()?;
        self.acknowledged.send(&self.open);
        self.open.clear();
        Ok(())
    }

    fn idle(&mut self) {
        self.journal.idle();
    }

    fn extent(&self) -> Option<Extent> {
        self.journal.extent()
    }

    fn read(&mut self, from: u64, into: &mut [u8]) -> Result<(u64, usize), StoreError> {
        self.journal.read(from, into)
    }
}

/// Readings, any of which may be the last.
struct Plugged<'a, F>(F, &'a Plug);

impl<F: FrontEnd> FrontEnd for Plugged<'_, F> {
    fn next(&mut self) -> Reading {
        self.1.reading();
        self.0.next()
    }
}

/// The journal on the card, and how many instructions it took to find its end.
fn mount<'a>(plug: &'a Plug, ticks: &Ticks) -> (Option<Journal<Card<Sd<'a>>>>, u32) {
    let mut found = None;
    let took = ticks.instructions(|| {
        found = Card::find(card(plug))
            .map_err(|_| ())
            .and_then(|card| Journal::mount(card).map_err(|_| ()))
            .ok();
    });
    (found, took)
}

/// Runs until the feed ends.
pub fn run() -> ! {
    let Some(plan) = singleton!(: NextWeld = NextWeld::new()) else {
        exit(false)
    };
    let restarted = restart::reason();
    stack::paint();
    let mut figures = Uart::new(2);
    let mut feed = Feed::new();
    // A line may make the board wait for longer than the watchdog does.
    if matches!(feed, Feed::Flash(_)) {
        watchdog::start();
    }
    let mut next = move || feed.receive();
    let mut plug = Plug::from_feed(&mut next);
    if restarted.is_some() {
        plug = plug.stays();
    }
    let header = header(&mut next);
    let Some(peripherals) = cortex_m::Peripherals::take() else {
        exit(false)
    };
    let ticks = Ticks::start(peripherals.SYST);
    let (found, took) = mount(&plug, &ticks);
    let mut printed = writeln!(figures, "refused_reads {}", plug.refused());
    let Some(journal) = found else {
        let _ = writeln!(figures, "no_journal 1");
        exit(printed.is_ok())
    };
    printed = printed.and_then(|()| writeln!(figures, "mount_instructions {took}"));
    plug.measuring();
    let setup = Setup {
        resume: journal.resume(),
        ..setup(header.clone(), BOARD)
    };
    let pressed = Pressed::new(None);
    let parts = Parts {
        front_end: Plugged(FedFrontEnd::new(next, &pressed), &plug),
        store: Acknowledging {
            journal,
            acknowledged: Uart::new(0),
            open: heapless::Vec::new(),
        },
        link: Unconnected,
        clock: HeaderClock(header.clock),
        panel: FedPanel(&pressed),
        plan,
    };
    let before = Ticks::now();
    // Not in a closure, so that it is built where it stays.
    let Some(mut logger) = started(parts, setup) else {
        exit(false)
    };
    let took = Ticks::since(before);
    printed = printed.and_then(|()| writeln!(figures, "start_instructions {took}"));
    if let Some(why) = &restarted {
        printed = printed.and_then(|()| writeln!(figures, "restarted 1"));
        logger.restarted(why);
    }
    while logger.poll() == Progress::Took {
        watchdog::feed();
    }
    logger.finish();
    printed = printed.and_then(|()| writeln!(figures, "stack_bytes {}", stack::deepest()));
    exit(printed.is_ok())
}
