//! Every sector of a card, one after the other, refuses to be read or has a flipped bit, while the logger starts, is read,
//! is cleared or goes round its ring: no acknowledged bead is lost, and nothing that lacks one is called whole.

use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::journal::Layout;
use coldsquare_core::record::{Entry, Event, EventKind, MAX_FRAME, Reader, Record, encode};
use coldsquare_core::samples::{RawPair, WindowSums};
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::sim::MemoryCard;
use coldsquare_firmware::store::{Store, StoreError};

/// A small card: the ring goes round after some hundred records.
const SECTORS: u32 = 120;
/// Cells of a segment.
const SEGMENT: u32 = 8;
/// How often a byte is asked for before it counts as lost.
const ASKED: u32 = 20;

/// What happens to a sector.
#[derive(Clone, Copy, Debug)]
enum Fault {
    /// It refuses to be read this many times.
    Refuses(u32),
    /// One of its bits flips.
    Flips,
}

const FAULTS: [Fault; 4] = [
    Fault::Refuses(1),
    Fault::Refuses(2),
    Fault::Refuses(u32::MAX),
    Fault::Flips,
];

/// A logger's records, numbered.
pub struct Pen {
    pub sequence: u32,
    pub position: u64,
}

impl Pen {
    pub fn put(&mut self, store: &mut impl Store, record: &Record) -> Result<(), StoreError> {
        let mut frame = [0; MAX_FRAME];
        let length = encode(self.sequence, record, &mut frame).expect("in range");
        self.sequence += 1;
        store.append(&frame[..length])
    }

    /// These beads, each with a window, acknowledged one by one.
    pub fn beads(&mut self, store: &mut impl Store, numbers: std::ops::RangeInclusive<u32>) {
        for number in numbers {
            let window = self.window();
            self.put(store, &Record::Window(window)).expect("room");
            let mut bead = Bead {
                number,
                start: window.start,
                ..Bead::default()
            };
            bead.add_window(&window);
            self.put(store, &Record::Bead(bead)).expect("room");
            store.sync().expect("it writes");
        }
    }

    pub fn windows(&mut self, store: &mut impl Store, count: u32) {
        for _ in 0..count {
            let window = self.window();
            self.put(store, &Record::Window(window)).expect("room");
        }
        store.sync().expect("it writes");
    }

    fn window(&mut self) -> Window {
        let mut sums = WindowSums::EMPTY;
        for _ in 0..100 {
            assert!(sums.add(RawPair::new(2000, 10_000)), "few enough");
        }
        let start = self.position;
        self.position += 100;
        Window {
            start,
            arc_on: true,
            sums,
            clipped_voltage: 0,
            clipped_current: 0,
            dropped: 0,
        }
    }

    /// Goes on where a journal does, and says that the power came on.
    pub fn after<M: coldsquare_firmware::journal::Medium>(journal: &mut Journal<M>) -> Self {
        let resume = journal.resume();
        let mut pen = Self {
            sequence: resume.sequence,
            position: resume.position,
        };
        let starts = resume.starts + 1;
        pen.event(journal, EventKind::PowerOn, starts.into());
        pen
    }

    fn event(&mut self, store: &mut impl Store, kind: EventKind, value: i64) {
        let event = Event {
            position: self.position,
            kind,
            value,
        };
        self.put(store, &Record::Event(event)).expect("room");
        store.sync().expect("it writes");
    }
}

type OnCard = Card<MemoryCard>;

fn begin(store: &mut impl Store, kind: EventKind) -> Pen {
    let mut pen = Pen {
        sequence: 0,
        position: 0,
    };
    let header = Record::Header(crate::life::header(0, 7));
    pen.put(store, &header).expect("room");
    pen.event(store, kind, 1);
    pen
}

/// A log that was cleared after thirty beads, with twelve since.
fn cleared() -> (OnCard, u32) {
    let mut card = prepared();
    let mut journal = Journal::mount(&mut card).expect("prepared");
    begin(&mut journal, EventKind::PowerOn).beads(&mut journal, 1..=30);
    journal.clear().expect("it writes");
    begin(&mut journal, EventKind::StoreCleared).beads(&mut journal, 1..=12);
    drop(journal);
    (card, 12)
}

