//! A slot by itself: what it asks for, how often, and what it tells of what it finds.

use crate::cells::frame;
use crate::life::header;
use coldsquare_core::journal::fat::FILE_NAME;
use coldsquare_core::journal::{CellBytes, Layout};
use coldsquare_core::record::Record;
use coldsquare_core::trouble::Trouble;
use coldsquare_firmware::journal::MediumError;
use coldsquare_firmware::journal::card::{SEGMENT, Sectors};
use coldsquare_firmware::journal::slot::{LOOK_AGAIN_US, Slot};
use coldsquare_firmware::sim::MemoryCard;
use coldsquare_firmware::store::Store;
use std::cell::{Cell, RefCell};
use std::rc::Rc;

const FILE: u32 = 64 * 9;

/// The card in the slot.
#[derive(Clone)]
struct Inserted(Rc<RefCell<MemoryCard>>);

impl Sectors for Inserted {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        self.0.borrow_mut().read(sector, into)
    }

    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        self.0.borrow_mut().write(sector, bytes)
    }
}

/// A prepared card, and the first sector of its journal.
fn prepared() -> (Inserted, u32) {
    let (mut card, first) = MemoryCard::formatted(&FILE_NAME, FILE, 1);
    let layout = Layout::divide(5, FILE, SEGMENT, 100).expect("large enough");
    card.sectors[first as usize] = layout.to_cell();
    (Inserted(Rc::new(RefCell::new(card))), first)
}

#[test]
fn an_empty_slot_is_looked_at_every_five_seconds() {
    let (card, _) = prepared();
    card.0.borrow_mut().is_out = true;
    let now_us = Rc::new(Cell::new(0));
    let ticks = Rc::clone(&now_us);
    let mut slot = Slot::new(card.clone(), move || ticks.get());
    let rests = |slot: &mut Slot<_, _>, ms: u32| {
        let before = card.0.borrow().reads;
        for _ in 0..ms {
            now_us.set(now_us.get() + 1000);
            slot.idle();
        }
        card.0.borrow().reads - before
    };
    let look_ms = LOOK_AGAIN_US / 1000;
    assert_eq!(rests(&mut slot, look_ms - 1), 0);
    // Four times a look: one that was just put in needs a moment.
    assert_eq!(rests(&mut slot, 1), 4);
    assert_eq!(rests(&mut slot, 6 * look_ms), 24);
    assert_eq!(slot.trouble(), Some(Trouble::NoCard));
    assert!(!slot.can_clear() && slot.clear().is_err() && slot.extent().is_none());
    card.0.borrow_mut().is_out = false;
    assert!(rests(&mut slot, look_ms) > 0);
    assert_eq!(slot.trouble(), None);
    assert!(slot.can_clear() && slot.clear().is_ok());
}

#[test]
fn a_card_whose_folder_cannot_be_read_is_not_said_to_lack_its_file() {
    let (card, first) = prepared();
    // Its root folder lies before the file.
    card.0.borrow_mut().unreadable = vec![(first - 1, u32::MAX)];
    let slot = Slot::new(card, || 0);
    assert_eq!(slot.trouble(), Some(Trouble::Unreadable));
}

#[test]
fn the_settings_of_a_card_are_told_when_it_is_found() {
    let (card, _) = prepared();
    let mut slot = Slot::new(card.clone(), || 0);
    assert_eq!(slot.last_header(), None);
    let header = header(0, 7);
    slot.append(&frame(0, &Record::Header(header.clone())))
        .expect("room");
    slot.sync().expect("it writes");
    let slot = Slot::new(card, || 0);
    assert_eq!(slot.last_header(), Some(&header));
    assert_eq!(slot.resume().sequence, 1);
}
