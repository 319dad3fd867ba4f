//! The logger with its journal on a card. Its feed, over UART 1 or from flash, tells when its plug will be pulled, then
//! a header, then readings. Over UART 0 goes every record that stays (all but windows), as soon as it is stored and never before; over
//! UART 2 a few words about itself.

use crate::card::{Sd, card};
use crate::fed::{Feed, Told, header, setup};
use crate::plug::Plug;
use crate::ticks::Ticks;
use crate::uart::Uart;
use crate::{exit, stack};
use coldsquare_firmware::feed::{FedFrontEnd, FedPanel, Pressed};
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::link::Unconnected;
use coldsquare_firmware::logger::{Logger, Parts, Progress, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::store::{Extent, Store, StoreError};
use core::fmt::Write;
use cortex_m::singleton;

/// Says what is stored.
struct Acknowledging<'a> {
    journal: Journal<Card<Sd<'a>>>,
    told: Uart,
    /// Taken, and not known to be stored yet.
    open: heapless::Vec<u8, 2048>,
}

impl Store for Acknowledging<'_> {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        self.journal.append(record)?;
        if !coldsquare_core::journal::is_window(record) {
            // Beads and presses are synced one by one; what does not fit is stored all the same, and not told.
            let _ = self.open.extend_from_slice(record);
        }
        Ok(())
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        self.journal.sync()?;
        self.told.send(&self.open);
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

/// Readings, each of which may be the last.
struct Plugged<'a, F>(F, &'a Plug);

impl<F: FrontEnd> FrontEnd for Plugged<'_, F> {
    fn next(&mut self) -> Reading {
        self.1.reading();
        self.0.next()
    }
}

/// Runs until the feed ends.
pub fn run() -> ! {
    let Some(plan) = singleton!(: NextWeld = NextWeld::new()) else {
        exit(false)
    };
    stack::paint();
    let mut words = Uart::new(2);
    let mut feed = Feed::new();
    let mut next = move || feed.receive();
    let plug = Plug::told(&mut next);
    let header = header(&mut next);
    let Some(peripherals) = cortex_m::Peripherals::take() else {
        exit(false)
    };
    let ticks = Ticks::start(peripherals.SYST);
    let mut found = None;
    let took = ticks.instructions(|| {
        found = Card::find(card(&plug))
            .map_err(|_| ())
            .and_then(|card| Journal::mount(card).map_err(|_| ()))
            .ok();
    });
    let Some(journal) = found else {
        let _ = writeln!(words, "no journal");
        exit(false)
    };
    let mut told = writeln!(words, "mount_instructions {took}");
    plug.measuring();
    let setup = Setup {
        resume: journal.resume(),
        ..setup(header.clone())
    };
    let pressed = Pressed::new(None);
    let parts = Parts {
        front_end: Plugged(FedFrontEnd::new(next, &pressed), &plug),
        store: Acknowledging {
            journal,
            told: Uart::new(0),
            open: heapless::Vec::new(),
        },
        link: Unconnected,
        clock: Told(header.clock),
        panel: FedPanel(&pressed),
        plan,
    };
    let Ok(mut logger) = Logger::start(parts, setup) else {
        exit(false)
    };
    while logger.poll() == Progress::Took {}
    logger.finish();
    told = told.and_then(|()| writeln!(words, "stack_bytes {}", stack::deepest()));
    exit(told.is_ok())
}
