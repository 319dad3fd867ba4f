//! A simulated card whose power can fail in the middle of a sector.

use super::power::Power;
use crate::journal::MediumError;
use crate::journal::card::Sectors;
use coldsquare_core::journal::{CELL, CellBytes};

/// Sectors in memory.
#[derive(Clone, Debug)]
pub struct MemoryCard {
    /// Its content.
    pub sectors: Vec<CellBytes>,
    /// Its power.
    pub power: Power,
    /// One write in this many is refused, though it may have been done; 0 for none.
    pub refuses_one_in: u32,
    /// Sectors read so far.
    pub reads: u64,
    /// Sectors written so far, in order.
    pub written: Vec<u32>,
}

impl MemoryCard {
    /// A card with this many sectors of zeros.
    #[must_use]
    pub fn new(sectors: u32, seed: u64) -> Self {
        Self {
            sectors: vec![[0; CELL]; sectors as usize],
            power: Power::new(seed),
            refuses_one_in: 0,
            reads: 0,
            written: Vec::new(),
        }
    }
}

impl Sectors for MemoryCard {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        self.reads += 1;
        let found = self.sectors.get(sector as usize);
        match found {
            Some(found) if !self.power.is_gone() => {
                *into = *found;
                Ok(())
            }
            _ => Err(MediumError::Fault),
        }
    }

    /// If the power fails during it, the sector begins with new bytes and continues with old, new or random ones.
    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        if self.power.is_gone() {
            return Err(MediumError::Fault);
        }
        let Some(on_card) = self.sectors.get_mut(sector as usize) else {
            return Err(MediumError::Fault);
        };
        let refused = self.refuses_one_in > 0 && self.power.once_in(self.refuses_one_in);
        if refused && self.power.once_in(2) {
            return Err(MediumError::Fault);
        }
        let done = self.power.spend(CELL);
        let cut = done < CELL;
        on_card[..done].copy_from_slice(&bytes[..done]);
        if cut && self.power.once_in(3) {
            for byte in &mut on_card[done..] {
                *byte = self.power.any_byte();
            }
        }
        self.written.push(sector);
        if cut || refused {
            Err(MediumError::Fault)
        } else {
            Ok(())
        }
    }
}
