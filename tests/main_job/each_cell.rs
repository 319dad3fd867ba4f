//! Every sector of a card, file system and journal, refuses to be read once, twice or for good, or has a flipped bit, while
//! its logger starts, while its log is downloaded, while it is cleared, and while its ring goes round. The log is sealed, and
//! everything is done as a user does it: logger, link, download, clearing, reader.
//!
//! No bead that was acknowledged is lost, nothing is called whole that lacks one, and no log is called changed that nobody
//! changed. A share runs each time; `COLDSQUARE_SWEEP=all` runs everything, `COLDSQUARE_SWEEP_BITS=8` with so many bits of
//! each sector, one at a time.

use coldsquare::link::clear::clear_pulled;
use coldsquare::link::pull::{OverLink, pull};
use coldsquare::link::{Client, Port};
use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::journal::fat::FILE_NAME;
use coldsquare_core::journal::{CellBytes, Layout};
use coldsquare_core::link::{Consent, Live, Request};
use coldsquare_core::process::Process;
use coldsquare_core::record::{Entry, EventKind, Reader, Record, WallClock};
use coldsquare_core::samples::{MAX_COUNT, RawPair};
use coldsquare_core::seal::{SIMULATION, Secret};
use coldsquare_engine::log::read_from;
use coldsquare_engine::log::seal::Verdict;
use coldsquare_engine::recording::RecordingOptions;
use coldsquare_firmware::clock::{Clock, Ticks};
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::journal::MediumError;
use coldsquare_firmware::journal::card::Sectors;
use coldsquare_firmware::journal::slot::Slot;
use coldsquare_firmware::logger::{Logger, Parts, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::sim::{ComputerEnd, LoggerEnd, MemoryCard, cable};
use coldsquare_firmware::store::Store;
use std::cell::{Cell, RefCell};
use std::path::Path;
use std::rc::Rc;
use std::time::Duration;

/// Cells of the journal, a segment of it, and the share that is kept, of 256.
const CELLS: u32 = 112;
const SEGMENT: u32 = 8;
const KEPT: u8 = 150;
const PAIRS_PER_SECOND: u32 = 500;
/// Pairs of a bead, and of the rest after it: long enough for a seal.
const BEAD: u32 = 150;
const REST: u32 = 2500;
/// Of so many cases one runs each time.
const SHARE: usize = 23;

/// The card in its slot, the electrode, and the clock.
struct Bench {
    card: RefCell<MemoryCard>,
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
struct Shop {
    bench: Rc<Bench>,
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
    fn on(card: MemoryCard) -> Self {
        let bench = Rc::new(Bench {
            micros: Rc::default(),
            card: RefCell::new(card),
            pair: Cell::new(0),
            burns: Cell::new(0),
        });
        let hand = Hand(Rc::clone(&bench));
        let store = Slot::new(hand.clone(), hand.clone());
        let mut setup = setup();
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

    fn turns(&self, count: u32) {
        let mut logger = self.logger.borrow_mut();
        for _ in 0..count {
            logger.poll();
        }
    }

    fn weld(&self, pairs: u32) {
        self.bench.burns.set(pairs);
        self.turns(pairs + REST);
    }

    fn beads(&self, count: u32) {
        (0..count).for_each(|_| self.weld(BEAD));
    }

    fn client(&self) -> Client<'static> {
        Client::new(Box::new(self.clone()))
    }

    fn live(&self) -> Live {
        self.client().live().expect("it answers")
    }

    /// Every bead so far is stored, as far as the logger says.
    fn says_all_stored(&self) -> bool {
        let live = self.live();
        let trouble = self.client().trouble().expect("it answers");
        let lost = matches!(
            live.last_alarm,
            Some(EventKind::StoreFault | EventKind::StoreFull)
        );
        live.lost == 0 && trouble.is_none() && !lost
    }

    fn harm(&self, sector: u32, fault: Fault) {
        harm(&mut self.bench.card.borrow_mut(), sector, fault);
    }

    fn card(&self) -> MemoryCard {
        self.bench.card.borrow().clone()
    }
}

fn setup() -> Setup {
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
        sample_rate_hz: PAIRS_PER_SECOND.into(),
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
        resume: Default::default(),
    }
}

fn prepared() -> MemoryCard {
    let (mut card, first) = MemoryCard::formatted(&FILE_NAME, CELLS, 1);
    let layout = Layout::divide(9, CELLS, SEGMENT, KEPT).expect("large enough");
    card.sectors[first as usize] = layout.to_cell();
    card
}

/// Two starts; cleared after three beads, five since.
fn cleared() -> (MemoryCard, u32) {
    let shop = Shop::on(prepared());
    shop.beads(3);
    let mut client = shop.client();
    let end = client.identify().expect("it answers").log.1;
    let consent = Consent::Named("bench".try_into().expect("short"));
    client
        .tell(&Request::Clear { end, consent })
        .expect("it rests");
    shop.beads(3);
    let shop = Shop::on(shop.card());
    shop.beads(2);
    (shop.card(), 5)
}

/// Two starts, with an arc so long that its windows fill the ring.
fn gone_round() -> (MemoryCard, u32) {
    let shop = Shop::on(prepared());
    shop.beads(2);
    shop.weld(60 * PAIRS_PER_SECOND);
    let shop = Shop::on(shop.card());
    shop.beads(2);
    (shop.card(), 5)
}

/// What happens to a sector.
#[derive(Clone, Copy, Debug)]
enum Fault {
    /// It refuses to be read this many times.
    Refuses(u32),
    /// This bit of it flips.
    Flips(u32),
}

fn harm(card: &mut MemoryCard, sector: u32, fault: Fault) {
    match fault {
        Fault::Refuses(times) => card.unreadable = vec![(sector, times)],
        Fault::Flips(bit) => card.flip(sector, bit),
    }
}

fn faults(sector: u32) -> Vec<Fault> {
    let bits = std::env::var("COLDSQUARE_SWEEP_BITS");
    let bits = bits.map_or(1, |bits| bits.parse().expect("a number of bits"));
    let flips = (0..bits).map(|n| Fault::Flips((sector * 37 + n * 509) % 4096));
    let refuses = [1, 2, u32::MAX].map(Fault::Refuses);
    refuses.into_iter().chain(flips).collect()
}

/// What came of all cases.
#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    cases: u32,
    /// Beads that were acknowledged and are gone, although the card answers again.
    beads_lost: u32,
    /// Downloads that lack an acknowledged bead, and were called whole, or sealed, or let the logger be cleared.
    called_whole: u32,
    /// Downloads that were called changed.
    called_changed: u32,
    /// The same where it was said that records are missing, by name.
    told_missing: u32,
    /// Starts that had to wait, downloads that failed and said so, and logs that were cleared.
    waited: u32,
    failed: u32,
    cleared: u32,
}

