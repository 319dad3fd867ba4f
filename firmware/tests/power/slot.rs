//! What a card in its slot can be, and what is told of it: on the panel, over the link, and in the log once there is one.
//! The logger measures on all the time, and stores as soon as a card can be used.

use coldsquare_core::journal::fat::FILE_NAME;
use coldsquare_core::journal::{CellBytes, Layout};
use coldsquare_core::link::{Live, MAX_FRAME, Receiver, Reply, Request, encode};
use coldsquare_core::record::{Entry, EventKind, Marker, Reader, Record, WallClock};
use coldsquare_core::samples::RawPair;
use coldsquare_core::trouble::Trouble;
use coldsquare_firmware::clock::{Clock, Ticks};
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::journal::MediumError;
use coldsquare_firmware::journal::card::{SEGMENT, Sectors};
use coldsquare_firmware::journal::slot::Slot;
use coldsquare_firmware::logger::{Logger, Parts, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::sim::{ComputerEnd, LoggerEnd, MemoryCard, cable};
use coldsquare_firmware::store::Store;
use std::cell::{Cell, RefCell};
use std::rc::Rc;

/// Pairs a second, as in the setup of `calibration`.
const RATE: u32 = 2000;
/// Sectors of a journal's file.
const FILE: u32 = 64 * 9;

/// What is in the slot, in front of the electrode and on the panel.
struct Bench {
    card: RefCell<MemoryCard>,
    micros: Rc<Cell<u32>>,
    pair: Cell<u32>,
    rests: Cell<bool>,
    shown: Cell<Shown>,
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

impl FrontEnd for Hand {
    /// A second of arc in each two.
    fn next(&mut self) -> Reading {
        let bench = &self.0;
        let pair = bench.pair.get() + 1;
        bench.pair.set(pair);
        let us = bench.micros.get().wrapping_add(1_000_000 / RATE);
        bench.micros.set(us);
        let noise = (pair % 7) as i32;
        let burns = !bench.rests.get() && pair % (2 * RATE) >= RATE;
        Reading::Pair(if burns {
            RawPair::new(2002 + noise, 5002 + noise)
        } else {
            RawPair::new(2 + noise % 2, 2 + noise % 2)
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

    fn show(&mut self, shown: Shown) {
        self.0.shown.set(shown);
    }
}

impl Ticks for Hand {
    fn micros(&mut self) -> u32 {
        self.0.micros.get()
    }
}

type OnSlot = Logger<Parts<Hand, Slot<Hand, Hand>, LoggerEnd, Hand, Hand, Box<NextWeld>>>;

/// A logger at work, and its computer.
struct Shop {
    bench: Rc<Bench>,
    logger: OnSlot,
    computer: ComputerEnd,
}

/// A prepared card, as `coldsquare card new` and a copy make it.
fn prepared(journal: u32) -> MemoryCard {
    let (mut card, first) = MemoryCard::formatted(&FILE_NAME, FILE, journal.into());
    let layout = Layout::divide(journal, FILE, SEGMENT, 100).expect("large enough");
    card.sectors[first as usize] = layout.to_cell();
    card
}

fn empty_slot() -> MemoryCard {
    let mut card = MemoryCard::new(0, 0);
    card.is_out = true;
    card
}

fn switched_on(card: MemoryCard) -> Shop {
    let bench = Rc::new(Bench {
        micros: Rc::clone(&card.micros),
        card: RefCell::new(card),
        pair: Cell::new(0),
        rests: Cell::new(false),
        shown: Cell::default(),
    });
    let hand = Hand(Rc::clone(&bench));
    let store = Slot::new(hand.clone(), hand.clone());
    let mut setup = Setup {
        resume: store.resume(),
        ..super::calibration::setup()
    };
    if let Some(header) = store.last_header() {
        setup.restore(header);
    }
    let (link, computer) = cable(4096);
    let parts = Parts {
        front_end: hand.clone(),
        store,
        link,
        clock: hand.clone(),
        panel: hand,
        plan: Box::new(NextWeld::new()),
    };
    let logger = Logger::start(parts, setup).expect("usable");
    Shop {
        bench,
        logger,
        computer,
    }
}

/// What is said about the store, on the panel and to a computer.
#[derive(Debug, PartialEq)]
struct Said {
    panel: Option<Trouble>,
    link: Option<Trouble>,
}

const fn both(trouble: Trouble) -> Said {
    Said {
        panel: Some(trouble),
        link: Some(trouble),
    }
}

const NOTHING: Said = Said {
    panel: None,
    link: None,
};

impl Shop {
    fn works(&mut self, seconds: u32) {
        for _ in 0..seconds * RATE {
            self.logger.poll();
        }
    }

    fn ask(&mut self, request: &Request) -> Reply {
        let _ = self.computer.receive(usize::MAX);
        let mut frame = [0; MAX_FRAME];
        let length = encode(9, request, &mut frame).expect("it fits");
        self.computer.send(&frame[..length]);
        let mut receiver = Receiver::<Reply>::new();
        for _ in 0..2000 {
            self.logger.poll();
            for byte in self.computer.receive(usize::MAX) {
                if let Some((9, Ok(reply))) = receiver.take(byte) {
                    return reply;
                }
            }
        }
        panic!("no reply to {request:?}")
    }

    fn said(&mut self) -> Said {
        let link = match self.ask(&Request::Trouble) {
            Reply::Trouble(trouble) => trouble,
            other => panic!("{other:?}"),
        };
        Said {
            panel: self.bench.shown.get().trouble,
            link,
        }
    }

    fn live(&mut self) -> Live {
        match self.ask(&Request::Live) {
            Reply::Live(live) => live,
            other => panic!("{other:?}"),
        }
    }

    /// Another card, or the same one with another fault, in the slot.
    fn change(&mut self, card: MemoryCard) -> MemoryCard {
        let mut card = card;
        card.micros = Rc::clone(&self.bench.micros);
        card.silent_for = 1;
        self.bench.card.replace(card)
    }

    fn card(&self) -> std::cell::RefMut<'_, MemoryCard> {
        self.bench.card.borrow_mut()
    }

    /// The plug is pulled; the card as it is.
    fn off(self) -> MemoryCard {
        self.bench.card.borrow().clone()
    }
}

/// What the log on a card has: beads with their length, events and notes.
#[derive(Debug, Default)]
struct Logged {
    beads: Vec<(u32, u64)>,
    events: Vec<(EventKind, i64)>,
    notes: Vec<Marker>,
    missing: u64,
}

impl Logged {
    fn on(mut card: MemoryCard) -> Self {
        (card.is_locked, card.is_out, card.answers_all) = (false, false, true);
        card.unreadable.clear();
        let micros = Rc::clone(&card.micros);
        let mut store = Slot::new(card, move || micros.get());
        let end = store.extent().unwrap_or_default().end;
        let (mut log, mut piece) = (Vec::new(), [0; 300]);
        while (log.len() as u64) < end {
            let (from, length) = store.read(log.len() as u64, &mut piece).expect("sound");
            assert!(length > 0);
            log.resize(from as usize, 0);
            log.extend_from_slice(&piece[..length]);
        }
        let (mut reader, mut rest, mut found) = (Reader::new(), log.as_slice(), Self::default());
        while let Some(entry) = reader.next(&mut rest) {
            match entry {
                Entry::Record { record, .. } => match record {
                    Record::Bead(bead) => found.beads.push((bead.number, bead.arc_samples)),
                    Record::Event(event) => found.events.push((event.kind, event.value)),
                    Record::Marker(marker) if !marker.note.is_empty() => found.notes.push(marker),
                    _ => {}
                },
                Entry::Damage { cause, .. } => panic!("{cause}"),
            }
        }
        found.missing = reader.counts().missing;
        found
    }

    fn troubles(&self) -> Vec<(Trouble, u32)> {
        let notes = self.notes.iter();
        notes
            .filter_map(|marker| Trouble::of_note(&marker.note))
            .collect()
    }

    fn value(&self, kind: EventKind) -> Option<i64> {
        let found = self.events.iter().find(|event| event.0 == kind);
        found.map(|event| event.1)
    }
}

/// Nothing, a card that was never prepared, one with something else in the file, one that ends before its file does, one
/// that cannot be read in its settings and its log.
fn of_no_use() -> Vec<(Trouble, MemoryCard)> {
    let first = MemoryCard::formatted(&FILE_NAME, FILE, 1).1;
    let mut dead = prepared(1);
    dead.unreadable = (first + 1..first + FILE - 1)
        .map(|sector| (sector, u32::MAX))
        .collect();
    let mut blank = MemoryCard::new(100, 1);
    blank.sectors[0][0] = 7;
    let mut other_file = prepared(1);
    other_file.sectors[first as usize].fill(b'x');
    let mut short = prepared(1);
    short.sectors.truncate((first + FILE / 2) as usize);
    let (no_file, _) = MemoryCard::formatted(b"PICTURE JPG", FILE, 1);
    vec![
        (Trouble::NoCard, empty_slot()),
        (Trouble::NotPrepared, blank),
        (Trouble::NotPrepared, no_file),
        (Trouble::NotPrepared, other_file),
        (Trouble::TooSmall, short),
        (Trouble::Unreadable, dead),
    ]
}

#[test]
fn a_card_that_cannot_be_used_is_told_and_the_next_one_is_taken_while_the_logger_works() {
    for (trouble, card) in of_no_use() {
        let mut shop = switched_on(card.clone());
        shop.works(20);
        assert_eq!(shop.said(), both(trouble));
        let shown = shop.bench.shown.get();
        let blinks = (0..1000).filter(|ms| shown.light(*ms) && !shown.light(ms + 999));
        assert!(blinks.count() >= 5, "{shown:?}");
        // It measures all the same, and counts what it cannot store.
        let live = shop.live();
        assert!(live.beads >= 9 && live.lost > 9, "{live:?}");
        let before = shop.change(prepared(5));
        // Nothing was written to a card that could not be used.
        assert_eq!(before.sectors, card.sectors, "{trouble:?}");
        shop.works(10);
        assert_eq!(shop.said(), NOTHING, "{trouble:?}");
        let live = shop.live();
        shop.bench.rests.set(true);
        shop.works(3);
        let logged = Logged::on(shop.off());
        let numbers: Vec<_> = logged.beads.iter().map(|bead| bead.0).collect();
        assert!(numbers.len() >= 2, "{trouble:?}: {logged:?}");
        assert!(numbers.iter().copied().eq(1..=live.beads), "{numbers:?}");
        assert!(logged.beads.iter().all(|bead| bead.1 == u64::from(RATE)));
        assert_eq!(logged.missing, 0);
        assert_eq!(logged.value(EventKind::PowerOn), Some(1));
        assert!(logged.value(EventKind::StoreFault) > Some(9));
        let [(told, beads)] = logged.troubles()[..] else {
            panic!("{trouble:?}: {logged:?}")
        };
        assert!(told == trouble && beads >= 9, "{told:?} {beads}");
    }
}

#[test]
fn a_card_whose_last_sector_is_dead_is_used() {
    let first = MemoryCard::formatted(&FILE_NAME, FILE, 1).1;
    let mut card = prepared(1);
    card.unreadable = [(first + FILE - 1, u32::MAX)].into_iter().collect();
    let mut shop = switched_on(card);
    shop.works(6);
    assert_eq!(shop.said(), NOTHING);
}

/// A card that is pulled out while it is read, or written, and pushed in again: what was stored stays, and goes on.
#[test]
fn a_card_that_is_away_for_a_while_goes_on_and_the_log_says_so() {
    for away_s in [1, 4, 9, 30] {
        for is_pulled in [false, true] {
            let mut shop = switched_on(prepared(5));
            shop.works(9);
            if is_pulled {
                // The first that meets the empty slot is a read.
                shop.bench.rests.set(true);
                shop.works(3);
                shop.card().is_out = true;
                let request = Request::Pull { from: 0, chunks: 1 };
                assert!(matches!(shop.ask(&request), Reply::Refused(_)));
                shop.bench.rests.set(false);
            }
            shop.card().is_out = true;
            shop.works(away_s);
            if away_s >= 9 {
                assert_eq!(shop.said(), both(Trouble::NoCard));
            }
            shop.card().is_out = false;
            shop.works(20);
            assert_eq!(shop.said(), NOTHING);
            shop.bench.rests.set(true);
            shop.works(3);
            let live = shop.live();
            let logged = Logged::on(shop.off());
            let last = logged.beads.last().map(|bead| bead.0);
            assert_eq!(last, Some(live.beads));
            if away_s >= 9 {
                assert_eq!(logged.troubles(), [(Trouble::NoCard, 0)], "{away_s} s");
                assert!(logged.value(EventKind::StoreFault) > Some(0));
            }
        }
    }
}

#[test]
fn a_locked_card_can_be_read_says_so_and_stores_once_it_is_unlocked() {
    let mut shop = switched_on(prepared(5));
    shop.works(9);
    let beads = shop.live().beads;
    shop.card().is_locked = true;
    shop.works(20);
    assert_eq!(shop.said(), both(Trouble::Locked));
    assert_eq!(
        shop.bench.shown.get().lines()[0].contains("ARC"),
        shop.bench.shown.get().arc_on
    );
    // What was stored can be downloaded all the same, without a wait.
    for at in 0..20 {
        let request = Request::Pull {
            from: 40 * at,
            chunks: 1,
        };
        let reply = shop.ask(&request);
        assert!(matches!(reply, Reply::Chunk(_)), "{reply:?}");
    }
    shop.card().is_locked = false;
    shop.works(20);
    assert_eq!(shop.said(), NOTHING);
    shop.bench.rests.set(true);
    shop.works(3);
    let logged = Logged::on(shop.off());
    assert!(
        logged
            .beads
            .iter()
            .map(|bead| bead.0)
            .take(beads as usize)
            .eq(1..=beads)
    );
    assert_eq!(logged.troubles(), [(Trouble::Locked, 0)]);
}

#[test]
fn a_slow_card_is_told_once_and_stores_everything() {
    let mut shop = switched_on(prepared(5));
    shop.works(5);
    assert_eq!(shop.said(), NOTHING);
    shop.card().write_us = 400_000;
    shop.works(20);
    assert_eq!(shop.said(), both(Trouble::Slow));
    assert!(shop.bench.shown.get().attention);
    let live = shop.live();
    shop.bench.rests.set(true);
    shop.works(3);
    let logged = Logged::on(shop.off());
    assert!(logged.beads.iter().map(|bead| bead.0).eq(1..=live.beads));
    assert_eq!(logged.troubles(), [(Trouble::Slow, 0)]);
    assert_eq!(logged.value(EventKind::StoreFault), None);
}

/// A card that says that it holds more than it does: what is written past its end would go over what is stored.
#[test]
fn a_card_with_less_room_than_it_says_loses_nothing_that_was_stored_and_is_told() {
    let (_, first) = MemoryCard::formatted(&FILE_NAME, FILE, 1);
    // It ends in the kept part, at its end, in the ring, near the end of the file.
    for end in [
        first + 200,
        first + 380,
        first + 420,
        first + 500,
        first + FILE - 20,
    ] {
        let mut card = prepared(5);
        card.wraps_at = Some(end);
        let mut shop = switched_on(card);
        let mut stored = 0;
        let mut seconds = 0;
        while shop.said() != both(Trouble::Wraps) {
            stored = shop.live().beads - u32::from(shop.live().arc_on);
            shop.works(20);
            seconds += 20;
            if seconds > 3000 {
                break;
            }
        }
        let said = shop.said();
        let card = shop.off();
        let logged = Logged::on(card);
        let numbers: Vec<_> = logged.beads.iter().map(|bead| bead.0).collect();
        println!("ends at {end}: {said:?} after {seconds} s, {stored} beads stored");
        assert_eq!(said, both(Trouble::Wraps), "ends at {end}: {numbers:?}");
        assert!(
            numbers.iter().copied().eq(1..=numbers.len() as u32) && numbers.len() as u32 >= stored,
            "ends at {end}: {stored} stored, {numbers:?}"
        );
    }
}

#[test]
fn a_card_that_was_written_elsewhere_meanwhile_goes_on_where_it_ends_now() {
    let mut shop = switched_on(prepared(5));
    shop.works(9);
    shop.bench.rests.set(true);
    shop.works(3);
    // Somebody takes it out, and another logger welds on with it.
    let away = shop.change(empty_slot());
    shop.works(10);
    let mut elsewhere = switched_on(away);
    elsewhere.works(30);
    let there = elsewhere.live().beads;
    elsewhere.bench.rests.set(true);
    elsewhere.works(3);
    shop.change(elsewhere.off());
    shop.bench.rests.set(false);
    shop.works(40);
    assert_eq!(shop.said(), NOTHING);
    shop.bench.rests.set(true);
    shop.works(3);
    let here = shop.live().beads;
    assert!(here > there + 5, "{here} {there}");
    let logged = Logged::on(shop.off());
    assert!(
        logged.beads.iter().map(|bead| bead.0).eq(1..=here),
        "{logged:?}"
    );
    assert_eq!(logged.value(EventKind::PowerOn), Some(1));
    assert_eq!(
        logged
            .events
            .iter()
            .filter(|event| event.0 == EventKind::PowerOn)
            .count(),
        3
    );
}

#[test]
fn a_full_card_is_changed_for_an_empty_one_while_the_logger_works() {
    let mut shop = switched_on(prepared(5));
    shop.works(9);
    shop.bench.rests.set(true);
    shop.works(3);
    let first = shop.change(prepared(6));
    let stored = shop.live().beads;
    shop.bench.rests.set(false);
    shop.works(40);
    assert_eq!(shop.said(), NOTHING);
    shop.bench.rests.set(true);
    shop.works(3);
    let beads = shop.live().beads;
    let (one, other) = (Logged::on(first), Logged::on(shop.off()));
    assert!(one.beads.iter().map(|bead| bead.0).eq(1..=stored));
    assert!(
        other.beads.iter().map(|bead| bead.0).eq(1..=beads),
        "{other:?}"
    );
    assert!(beads > 5);
    assert_eq!(other.troubles().len(), 1, "{other:?}");
}
