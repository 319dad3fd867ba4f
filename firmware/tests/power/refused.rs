//! A card that refuses writes and does them all the same: what it did is older than what is written next, and must not
//! stand above it.

use coldsquare_core::journal::{CellBytes, Layout};
use coldsquare_core::record::{Event, EventKind, MAX_FRAME, Record, encode};
use coldsquare_firmware::journal::card::{Card, SEGMENT, Sectors};
use coldsquare_firmware::journal::{Journal, MediumError};
use coldsquare_firmware::sim::MemoryCard;
use coldsquare_firmware::store::Store;

const CELLS: u32 = 1000;

/// After so many writes that go well, so many are done and refused.
struct Contrary {
    card: MemoryCard,
    well: u32,
    refuses: u32,
}

impl Sectors for Contrary {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        self.card.read(sector, into)
    }

    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        self.card.write(sector, bytes)?;
        if let Some(left) = self.well.checked_sub(1) {
            self.well = left;
        } else if let Some(left) = self.refuses.checked_sub(1) {
            self.refuses = left;
            return Err(MediumError::Fault);
        }
        Ok(())
    }
}

fn press(sequence: u32) -> Vec<u8> {
    let event = Record::Event(Event {
        position: sequence.into(),
        kind: EventKind::PowerOn,
        value: sequence.into(),
    });
    let mut frame = [0; MAX_FRAME];
    let length = encode(sequence, &event, &mut frame).expect("in range");
    frame[..length].to_vec()
}

/// One sync during which the card is contrary, and `then` more before the plug is pulled.
fn lived(well: u32, refuses: u32, then: u32) {
    let told = format!("{well} done, {refuses} refused, then {then} syncs");
    let mut card = MemoryCard::new(CELLS, 1);
    let layout = Layout::divide(1, CELLS, SEGMENT, 64).expect("large enough");
    card.sectors[0] = layout.to_cell();
    let contrary = Contrary {
        card,
        well: u32::MAX,
        refuses: 0,
    };
    let mut card = Card::at(contrary, 0, CELLS);
    let mut journal = Journal::mount(&mut card).expect("mounted");
    let mut log = press(0);
    journal.append(&log).expect("room");
    (
        journal.medium().sectors().well,
        journal.medium().sectors().refuses,
    ) = (well, refuses);
    let mut stored = journal.sync();
    for sequence in 1..=then {
        log.extend(press(sequence));
        journal.append(&press(sequence)).expect("room");
        stored = journal.sync();
    }
    if stored.is_err() {
        return;
    }
    let mut journal = Journal::mount(&mut card).expect("mounted");
    assert_eq!(journal.resume().sequence, then + 1, "{told}");
    let (mut found, mut piece) = (Vec::new(), [0; 512]);
    while let (_, length @ 1..) = journal.read(found.len() as u64, &mut piece).expect("sound") {
        found.extend_from_slice(&piece[..length]);
    }
    assert!(found == log, "{told}");
}

#[test]
fn what_a_refused_write_left_never_hides_what_was_stored_after_it() {
    for well in 0..6 {
        for refuses in 0..14 {
            (1..9).for_each(|then| lived(well, refuses, then));
        }
    }
}
