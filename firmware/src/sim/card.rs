//! A simulated card whose power can fail in the middle of a sector, with every fault that cards have.

use super::power::Power;
use crate::journal::MediumError;
use crate::journal::card::Sectors;
use coldsquare_core::journal::{CELL, CellBytes};
use std::cell::Cell;
use std::rc::Rc;

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
    /// Once in this many times that it is spoken to it is pulled out, and pushed in again a while later; 0 for never.
    pub leaves_one_in: u32,
    /// How often it is still spoken to in vain: it is out, or was just put in and must be woken.
    pub silent_for: u32,
    /// It answers everything all the same, for a while.
    pub answers_all: bool,
    /// Sectors that refuse to be read, each for so many reads; `u32::MAX` for good.
    pub unreadable: Vec<(u32, u32)>,
    /// It is not in its slot.
    pub is_out: bool,
    /// Its slider is at *lock*: it can be read only.
    pub is_locked: bool,
    /// It has only so many sectors and tells of more: what lies past them is taken for the first ones again.
    pub wraps_at: Option<u32>,
    /// The time that a write takes, µs: `micros` goes on by that much.
    pub write_us: u32,
    /// A clock beside it.
    pub micros: Rc<Cell<u32>>,
    /// Sectors read so far.
    pub reads: u64,
    /// Sectors written so far, in order.
    pub written: Vec<u32>,
    /// Sectors in which a bit has flipped since they were written.
    flipped: Vec<u32>,
}

/// The longest that a card is away, in times that it is spoken to.
const MOST_AWAY: u32 = 60;

impl MemoryCard {
    /// A card with this many sectors of zeros.
    #[must_use]
    pub fn new(sectors: u32, seed: u64) -> Self {
        Self {
            sectors: vec![[0; CELL]; sectors as usize],
            power: Power::new(seed),
            refuses_one_in: 0,
            refuses_reads_one_in: 0,
            leaves_one_in: 0,
            silent_for: 0,
            answers_all: false,
            unreadable: Vec::new(),
            is_out: false,
            is_locked: false,
            wraps_at: None,
            write_us: 0,
            micros: Rc::default(),
            reads: 0,
            written: Vec::new(),
            flipped: Vec::new(),
        }
    }

    /// A card of FAT32 without a table, whose root folder has one file of this many sectors, in one piece. It is found at
    /// the sector that is given back.
    #[must_use]
    pub fn formatted(name: &[u8; 11], file: u32, seed: u64) -> (Self, u32) {
        const RESERVED: u32 = 2;
        const ROOT: u32 = 2;
        let fat = (file + 3).div_ceil(CELL as u32 / 4);
        let data = RESERVED + 2 * fat;
        // Clusters of one sector: the root folder, then the file.
        let mut card = Self::new(data + 1 + file, seed);
        let all = card.sectors.len() as u32;
        let mut put = |sector: u32, at: usize, bytes: &[u8]| {
            card.sectors[sector as usize][at..at + bytes.len()].copy_from_slice(bytes);
        };
        // Fields as in `core::journal::fat`.
        put(0, 11, &(CELL as u16).to_le_bytes());
        put(0, 13, &[1]);
        put(0, 14, &(RESERVED as u16).to_le_bytes());
        put(0, 16, &[2]);
        put(0, 32, &all.to_le_bytes());
        put(0, 36, &fat.to_le_bytes());
        put(0, 44, &ROOT.to_le_bytes());
        put(0, 510, &[0x55, 0xAA]);
        for cluster in ROOT..ROOT + 1 + file {
            let is_last = cluster == ROOT || cluster == ROOT + file;
            let next: u32 = if is_last { 0x0FFF_FFFF } else { cluster + 1 };
            let at = cluster as usize % (CELL / 4) * 4;
            let sector = RESERVED + cluster / (CELL as u32 / 4);
            put(sector, at, &next.to_le_bytes());
            put(sector + fat, at, &next.to_le_bytes());
        }
        put(data, 0, name);
        put(data, 26, &(ROOT as u16 + 1).to_le_bytes());
        put(data, 28, &(file * CELL as u32).to_le_bytes());
        (card, data + 1)
    }

    /// Flips one bit of a sector, one at most since it was written.
    pub fn flip(&mut self, sector: u32, bit: u32) {
        if self.flipped.contains(&sector) {
            return;
        }
        let place = self.place(sector);
        let byte = (bit / 8) as usize % CELL;
        if let Some(found) = self.sectors.get_mut(place) {
            found[byte] ^= 1 << (bit % 8);
            self.flipped.push(sector);
        }
    }

    /// Where a sector lies.
    fn place(&self, sector: u32) -> usize {
        self.wraps_at.map_or(sector, |all| sector % all.max(1)) as usize
    }

    /// Whether nothing in the slot answers this time.
    fn is_silent(&mut self) -> bool {
        if self.is_out || self.power.is_gone() {
            return true;
        }
        if self.answers_all {
            self.silent_for = 0;
        } else if self.silent_for == 0
            && self.leaves_one_in > 0
            && self.power.once_in(self.leaves_one_in)
        {
            self.silent_for = 1 + u32::from(self.power.any_byte()) % MOST_AWAY;
        }
        let is_away = self.silent_for > 0;
        self.silent_for = self.silent_for.saturating_sub(1);
        is_away
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
        if self.is_silent() || self.refuses(sector) {
            return Err(MediumError::Fault);
        }
        let found = self.sectors.get(self.place(sector));
        *into = *found.ok_or(MediumError::Fault)?;
        Ok(())
    }

    /// If the power fails during it, the sector begins with new bytes and continues with old, new or random ones.
    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        if self.is_silent() || self.is_locked {
            return Err(MediumError::Fault);
        }
        self.micros
            .set(self.micros.get().wrapping_add(self.write_us));
        let place = self.place(sector);
        let Some(on_card) = self.sectors.get_mut(place) else {
            return Err(MediumError::Fault);
        };
        let refused =
            !self.answers_all && self.refuses_one_in > 0 && self.power.once_in(self.refuses_one_in);
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
        self.flipped.retain(|flipped| *flipped != sector);
        self.written.push(sector);
        if cut || refused {
            Err(MediumError::Fault)
        } else {
            Ok(())
        }
    }
}