fn beads_in(log: &[u8]) -> (Vec<u32>, bool) {
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

/// All beads that a card has once it answers again.
fn beads_on(mut card: MemoryCard) -> Vec<u32> {
    card.answers_all = true;
    let mut store = Slot::new(card, || 0);
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

fn has(beads: &[u32], all: u32) -> bool {
    (1..=all).all(|bead| beads.contains(&bead))
}

impl Tally {
    /// Judges a download by what was acknowledged.
    fn judge(&mut self, log: &[u8], acknowledged: u32, told: &str) {
        let (beads, whole) = beads_in(log);
        let lacks = !has(&beads, acknowledged);
        let seal = read_from(
            Path::new("weld.log"),
            log,
            std::io::empty(),
            &RecordingOptions::default(),
        )
        .map(|log| log.seal);
        let sealed = seal.as_ref().is_ok_and(|seal| seal.word() == "sealed");
        if lacks && (whole || sealed) {
            println!("{told}: called whole with {beads:?} of {acknowledged}");
            self.called_whole += 1;
        }
        if let Ok(seal) = seal
            && let Verdict::Broken { missing, .. } = seal.verdict
        {
            if missing {
                self.told_missing += 1;
            } else {
                println!("{told}: {}", seal.sentence());
                self.called_changed += 1;
            }
        }
    }

    /// Downloads; gives the bytes if it was called complete.
    fn pulls(&mut self, shop: &Shop, acknowledged: u32, told: &str) -> Option<(Folder, Vec<u8>)> {
        let folder = Folder::new();
        let mut source = OverLink::new(shop.client(), "bench");
        if pull(&mut source, &folder.out(), &mut |_, _| true).is_err() {
            self.failed += 1;
            return None;
        }
        let log = std::fs::read(folder.out()).expect("it has its name");
        self.judge(&log, acknowledged, told);
        Some((folder, log))
    }

    /// The plug is pulled, and the card answers again.
    fn ends(&mut self, shop: &Shop, acknowledged: u32, told: &str) {
        let found = beads_on(shop.card());
        for bead in (1..=acknowledged).filter(|bead| !found.contains(bead)) {
            println!("{told}: bead {bead} of {acknowledged} is gone: {found:?}");
            self.beads_lost += 1;
        }
    }

    fn start(&mut self, sound: &MemoryCard, beads: u32, (sector, fault): (u32, Fault), told: &str) {
        let mut card = sound.clone();
        harm(&mut card, sector, fault);
        let shop = Shop::on(card);
        self.waited += u32::from(shop.client().trouble().expect("it answers").is_some());
        shop.beads(2);
        let all = beads + 2 * u32::from(shop.says_all_stored());
        self.pulls(&shop, all, told);
        self.ends(&shop, all, told);
    }

    fn pull(&mut self, sound: &MemoryCard, beads: u32, (sector, fault): (u32, Fault), told: &str) {
        let shop = Shop::on(sound.clone());
        shop.harm(sector, fault);
        self.pulls(&shop, beads, told);
        self.ends(&shop, beads, told);
    }

    fn clear(&mut self, sound: &MemoryCard, beads: u32, (sector, fault): (u32, Fault), told: &str) {
        let shop = Shop::on(sound.clone());
        let Some((folder, _)) = self.pulls(&shop, beads, told) else {
            return;
        };
        shop.harm(sector, fault);
        let mut source = OverLink::new(shop.client(), "bench");
        let done = clear_pulled(&mut source, &folder.out()).is_ok();
        let kept = std::fs::read(folder.out()).expect("it is there");
        let mut all = beads;
        if done {
            self.cleared += 1;
            self.judge(&kept, beads, told);
            if !has(&beads_in(&kept).0, beads) {
                println!("{told}: cleared with {:?}", beads_in(&kept).0);
                self.called_whole += 1;
            }
            all = 0;
        }
        shop.beads(2);
        all += 2 * u32::from(shop.says_all_stored());
        self.pulls(&shop, all, told);
        self.ends(&shop, all, told);
    }

    fn round(&mut self, sound: &MemoryCard, beads: u32, (sector, fault): (u32, Fault), told: &str) {
        let shop = Shop::on(sound.clone());
        shop.harm(sector, fault);
        shop.weld(45 * PAIRS_PER_SECOND);
        let all = beads + u32::from(shop.says_all_stored());
        self.pulls(&shop, all, told);
        self.ends(&shop, all, told);
    }
}

/// A folder for a download.
struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().expect("temporary folder"))
    }

    fn out(&self) -> std::path::PathBuf {
        self.0.path().join("weld.log")
    }
}

