//! A whole logger on a simulated card, sealed, with a computer at its link: for tests that harm the card.

use coldsquare::link::{Client, Port};
use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::journal::fat::FILE_NAME;
use coldsquare_core::journal::{CellBytes, Layout};
use coldsquare_core::link::Live;
use coldsquare_core::process::Process;
use coldsquare_core::record::{Entry, EventKind, Reader, Record, WallClock};
use coldsquare_core::samples::{MAX_COUNT, RawPair};
use coldsquare_core::seal::{SIMULATION, Secret};
use coldsquare_engine::log::LogError;
use coldsquare_engine::log::read_from;
use coldsquare_engine::log::seal::Seal;
use coldsquare_engine::recording::RecordingOptions;
use coldsquare_firmware::clock::{Clock, Ticks};
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::journal::card::{Card, Sectors};
use coldsquare_firmware::journal::slot::Slot;
use coldsquare_firmware::journal::{Journal, MediumError};
use coldsquare_firmware::logger::{Logger, Parts, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::sim::{ComputerEnd, LoggerEnd, MemoryCard, cable};
use coldsquare_firmware::store::Store;
use std::cell::{Cell, RefCell};
use std::path::Path;
use std::rc::Rc;
use std::time::Duration;

/// Cells of the journal, and of a segment of it.
pub const CELLS: u32 = 112;
const SEGMENT: u32 = 8;
pub const PAIRS_PER_SECOND: u32 = 500;
/// Pairs of a bead, and of the rest after it: long enough for a seal.
const BEAD: u32 = 150;
const REST: u32 = 2500;

/// The card in its slot, the electrode, and the clock.
pub struct Bench {
    pub card: RefCell<MemoryCard>,
    micros: Rc<Cell<u32>>,
    pair: Cell<u32>,
    /// Pairs for which the arc still burns.
    burns: Cell<u32>,
}

#[derive(Clone)]
struct Hand(Rc<Bench>);

impl Sectors for Hand {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        self.0.card.borrow_mut().read(sector, into)
    }

    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        self.0.card.borrow_mut().write(sector, bytes)
    }
}

impl Ticks for Hand {
    fn micros(&mut self) -> u32 {
        self.0.micros.get()
    }
}

impl FrontEnd for Hand {
    fn next(&mut self) -> Reading {
        let bench = &self.0;
        let (pair, left) = (bench.pair.get() + 1, bench.burns.get());
        let us = bench
            .micros
            .get()
            .wrapping_add(1_000_000 / PAIRS_PER_SECOND);
        bench.micros.set(us);
        bench.pair.set(pair);
        bench.burns.set(left.saturating_sub(1));
        let noise = (pair % 7) as i32;
        Reading::Pair(if left > 0 {
            RawPair::new(2000 + noise, 5000 + noise)
        } else {
            RawPair::new(noise, noise)
        })
    }
}

impl Clock for Hand {
    fn now(&mut self) -> Option<WallClock> {
        None
    }
}

impl Panel for Hand {
    fn input(&mut self) -> Option<Input> {
        None
    }

    fn show(&mut self, _: Shown) {}
}

type OnCard = Logger<Parts<Hand, Slot<Hand, Hand>, LoggerEnd, Hand, Hand, Box<NextWeld>>>;

/// A logger that was switched on; whoever listens to it lets it work.
#[derive(Clone)]
pub struct Shop {
    pub bench: Rc<Bench>,
    logger: Rc<RefCell<OnCard>>,
    computer: ComputerEnd,
}

impl Port for Shop {
    fn send(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        self.computer.send(bytes);
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> std::io::Result<usize> {
        self.turns(60);
        let came = self.computer.receive(into.len());
        into[..came.len()].copy_from_slice(&came);
        Ok(came.len())
    }

    fn rest(&mut self, _: Duration) {
        self.turns(PAIRS_PER_SECOND);
    }
}

impl Shop {
    pub fn on(card: MemoryCard) -> Self {
        let bench = Rc::new(Bench {
            micros: Rc::default(),
            card: RefCell::new(card),
            pair: Cell::new(0),
            burns: Cell::new(0),
        });
        let hand = Hand(Rc::clone(&bench));
        let store = Slot::new(hand.clone(), hand.clone());
        let mut setup = setup(PAIRS_PER_SECOND, Resume::default());
        setup.resume = store.resume();
        if let Some(header) = store.last_header() {
            setup.restore(header);
        }
        let (link, computer) = cable(4096);
        let chance = [setup.resume.starts as u8 + 1; 32];
        let parts = Parts {
            front_end: hand.clone(),
            store,
            link,
            clock: hand.clone(),
            panel: hand,
            plan: Box::new(NextWeld::new()),
        };
        let secret = Secret::new(SIMULATION).expect("not all zeros");
        let logger = Logger::start_sealed(parts, setup, secret, &chance).expect("usable");
        Self {
            bench,
            logger: Rc::new(RefCell::new(logger)),
            computer,
        }
    }