/// A log whose ring has gone round.
fn gone_round() -> (OnCard, u32) {
    let mut card = prepared();
    let mut journal = Journal::mount(&mut card).expect("prepared");
    let mut pen = begin(&mut journal, EventKind::PowerOn);
    pen.beads(&mut journal, 1..=20);
    pen.windows(&mut journal, 800);
    pen.beads(&mut journal, 21..=25);
    assert!(!is_whole(&mut journal), "windows made room");
    drop(journal);
    (card, 25)
}

fn prepared() -> OnCard {
    let mut card = MemoryCard::new(SECTORS, 1);
    let layout = Layout::divide(3, SECTORS, SEGMENT, 160).expect("large enough");
    card.sectors[0] = layout.to_cell();
    Card::at(card, 0, SECTORS)
}

fn harm(card: &mut MemoryCard, sector: u32, fault: Fault) {
    match fault {
        Fault::Refuses(times) => card.unreadable = vec![(sector, times)],
        Fault::Flips => {
            let bit = (sector * 37) as usize % 4096;
            card.sectors[sector as usize][bit / 8] ^= 1 << (bit % 8);
        }
    }
}

/// What is read, byte by byte as a computer would ask for it: `None` when the journal says that it cannot.
fn read(store: &mut impl Store) -> Option<Vec<u8>> {
    let end = store.extent().expect("it can be read").end;
    let (mut log, mut piece) = (Vec::new(), [0; 200]);
    while (log.len() as u64) < end {
        let at = log.len() as u64;
        let (place, length) = (0..ASKED).find_map(|_| store.read(at, &mut piece).ok())?;
        assert!(length > 0, "an empty answer before the end");
        log.resize(place as usize, 0);
        log.extend_from_slice(&piece[..length]);
    }
    Some(log)
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
    (beads, reader.counts().is_whole())
}

fn is_whole(store: &mut impl Store) -> bool {
    read(store).is_some_and(|log| beads_in(&log).1)
}

/// Every bead is there, once and in order, when the card answers again.
fn all_there(card: &mut OnCard, beads: u32, told: &str) {
    card.sectors().unreadable.clear();
    let mut journal = Journal::mount(card).unwrap_or_else(|why| panic!("{told}: {why}"));
    let log = read(&mut journal).expect("the card answers");
    assert!(
        beads_in(&log).0.into_iter().eq(1..=beads),
        "{told}: {:?}",
        beads_in(&log).0
    );
}

/// Each sector of each store with each fault.
fn each(mut what: impl FnMut(OnCard, u32, u32, Fault, &str)) {
    for (name, store) in [
        ("cleared", cleared as fn() -> (OnCard, u32)),
        ("gone round", gone_round),
    ] {
        let (sound, beads) = store();
        let sound = sound.into_sectors();
        for sector in 0..SECTORS {
            for fault in FAULTS {
                let told = format!("{name}, sector {sector}, {fault:?}");
                what(
                    Card::at(sound.clone(), 0, SECTORS),
                    beads,
                    sector,
                    fault,
                    &told,
                );
            }
        }
    }
}

#[test]
fn a_start_beside_a_bad_sector_loses_no_bead() {
    let mut waited = 0;
    each(|mut card, mut beads, sector, fault, told| {
        harm(card.sectors(), sector, fault);
        if let Ok(mut journal) = Journal::mount(&mut card) {
            assert_eq!(journal.resume().beads, beads, "{told}");
            let mut pen = Pen::after(&mut journal);
            pen.beads(&mut journal, beads + 1..=beads + 3);
            beads += 3;
        } else {
            waited += 1;
        }
        all_there(&mut card, beads, told);
    });
    // Only the first cell has no second.
    assert!(waited <= 2, "{waited} starts waited");
}