type Moment = fn(&mut Tally, &MemoryCard, u32, (u32, Fault), &str);

fn sweep(name: &str, moment: Moment) -> Tally {
    let all = std::env::var("COLDSQUARE_SWEEP").is_ok_and(|wanted| wanted == "all");
    let mut tally = Tally::default();
    let mut number = 0;
    for (log, (sound, beads)) in [("cleared", cleared()), ("gone round", gone_round())] {
        assert!(has(&beads_on(sound.clone()), beads), "{log}");
        for sector in 0..sound.sectors.len() as u32 {
            for fault in faults(sector) {
                number += 1;
                if all || number % SHARE == 0 {
                    tally.cases += 1;
                    let told = format!("{name}, {log}, sector {sector}, {fault:?}");
                    moment(&mut tally, &sound, beads, (sector, fault), &told);
                }
            }
        }
    }
    println!("{name}: {tally:?}");
    assert_eq!(
        (tally.beads_lost, tally.called_whole, tally.called_changed),
        (0, 0, 0),
        "{tally:?}"
    );
    tally
}

#[test]
fn a_start_beside_any_bad_sector_keeps_every_bead() {
    let tally = sweep("start", Tally::start);
    assert!(tally.waited * 3 < tally.cases, "{tally:?}");
}

#[test]
fn a_download_beside_any_bad_sector_is_all_of_the_log_or_said_not_to_be() {
    let tally = sweep("pull", Tally::pull);
    assert!(tally.failed * 3 < tally.cases, "{tally:?}");
}

#[test]
fn a_clearing_beside_any_bad_sector_lets_go_of_nothing_that_is_not_in_the_file() {
    let tally = sweep("clear", Tally::clear);
    assert!(tally.cleared * 2 > tally.cases, "{tally:?}");
}

#[test]
fn a_ring_that_goes_round_any_bad_sector_keeps_every_bead() {
    sweep("round", Tally::round);
}
