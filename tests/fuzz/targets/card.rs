//! Cells with any content, many of them whole: the reader of cards makes a log of them or says why not, and a logger that
//! finds them starts or says why not, stores a record, and gives out a log that ends with it.
#![no_main]

use coldsquare_core::journal::{CELL, CellHeader, Content, Layout, payload_mut, seal};
use coldsquare_core::record::{MAX_FRAME, Marker, MarkerKind, Record, encode};
use coldsquare_engine::card::log_of;
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::sim::MemoryCard;
use coldsquare_firmware::store::Store;

const CELLS: u32 = 40;
const JOURNAL: u32 = 7;

/// A note with this number in the log.
fn note(sequence: u32) -> Vec<u8> {
    let marker = Marker { position: 5, kind: MarkerKind::Note, weld: None, note: Default::default() };
    let mut frame = [0; MAX_FRAME];
    let length = encode(sequence, &Record::Marker(marker), &mut frame).expect("it fits");
    frame[..length].to_vec()
}

/// Puts a cell on the card; returns the rest of the input.
fn put<'a>(cells: &mut [[u8; CELL]], input: &'a [u8]) -> Option<&'a [u8]> {
    let (&[place, kind, length, journal, number, offset, far, beads], rest) = input.split_first_chunk()?;
    let (bytes, rest) = rest.split_at(rest.len().min(2 * usize::from(length)));
    let cell = &mut cells[usize::from(place) % CELLS as usize];
    if kind % 8 == 0 {
        cell[..bytes.len()].copy_from_slice(bytes);
        return Some(rest);
    }
    let room = payload_mut(cell);
    let used = bytes.len().min(room.len());
    room[..used].copy_from_slice(&bytes[..used]);
    if kind & 64 > 0 {
        let note = note(number.into());
        room[..note.len()].copy_from_slice(&note);
    }
    let content = match kind % 4 {
        0 => Content::Layout,
        1 => Content::Settings,
        2 => Content::Retained,
        _ => Content::Log,
    };
    let far = |number: u8| if far % 16 == 0 { u64::MAX - u64::from(number) } else { number.into() };
    let header = CellHeader {
        content,
        journal: JOURNAL + u32::from(journal % 4),
        number: number.into(),
        offset: 100 * u64::from(offset),
        used: used as u16,
        beads: beads.into(),
        starts: far(beads) as u32,
    };
    seal(&header, cell);
    Some(rest)
}

libfuzzer_sys::fuzz_target!(|input: &[u8]| {
    let layout = Layout::divide(JOURNAL, CELLS, 2, 128).expect("large enough");
    let mut sectors = MemoryCard::new(CELLS, 1);
    sectors.sectors[0] = layout.to_cell();
    let mut rest = Some(input);
    while let Some(input) = rest {
        rest = put(&mut sectors.sectors, input);
    }
    let _ = log_of(&sectors.sectors.concat());
    let Ok(mut journal) = Journal::mount(Card::at(sectors, 0, CELLS)) else { return };
    let note = note(journal.resume().sequence);
    let stored = journal.append(&note).and_then(|()| journal.sync()).is_ok();
    let end = journal.extent().map_or(0, |extent| extent.end);
    let (mut at, mut bytes) = (0, [0; 200]);
    while let Ok((place, length @ 1..)) = journal.read(at, &mut bytes) {
        assert!(place >= at && place.saturating_add(length as u64) <= end);
        at = place + length as u64;
    }
    // Whatever lies there, what it has just stored can be read.
    assert!(!stored || at == end, "{at} of {end}");
    let _ = log_of(&journal.into_medium().into_sectors().sectors.concat());
});
