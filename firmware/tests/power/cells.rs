//! A card's file, cell by cell, and small logs on it.

use crate::life::header;
use coldsquare_core::journal::{CELL, CellHeader, Content, Layout, MAX_CLEARED, PAYLOAD, seal};
use coldsquare_core::record::{Event, EventKind, MAX_FRAME, Record, encode};
use coldsquare_core::trouble::Trouble;
use coldsquare_firmware::journal::card::{Card, SEGMENT};
use coldsquare_firmware::journal::guarded::Guarded;
use coldsquare_firmware::journal::{Journal, Medium, MediumError};
use coldsquare_firmware::sim::MemoryCard;
use coldsquare_firmware::store::{Store, StoreError};

const CELLS: u32 = 200;
const JOURNAL: u32 = 3;

pub fn layout() -> Layout {
    Layout::divide(JOURNAL, CELLS, 8, 128).expect("large enough")
}

/// A card that was just prepared: 88 cells for the kept log from cell 24 on, 88 for the ring from cell 112 on.
pub fn prepared() -> Card<MemoryCard> {
    let mut card = MemoryCard::new(CELLS, 1);
    card.sectors[0] = layout().to_cell();
    Card::at(card, 0, CELLS)
}

pub fn event(sequence: u32, kind: EventKind, value: i64) -> Vec<u8> {
    let event = Record::Event(Event {
        position: sequence.into(),
        kind,
        value,
    });
    frame(sequence, &event)
}

pub fn frame(sequence: u32, record: &Record) -> Vec<u8> {
    let mut frame = [0; MAX_FRAME];
    let length = encode(sequence, record, &mut frame).expect("in range");
    frame[..length].to_vec()
}

/// The whole log, of which nothing was dropped.
pub fn read(journal: &mut impl Store) -> Vec<u8> {
    let (mut log, mut piece) = (Vec::new(), [0; 300]);
    let end = journal.extent().expect("a log").end;
    while (log.len() as u64) < end {
        let (from, length) = journal.read(log.len() as u64, &mut piece).expect("sound");
        assert_eq!((from, length > 0), (log.len() as u64, true));
        log.extend_from_slice(&piece[..length]);
    }
    log
}

#[test]
fn a_sector_beside_the_file_is_neither_read_nor_written() {
    let mut card = Card::at(MemoryCard::new(30, 1), 7, 10);
    assert_eq!(card.write(9, &[1; CELL]), Ok(()));
    for cell in [10, 11, u32::MAX] {
        assert_eq!(card.write(cell, &[1; CELL]), Err(MediumError::Fault));
        assert_eq!(card.read(cell, &mut [0; CELL]), Err(MediumError::Fault));
    }
    assert_eq!(
        (card.sectors().reads, &card.sectors().written[..]),
        (0, &[16][..])
    );
}

#[test]
fn a_card_that_is_prepared_again_has_nothing_of_its_earlier_log() {
    let cells = 9 * SEGMENT;
    let mut card = MemoryCard::new(cells + 1, 1);
    card.sectors.fill([0xA5; CELL]);
    let mut card = Card::at(card, 0, cells);
    let layout = Journal::prepare(&mut card, JOURNAL, 128).expect("it answers");
    assert_eq!(layout.segment, SEGMENT);
    let sectors = &card.sectors().sectors;
    assert_eq!(sectors[0], layout.to_cell());
    assert!(
        sectors[1..cells as usize]
            .iter()
            .all(|cell| *cell == [0; CELL])
    );
    assert_eq!(sectors[cells as usize], [0xA5; CELL], "not of its file");
    let mut journal = Journal::mount(card).expect("prepared");
    assert_eq!((journal.resume().sequence, read(&mut journal)), (0, vec![]));
}

#[test]
fn a_journal_tells_what_its_card_knows_to_be_wrong() {
    let mut card = Card::at(Guarded::new(prepared().into_sectors(), || 0), 0, CELLS);
    let mut journal = Journal::mount(&mut card).expect("prepared");
    assert_eq!(journal.trouble(), None);
    journal.medium().sectors().sectors().is_locked = true;
    journal
        .append(&event(0, EventKind::PowerOn, 1))
        .expect("room");
    assert_eq!(journal.sync(), Err(StoreError::Fault));
    assert_eq!(journal.trouble(), Some(Trouble::Locked));
}

/// Many presses between two syncs, and among them one that no cell holds.
#[test]
fn records_that_fill_cells_between_two_syncs_are_all_stored() {
    let mut card = prepared();
    let mut journal = Journal::mount(&mut card).expect("prepared");
    let mut log = Vec::new();
    for sequence in 0..200 {
        let press = event(sequence, EventKind::PowerOn, 1);
        assert_eq!(journal.append(&press), Ok(()), "{sequence}");
        log.extend(press);
        let too_long = [5; PAYLOAD - 5];
        if sequence % 60 == 30 {
            assert_eq!(journal.append(&too_long), Err(StoreError::Fault));
        }
    }
    journal.sync().expect("it writes");
    assert!(read(&mut journal) == log);
    let mut journal = Journal::mount(card).expect("sound");
    assert_eq!(journal.resume().sequence, 200);
    assert!(read(&mut journal) == log);
}

#[test]
fn no_event_but_power_on_counts_as_a_start() {
    let mut card = prepared();
    let mut journal = Journal::mount(&mut card).expect("prepared");
    for (sequence, kind, value) in [
        (0, EventKind::PowerOn, 4),
        (1, EventKind::StoreFault, 900),
        (2, EventKind::CurrentClipped, 700),
    ] {
        journal.append(&event(sequence, kind, value)).expect("room");
    }
    journal.sync().expect("it writes");
    drop(journal);
    let journal = Journal::mount(card).expect("sound");
    assert_eq!(journal.resume().starts, 4);
}

/// Each clearing takes a number, and the numbers run out.
#[test]
fn a_journal_that_was_cleared_as_often_as_it_can_be_keeps_its_log() {
    for (cleared, can) in [(MAX_CLEARED - 1, true), (MAX_CLEARED, false)] {
        let mut card = prepared();
        for cell in layout().settings().concat() {
            let header = CellHeader {
                content: Content::Settings,
                journal: JOURNAL + cleared,
                number: 1,
                offset: 0,
                used: 0,
                beads: 0,
                starts: 0,
            };
            seal(&header, &mut card.sectors().sectors[cell as usize]);
        }
        let mut journal = Journal::mount(&mut card).expect("sound");
        let press = event(0, EventKind::PowerOn, 1);
        journal.append(&press).expect("room");
        journal.sync().expect("it writes");
        assert_eq!((journal.cleared(), journal.can_clear()), (cleared, can));
        assert_eq!(journal.clear().is_ok(), can);
        drop(journal);
        let mut journal = Journal::mount(&mut card).expect("sound");
        assert_eq!(journal.cleared(), MAX_CLEARED);
        assert_eq!(read(&mut journal), if can { vec![] } else { press });
    }
}

/// The header of these tests, which says how many samples a second has.
pub fn rate() -> Vec<u8> {
    frame(0, &Record::Header(header(0, 7)))
}
