//! A simulated card whose power can fail in the middle of a sector, with the faults that cards have.

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
    /// One read in this many is refused; 0 for none.
    pub refuses_reads_one_in: u32,
    /// It answers every read all the same, for a while.
    pub answers_all: bool,
    /// Sectors that refuse to be read, each for so many reads; `u32::MAX` for good.
    pub unreadable: Vec<(u32, u32)>,
    /// It is not in its slot.
    pub is_out: bool,
    /// Its slider is at *lock*: it can be read only.
    pub is_locked: bool,
    /// It has only so many sectors and tells of more: what is written past them goes round to the first.
    pub wraps_at: Option<u32>,
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
            refuses_reads_one_in: 0,
            answers_all: false,
            unreadable: Vec::new(),
            is_out: false,
            is_locked: false,
            wraps_at: None,
            reads: 0,
            written: Vec::new(),
        }
    }

    /// Where a sector lies.
    fn place(&self, sector: u32) -> usize {
        self.wraps_at.map_or(sector, |all| sector % all.max(1)) as usize
    }

    /// Whether it refuses to read this sector this time.
    fn refuses(&mut self, sector: u32) -> bool {
        if self.answers_all {
            return false;
        }
        let bad = self
            .unreadable
            .iter_mut()
            .find(|(bad, left)| *bad == sector && *left > 0);
        if let Some((_, left)) = bad {
            if *left < u32::MAX {
                *left -= 1;
            }
            return true;
        }
        self.refuses_reads_one_in > 0 && self.power.once_in(self.refuses_reads_one_in)
    }
}

impl Sectors for MemoryCard {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        self.reads += 1;
        if self.is_out || self.refuses(sector) {
            return Err(MediumError::Fault);
        }
        let found = self.sectors.get(self.place(sector));
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
        if self.power.is_gone() || self.is_out || self.is_locked {
            return Err(MediumError::Fault);
        }
        let place = self.place(sector);
        let Some(on_card) = self.sectors.get_mut(place) else {
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
