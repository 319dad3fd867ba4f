//! The card.

use crate::hardware::{CardBus, Micros, set_card_speed};
use crate::restart::feed_at_start;
use coldsquare_core::journal::CellBytes;
use coldsquare_firmware::journal::MediumError;
use coldsquare_firmware::journal::card::Sectors;
use coldsquare_firmware::journal::slot::Slot;
use coldsquare_sd::Sd;
use rp235x_hal::fugit::HertzU32;

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

/// The slot of the card, which may be taken out and put back.
pub type CardSlot = Slot<Sectored, Micros>;

/// Looks for a card with a journal's file.
pub fn slot(bus: CardBus, micros: Micros, peripherals_hz: HertzU32) -> CardSlot {
    let sectors = Sectored {
        sd: Sd::new(bus, micros),
        peripherals_hz,
        awake: false,
    };
    Slot::new(sectors, micros)
}
