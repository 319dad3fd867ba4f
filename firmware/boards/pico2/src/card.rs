//! The card, and a logger without one.

use crate::hardware::{CardBus, Micros, set_card_speed};
use crate::restart::feed_at_start;
use coldsquare_core::journal::{CELL, CellBytes};
use coldsquare_firmware::clock::Ticks;
use coldsquare_firmware::journal::card::{Card, Sectors};
use coldsquare_firmware::journal::guarded::Guarded;
use coldsquare_firmware::journal::{Journal, MediumError};
use coldsquare_firmware::store::{Extent, Store, StoreError};
use coldsquare_sd::Sd;
use core::cell::Cell;
use rp235x_hal::fugit::HertzU32;

/// Attempts to reach a card before it counts as missing.
const TRIES: u32 = 4;
/// A card without a journal, or none, is looked at again after this time, µs.
const LOOK_AGAIN_US: u32 = 5_000_000;

/// The card's sectors: slow until it answers, then fast, and slow again after a fault.
pub struct Sectored {
    sd: Sd<CardBus, Micros>,
    peripherals_hz: HertzU32,
    awake: bool,
}

impl Sectored {
    fn adapt_speed(&mut self, answered: Result<(), MediumError>) -> Result<(), MediumError> {
        if answered.is_ok() != self.awake {
            self.awake = answered.is_ok();
            let (hz, awake) = (self.peripherals_hz, self.awake);
            self.sd.with_bus(|bus| set_card_speed(bus, hz, awake));
        }
        answered
    }
}

impl Sectors for Sectored {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        let read = self.sd.read(sector, into);
        feed_at_start();
        self.adapt_speed(read)
    }

    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        let written = self.sd.write(sector, bytes);
        self.adapt_speed(written)
    }
}

/// The card, which may be taken out and put back.
type Slot = Guarded<Sectored, Micros>;

/// The journal, if there is one.
pub struct CardStore {
    /// The journal.
    pub journal: Option<Journal<Card<Slot>>>,
    /// The slot of a card without a journal that can be used, and when it was looked at last.
    waiting: Option<(Slot, u32)>,
    micros: Micros,
    /// The last record was refused.
    refused: &'static Cell<bool>,
}

impl CardStore {
    /// Looks for a card with a journal's file. `refused` is true while nothing can be stored.
    pub fn find(
        bus: CardBus,
        micros: Micros,
        peripherals_hz: HertzU32,
        refused: &'static Cell<bool>,
    ) -> Self {
        let mut sectors = Sectored {
            sd: Sd::new(bus, micros),
            peripherals_hz,
            awake: false,
        };
        let mut first = [0; CELL];
        let _ = (0..TRIES).any(|_| sectors.read(0, &mut first).is_ok());
        let mut slot = Guarded::new(sectors, micros);
        let mut store = Self {
            journal: None,
            waiting: None,
            micros,
            refused,
        };
        // Looked at twice: a journal that cannot be used keeps what it lies on.
        match journal(&mut slot) {
            Some((first, count)) => {
                store.journal = Journal::mount(Card::at(slot, first, count)).ok()
            }
            None => store.waiting = Some((slot, store.micros.micros())),
        }
        refused.set(store.journal.is_none());
        store
    }

    /// Looks again whether there is a card with a journal now, and if so starts the board anew: nothing was stored so far,
    /// and the log goes on where that journal ends. Called while no bead is open.
    fn look_again(&mut self) {
        let now_us = self.micros.micros();
        let Some((slot, since_us)) = &mut self.waiting else {
            return;
        };
        if now_us.wrapping_sub(*since_us) < LOOK_AGAIN_US {
            return;
        }
        *since_us = now_us;
        if journal(slot).is_some() {
            cortex_m::peripheral::SCB::sys_reset();
        }
    }

    /// Calls the journal; without one every record is refused and so counted as lost.
    fn with_journal<R>(
        &mut self,
        call: impl FnOnce(&mut Journal<Card<Slot>>) -> Result<R, StoreError>,
    ) -> Result<R, StoreError> {
        let answer = self.journal.as_mut().map_or(Err(StoreError::Fault), call);
        self.refused.set(answer.is_err());
        answer
    }
}

/// Where the journal of this card lies, if it can be used.
fn journal(slot: &mut Slot) -> Option<(u32, u32)> {
    let range = Card::find(&mut *slot).ok()?.range();
    slot.know(range.first).ok()?;
    let mut card = Card::at(&mut *slot, range.first, range.count);
    Journal::mount(&mut card).ok()?;
    Some((range.first, range.count))
}

impl Store for CardStore {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        self.with_journal(|journal| journal.append(record))
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        self.with_journal(Store::sync)
    }

    fn idle(&mut self) {
        match &mut self.journal {
            Some(journal) => journal.idle(),
            None => self.look_again(),
        }
    }

    fn can_clear(&self) -> bool {
        self.journal.as_ref().is_some_and(Store::can_clear)
    }

    fn clear(&mut self) -> Result<(), StoreError> {
        self.with_journal(Store::clear)
    }

    fn extent(&self) -> Option<Extent> {
        self.journal.as_ref().and_then(Store::extent)
    }

    fn read(&mut self, from: u64, into: &mut [u8]) -> Result<(u64, usize), StoreError> {
        let journal = self.journal.as_mut().ok_or(StoreError::Fault)?;
        journal.read(from, into)
    }
}
