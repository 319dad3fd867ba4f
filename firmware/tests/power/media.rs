//! The media of the simulator as media whose plug can be pulled.

use crate::life::Plugged;
use coldsquare_core::journal::CELL;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::journal::flash::Flash;
use coldsquare_firmware::sim::{MemoryCard, MemoryFlash, Power};

impl Plugged for Card<MemoryCard> {
    fn power(&mut self) -> &mut Power {
        &mut self.sectors().power
    }

    fn reads(&mut self) -> u64 {
        self.sectors().reads
    }

    fn arc(&mut self, _: bool) {}

    fn answers(&mut self, all: bool) {
        let card = self.sectors();
        card.answers_all = all;
    }
}

impl Plugged for Flash<MemoryFlash> {
    fn power(&mut self) -> &mut Power {
        &mut self.flash().power
    }

    fn reads(&mut self) -> u64 {
        self.flash().read / CELL as u64
    }

    fn arc(&mut self, burns: bool) {
        self.flash().arc = burns;
    }
}
