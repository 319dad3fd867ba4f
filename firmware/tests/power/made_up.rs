//! Cells with good checksums that no journal wrote: somebody made the card. A logger that starts on it stores its records
//! and gives out a log that ends where it says.

use coldsquare_core::journal::{CellHeader, Content, Layout, payload_mut, put_retained, seal};
use coldsquare_core::record::{MAX_FRAME, Marker, MarkerKind, Record, encode};
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::sim::MemoryCard;
use coldsquare_firmware::store::Store;

const CELLS: u32 = 40;
const JOURNAL: u32 = 7;

fn layout() -> Layout {
    Layout::divide(JOURNAL, CELLS, 2, 128).expect("large enough")
}

/// The first cell of an area with this content at this place of the log.
fn card_with(content: Content, offset: u64, bytes: &[u8]) -> MemoryCard {
    let mut card = MemoryCard::new(CELLS, 1);
    card.sectors[0] = layout().to_cell();
    let area = match content {
        Content::Log => layout().ring(),
        _ => layout().retained(),
    };
    let cell = &mut card.sectors[area.first as usize];
    payload_mut(cell)[..bytes.len()].copy_from_slice(bytes);
    let header = CellHeader {
        content,
        journal: JOURNAL,
        number: 0,
        offset,
        used: bytes.len() as u16,
        beads: 0,
        starts: 0,
    };
    seal(&header, cell);
    card
}

fn note(sequence: u32) -> Vec<u8> {
    let marker = Marker {
        position: 5,
        kind: MarkerKind::Note,
        weld: None,
        note: Default::default(),
    };
    let mut frame = [0; MAX_FRAME];
    let length = encode(sequence, &Record::Marker(marker), &mut frame).expect("it fits");
    frame[..length].to_vec()
}

/// Stores a note and reads the log to its end; returns what is read.
fn stored_and_read(card: MemoryCard) -> Vec<u8> {
    let mut journal = Journal::mount(Card::at(card, 0, CELLS)).expect("a journal");
    let note = note(journal.resume().sequence);
    journal.append(&note).expect("room");
    journal.sync().expect("it answers");
    let end = journal.extent().expect("a log").end;
    let (mut at, mut piece, mut read) = (0, [0; 200], Vec::new());
    while at < end {
        let (place, length) = journal.read(at, &mut piece).expect("it answers");
        assert!(
            place >= at && length > 0,
            "{length} bytes at {place} of {end}, asked for {at}"
        );
        read.extend(&piece[..length]);
        at = place + length as u64;
    }
    assert_eq!(at, end, "it ends where it says");
    assert!(read.ends_with(&note), "what was just stored is its end");
    read
}

#[test]
fn a_cell_with_nothing_in_it_is_no_part_of_the_log() {
    for content in [Content::Log, Content::Retained] {
        let read = stored_and_read(card_with(content, 18_000, &[]));
        assert_eq!(read, note(0));
    }
}

#[test]
fn a_log_goes_on_behind_a_cell_that_holds_no_records() {
    let read = stored_and_read(card_with(Content::Log, 4_800, &[5; 21]));
    assert_eq!(read.len(), 21 + note(0).len());
}

#[test]
fn a_log_goes_on_behind_retained_records_in_any_order() {
    let mut bytes = [0; 100];
    let mut used = 0;
    for offset in [300, 20] {
        let record = note(3);
        used += put_retained(0, offset, &record, &mut bytes[used..]).expect("room");
    }
    let read = stored_and_read(card_with(Content::Retained, 0, &bytes[..used]));
    assert!(read.starts_with(&note(3)));
}

#[test]
fn a_retained_record_without_bytes_does_not_end_the_log() {
    let nothing = [39, 0, 0, 0, 0, 0];
    let read = stored_and_read(card_with(Content::Retained, 0, &nothing));
    assert_eq!(read, note(0));
}
