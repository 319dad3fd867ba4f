//! A card that is taken out, or refuses reads, while its log is fetched and cleared: what is called whole is whole, and
//! what is cleared is on the computer's disk.

use super::card_shop::setup;
use coldsquare::link::clear::clear_pulled;
use coldsquare::link::pull::{OverLink, part_of, pull};
use coldsquare::link::{Client, Port};
use coldsquare_core::journal::{CellBytes, Layout};
use coldsquare_core::record::{Entry, Reader, Record, WallClock};
use coldsquare_core::samples::RawPair;
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::journal::card::{Card, Sectors};
use coldsquare_firmware::journal::{Journal, MediumError};
use coldsquare_firmware::logger::{Logger, Parts};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::sim::{ComputerEnd, LoggerEnd, MemoryCard, cable};
use std::cell::{Cell, RefCell};
use std::path::Path;
use std::rc::Rc;
use std::time::Duration;

const CELLS: u32 = 1024;
const PAIRS_PER_SECOND: u32 = 1000;

/// The card in its slot, and the electrode.
struct Bench {
    card: RefCell<MemoryCard>,
    /// Reads so far, and those that are refused.
    reads: Cell<u64>,
    refused: Cell<(u64, u64)>,
    pair: Cell<u32>,
    rests: Cell<bool>,
}

struct Slot(Rc<Bench>);

impl Sectors for Slot {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        let read = self.0.reads.get();
        self.0.reads.set(read + 1);
        let (from, count) = self.0.refused.get();
        if (from..from.saturating_add(count)).contains(&read) {
            return Err(MediumError::Fault);
        }
        self.0.card.borrow_mut().read(sector, into)
    }

    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        self.0.card.borrow_mut().write(sector, bytes)
    }
}

struct Electrode(Rc<Bench>);

impl FrontEnd for Electrode {
    fn next(&mut self) -> Reading {
        let pair = self.0.pair.get() + 1;
        self.0.pair.set(pair);
        let noise = (pair * 7919 % 7) as i32;
        let burns = !self.0.rests.get() && matches!(pair % 4000, 1000..3000);
        Reading::Pair(if burns {
            RawPair::new(2000 + noise, 5000 + noise)
        } else {
            RawPair::new(noise, noise)
        })
    }
}

struct Nothing;

impl Clock for Nothing {
    fn now(&mut self) -> Option<WallClock> {
        None
    }
}

impl Panel for Nothing {
    fn input(&mut self) -> Option<Input> {
        None
    }

    fn show(&mut self, _: Shown) {}
}

type OnCard =
    Logger<Parts<Electrode, Journal<Card<Slot>>, LoggerEnd, Nothing, Nothing, Box<NextWeld>>>;

/// The computer's end of the cable; while it listens, the logger works.
struct Pump {
    logger: OnCard,
    computer: ComputerEnd,
    bench: Rc<Bench>,
    /// Bytes until somebody takes the card out.
    out_after: usize,
}

impl Pump {
    fn turns(&mut self, count: u32) {
        for _ in 0..count {
            self.logger.poll();
        }
    }
}

impl Port for Pump {
    fn send(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        self.computer.send(bytes);
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> std::io::Result<usize> {
        self.turns(60);
        let came = self.computer.receive(into.len());
        if self.out_after > 0 {
            self.out_after = self.out_after.saturating_sub(came.len());
            self.bench.card.borrow_mut().is_out |= self.out_after == 0;
        }
        into[..came.len()].copy_from_slice(&came);
        Ok(came.len())
    }

    fn rest(&mut self, _: Duration) {
        self.turns(300);
    }
}

/// A logger that has welded for so many seconds and rests, seen from the computer.
fn welded(seconds: u32, out_after: usize) -> (OverLink, Rc<Bench>) {
    let mut card = MemoryCard::new(CELLS, 1);
    let layout = Layout::divide(99, CELLS, 4, 64).expect("large enough");
    card.sectors[0] = layout.to_cell();
    let bench = Rc::new(Bench {
        card: RefCell::new(card),
        reads: Cell::new(0),
        refused: Cell::new((u64::MAX, 0)),
        pair: Cell::new(0),
        rests: Cell::new(false),
    });
    let card = Card::at(Slot(Rc::clone(&bench)), 0, CELLS);
    let store = Journal::mount(card).expect("prepared");
    let setup = setup(PAIRS_PER_SECOND, store.resume());
    let (link, computer) = cable(4096);
    let parts = Parts {
        front_end: Electrode(Rc::clone(&bench)),
        store,
        link,
        clock: Nothing,
        panel: Nothing,
        plan: Box::new(NextWeld::new()),
    };
    let mut pump = Pump {
        logger: Logger::start(parts, setup).expect("usable"),
        computer,
        bench: Rc::clone(&bench),
        out_after,
    };
    pump.turns(seconds * PAIRS_PER_SECOND);
    bench.rests.set(true);
    pump.turns(5 * PAIRS_PER_SECOND);
    let client = Client::new(Box::new(pump));
    (OverLink::new(client, "bench"), bench)
}

fn beads(file: &Path) -> Vec<u32> {
    let log = std::fs::read(file).expect("it is there");
    let (mut reader, mut rest, mut beads) = (Reader::new(), log.as_slice(), Vec::new());
    while let Some(entry) = reader.next(&mut rest) {
        if let Entry::Record {
            record: Record::Bead(bead),
            ..
        } = entry
        {
            beads.push(bead.number);
        }
    }
    beads
}

#[test]
fn a_card_that_goes_while_its_log_is_fetched_leaves_a_partial_download_that_goes_on_later() {
    for out_after in [400, 2000, 5000] {
        let folder = tempfile::tempdir().expect("a folder");
        let out = folder.path().join("weld.log");
        let (mut source, bench) = welded(60, out_after);
        let why = pull(&mut source, &out, &mut |_| true).expect_err("the card is out");
        assert!(why.to_string().contains("cannot be read"), "{why}");
        assert!(!out.exists() && part_of(&out).exists());
        assert!(clear_pulled(&mut source, &part_of(&out)).is_err());

        bench.card.borrow_mut().is_out = false;
        let pulled = pull(&mut source, &out, &mut |_| true).expect("it is back");
        assert!(pulled.tally.is_whole());
        assert!(beads(&out).into_iter().eq(1..=15));
    }
}

/// At any read, so many in a row are refused, while the log is pulled, compared and cleared.
#[test]
fn reads_that_fail_while_a_log_is_pulled_and_cleared_cost_nothing() {
    let mut cleared = 0;
    for burst in [1, 4, 16, 40, 120] {
        for at in (0..200).step_by(7) {
            let told = format!("{burst} reads refused from the {at}th on");
            let folder = tempfile::tempdir().expect("a folder");
            let out = folder.path().join("weld.log");
            let (mut source, bench) = welded(20, usize::MAX);
            bench.refused.set((bench.reads.get() + at, burst));
            if let Ok(pulled) = pull(&mut source, &out, &mut |_| true) {
                let found = beads(&out);
                assert!(
                    found.into_iter().eq(1..=5) || !pulled.tally.is_whole(),
                    "{told}"
                );
                if clear_pulled(&mut source, &out).is_ok() {
                    assert!(beads(&out).into_iter().eq(1..=5), "{told}");
                    cleared += 1;
                }
            }
        }
    }
    assert!(cleared > 100, "{cleared}");
}