    pub fn turns(&self, count: u32) {
        let mut logger = self.logger.borrow_mut();
        for _ in 0..count {
            logger.poll();
        }
    }

    pub fn weld(&self, pairs: u32) {
        self.bench.burns.set(pairs);
        self.turns(pairs + REST);
    }

    pub fn beads(&self, count: u32) {
        (0..count).for_each(|_| self.weld(BEAD));
    }

    pub fn client(&self) -> Client<'static> {
        Client::new(Box::new(self.clone()))
    }

    pub fn live(&self) -> Live {
        self.client().live().expect("it answers")
    }

    /// Every bead so far is stored, as far as the logger says.
    pub fn says_all_stored(&self) -> bool {
        let live = self.live();
        let trouble = self.client().trouble().expect("it answers");
        let lost = matches!(
            live.last_alarm,
            Some(EventKind::StoreFault | EventKind::StoreFull)
        );
        live.lost == 0 && trouble.is_none() && !lost
    }

    pub fn card(&self) -> MemoryCard {
        self.bench.card.borrow().clone()
    }
}

/// The setup of a logger on a bench, with a log that goes on there.
pub fn setup(pairs_per_second: u32, resume: Resume) -> Setup {
    let channel = Channel {
        gain_per_count: 0.01,
        zero_in_256ths: 0,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.1,
        lowest_count: -MAX_COUNT,
        highest_count: MAX_COUNT,
    };
    let calibration = Calibration {
        voltage: channel,
        current: channel,
        sample_rate_hz: pairs_per_second.into(),
        rate_relative_uncertainty: 0.0,
    };
    let settings = ArcSettings::for_process(Process::MagSolid);
    let arc = ArcConfig::new(&settings, &calibration).expect("usable");
    Setup {
        device: "bench".try_into().expect("short"),
        board: "bench",
        title: heapless::String::new(),
        process: Some(Process::MagSolid),
        calibration,
        calibrated_unix_s: 0,
        arc: arc.counts(),
        order: heapless::Vec::new(),
        resume,
    }
}

pub fn prepared(kept: u8) -> MemoryCard {
    let (mut card, first) = MemoryCard::formatted(&FILE_NAME, CELLS, 1);
    let layout = Layout::divide(9, CELLS, SEGMENT, kept).expect("large enough");
    card.sectors[first as usize] = layout.to_cell();
    card
}

pub fn beads_in(log: &[u8]) -> (Vec<u32>, bool) {
    let (mut reader, mut rest, mut beads) = (Reader::new(), log, Vec::new());
    while let Some(entry) = reader.next(&mut rest) {
        if let Entry::Record {
            record: Record::Bead(bead),
            ..
        } = entry
        {
            beads.push(bead.number);
        }
    }
    reader.finish();
    (beads, reader.counts().is_whole())
}

/// All beads that the journal of a card has once it answers again, whatever became of the file system around it.
pub fn beads_on(mut card: MemoryCard) -> Vec<u32> {
    card.answers_all = true;
    card.power.comes_back();
    let (_, first) = MemoryCard::formatted(&FILE_NAME, CELLS, 1);
    let Ok(mut store) = Journal::mount(Card::at(card, first, CELLS)) else {
        return Vec::new();
    };
    let end = store.extent().map_or(0, |extent| extent.end);
    let (mut log, mut piece) = (Vec::new(), [0; 300]);
    while (log.len() as u64) < end {
        let Ok((from, length)) = store.read(log.len() as u64, &mut piece) else {
            break;
        };
        log.resize(from as usize, 0);
        log.extend_from_slice(&piece[..length]);
        if length == 0 {
            break;
        }
    }
    beads_in(&log).0
}

/// What the seals of a log say.
pub fn seal_of(log: &[u8]) -> Result<Seal, LogError> {
    let name = Path::new("weld.log");
    let log = read_from(name, log, std::io::empty(), &RecordingOptions::default());
    log.map(|log| log.seal)
}

pub fn has(beads: &[u32], all: u32) -> bool {
    (1..=all).all(|bead| beads.contains(&bead))
}

/// A folder for a download.
pub struct Folder(tempfile::TempDir);

impl Folder {
    pub fn new() -> Self {
        Self(tempfile::tempdir().expect("temporary folder"))
    }

    pub fn out(&self) -> std::path::PathBuf {
        self.0.path().join("weld.log")
    }
}
