//! A card on a board's SPI as the sectors of the logger's journal. Whoever makes the bus gives it the 74 clocks at
//! 400 kHz or less, with the card not selected, that wake a card.
#![no_std]

use coldsquare_core::journal::CellBytes;
use coldsquare_firmware::journal::MediumError;
use coldsquare_firmware::journal::card::Sectors;
use embedded_hal::delay::DelayNs;
use embedded_hal::spi::SpiDevice;
use embedded_sdmmc::sdcard::spi::AcquireOpts;
use embedded_sdmmc::{Block, BlockDevice, BlockIdx, SdCard};

/// Whoever looks for a card asks again; a card that is not there must not hold up the rest for seconds.
const OPTIONS: AcquireOpts = AcquireOpts {
    use_crc: true,
    acquire_retries: 1,
};

/// The card. It is spoken to when the first sector is asked for.
pub struct Sd<S: SpiDevice, D: DelayNs>(SdCard<S, D>);

impl<S: SpiDevice, D: DelayNs> Sd<S, D> {
    /// The card on this bus.
    pub fn new(bus: S, delay: D) -> Self {
        Self(SdCard::new_with_options(bus, delay, OPTIONS))
    }

    /// After a fault it may have been taken out and put back: it is spoken to anew next time.
    fn answered<E>(&self, answer: Result<(), E>) -> Result<(), MediumError> {
        answer.map_err(|_| {
            self.0.mark_card_uninit();
            MediumError::Fault
        })
    }

    /// The bus, for a faster clock once a sector was read.
    pub fn with_bus<T>(&self, work: impl FnOnce(&mut S) -> T) -> T {
        self.0.spi(work)
    }
}

impl<S: SpiDevice, D: DelayNs> Sectors for Sd<S, D> {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        let mut block = [Block::new()];
        let read = self.0.read(&mut block, BlockIdx(sector));
        self.answered(read)?;
        let [block] = block;
        *into = block.contents;
        Ok(())
    }

    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        let block = Block { contents: *bytes };
        let written = self.0.write(&[block], BlockIdx(sector));
        self.answered(written)
    }
}