#[test]
fn what_is_read_beside_a_bad_sector_is_all_of_it_or_not_called_whole() {
    each(|mut card, beads, sector, fault, told| {
        let mut journal = Journal::mount(&mut card).expect("sound so far");
        harm(journal.medium().sectors(), sector, fault);
        if let Some(log) = read(&mut journal) {
            let (found, whole) = beads_in(&log);
            assert!(found.len() as u32 == beads || !whole, "{told}: {found:?}");
            let lost = matches!(fault, Fault::Refuses(u32::MAX));
            assert!(found.len() as u32 == beads || lost, "{told}: {found:?}");
        }
        drop(journal);
        all_there(&mut card, beads, told);
    });
}

#[test]
fn a_clear_beside_a_bad_sector_leaves_the_old_log_or_the_new_one() {
    each(|mut card, beads, sector, fault, told| {
        let mut journal = Journal::mount(&mut card).expect("sound so far");
        harm(journal.medium().sectors(), sector, fault);
        let left = if journal.clear().is_ok() {
            begin(&mut journal, EventKind::StoreCleared).beads(&mut journal, 1..=4);
            4
        } else {
            beads
        };
        drop(journal);
        // The fault stays for the next start too, at which more is welded.
        let mut left = left;
        if let Ok(mut journal) = Journal::mount(&mut card) {
            let mut pen = Pen::after(&mut journal);
            pen.beads(&mut journal, left + 1..=left + 1);
            left += 1;
        }
        all_there(&mut card, left, told);
    });
}

#[test]
fn a_ring_that_goes_round_a_bad_sector_drops_no_bead() {
    each(|mut card, beads, sector, fault, told| {
        let mut journal = Journal::mount(&mut card).expect("sound so far");
        harm(journal.medium().sectors(), sector, fault);
        let resume = journal.resume();
        let mut pen = Pen {
            sequence: resume.sequence,
            position: resume.position,
        };
        pen.windows(&mut journal, 700);
        pen.beads(&mut journal, beads + 1..=beads + 1);
        drop(journal);
        if let Ok(mut journal) = Journal::mount(&mut card) {
            Pen::after(&mut journal).beads(&mut journal, beads + 2..=beads + 2);
            drop(journal);
            all_there(&mut card, beads + 2, told);
        } else {
            all_there(&mut card, beads + 1, told);
        }
    });
}

/// The card stops answering at any read of a start, for a while or for good.
#[test]
fn a_start_on_a_card_that_answers_badly_waits_or_loses_nothing() {
    let (sound, beads) = cleared();
    let sound = sound.into_sectors();
    let (mut waited, mut started) = (0, 0);
    for burst in [1, 2, 3, 4, 6, 9, 16, 40, u64::MAX] {
        for from in 0..90 {
            let told = format!("{burst} reads refused from the {from}th on");
            let mut card = Card::at(Bursts::new(sound.clone(), from, burst), 0, SECTORS);
            let mut beads = beads;
            if let Ok(mut journal) = Journal::mount(&mut card) {
                started += 1;
                Pen::after(&mut journal).beads(&mut journal, beads + 1..=beads + 2);
                beads += 2;
            } else {
                waited += 1;
            }
            let mut card = Card::at(card.into_sectors().card, 0, SECTORS);
            all_there(&mut card, beads, &told);
        }
    }
    assert!(
        waited > 50 && started > 200,
        "{waited} waited, {started} started"
    );
}

/// A card that refuses a run of reads.
pub struct Bursts {
    pub card: MemoryCard,
    pub refused: std::ops::Range<u64>,
    pub asked: u64,
}

impl Bursts {
    pub fn new(card: MemoryCard, from: u64, count: u64) -> Self {
        Self {
            card,
            refused: from..from.saturating_add(count),
            asked: 0,
        }
    }
}

impl coldsquare_firmware::journal::card::Sectors for Bursts {
    fn read(
        &mut self,
        sector: u32,
        into: &mut coldsquare_core::journal::CellBytes,
    ) -> Result<(), coldsquare_firmware::journal::MediumError> {
        self.asked += 1;
        if self.refused.contains(&(self.asked - 1)) {
            return Err(coldsquare_firmware::journal::MediumError::Fault);
        }
        self.card.read(sector, into)
    }

    fn write(
        &mut self,
        sector: u32,
        bytes: &coldsquare_core::journal::CellBytes,
    ) -> Result<(), coldsquare_firmware::journal::MediumError> {
        self.card.write(sector, bytes)
    }
}
