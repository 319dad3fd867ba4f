//! A card that refuses to write some of its sectors, and remembers what it was asked for.

use coldsquare_core::journal::CellBytes;
use coldsquare_firmware::journal::MediumError;
use coldsquare_firmware::journal::card::Sectors;
use coldsquare_firmware::sim::MemoryCard;

pub struct Stubborn {
    pub card: MemoryCard,
    /// Sectors, and how often each refuses.
    pub refuses: Vec<(u32, u32)>,
    /// What it refuses is done all the same.
    pub does: bool,
    /// Sectors that were to be written, in order.
    pub asked: Vec<u32>,
}

impl Stubborn {
    pub fn new(card: MemoryCard, refuses: Vec<(u32, u32)>) -> Self {
        Self {
            card,
            refuses,
            does: false,
            asked: Vec::new(),
        }
    }
}

impl Sectors for Stubborn {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        self.card.read(sector, into)
    }

    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        self.asked.push(sector);
        let left = self
            .refuses
            .iter_mut()
            .find(|(bad, left)| *bad == sector && *left > 0);
        let Some((_, left)) = left else {
            return self.card.write(sector, bytes);
        };
        *left -= 1;
        if self.does {
            self.card.write(sector, bytes)?;
        }
        Err(MediumError::Fault)
    }
}
