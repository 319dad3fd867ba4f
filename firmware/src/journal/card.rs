//! A journal on a card: a file that lies in one piece is so many sectors, overwritten where they are.
//!
//! Nothing of the file system changes while the logger runs: the file had its length and its clusters before.

use super::fat::{self, FILE_NAME, SectorRange, Unreadable};
use super::medium::{Medium, MediumError};
use coldsquare_core::journal::{CELL, CellBytes};
use coldsquare_core::trouble::Trouble;

/// Sectors of 512 bytes: a card.
pub trait Sectors {
    /// Reads the sector with this number.
    ///
    /// # Errors
    /// [`MediumError::Fault`].
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError>;

    /// Writes the sector with this number; returns once it is written.
    ///
    /// # Errors
    /// [`MediumError::Fault`].
    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError>;

    /// What is wrong with it, if it knows.
    fn trouble(&self) -> Option<Trouble> {
        None
    }
}

/// Cells that count as a segment on a card: what lies in different ones shares no page of the card's own flash.
pub const SEGMENT: u32 = 64;

/// Where the journal's file lies, see [`Card::find`].
pub(super) fn find(sectors: &mut impl Sectors) -> Result<SectorRange, fat::NotFound> {
    fat::find(&FILE_NAME, &mut |sector, into: &mut CellBytes| {
        let read = sectors.read(sector, into);
        read.map_err(|_: MediumError| Unreadable)
    })
}

/// A journal's file on a card.
#[derive(Debug)]
pub struct Card<D> {
    sectors: D,
    range: SectorRange,
}

impl<D: Sectors> Card<D> {
    /// Looks for [`FILE_NAME`] on a card with a partition table and a FAT32 file system, or a file system without a
    /// table. Reads as many sectors as [`fat::find`] says.
    ///
    /// # Errors
    /// [`fat::NotFound`] says what to do.
    pub fn find(mut sectors: D) -> Result<Self, fat::NotFound> {
        let range = find(&mut sectors)?;
        Ok(Self { sectors, range })
    }

    /// The journal lies at these sectors.
    #[must_use]
    pub const fn at(sectors: D, first: u32, count: u32) -> Self {
        Self {
            sectors,
            range: SectorRange { first, count },
        }
    }

    /// Where the journal lies.
    #[must_use]
    pub const fn range(&self) -> SectorRange {
        self.range
    }

    /// The card, its other sectors too.
    pub const fn sectors(&mut self) -> &mut D {
        &mut self.sectors
    }

    /// Gives the card back.
    pub fn into_sectors(self) -> D {
        self.sectors
    }

    fn sector(&self, cell: u32) -> Result<u32, MediumError> {
        if cell < self.range.count {
            self.range.first.checked_add(cell).ok_or(MediumError::Fault)
        } else {
            Err(MediumError::Fault)
        }
    }
}

impl<D: Sectors> Medium for Card<D> {
    const MUST_ERASE: bool = false;

    fn cells(&self) -> u32 {
        self.range.count
    }

    fn segment(&self) -> u32 {
        SEGMENT
    }

    fn read(&mut self, cell: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        let sector = self.sector(cell)?;
        self.sectors.read(sector, into)
    }

    fn write(&mut self, cell: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        let sector = self.sector(cell)?;
        self.sectors.write(sector, bytes)
    }

    fn erase(&mut self, cell: u32) -> Result<(), MediumError> {
        for cell in cell..cell.saturating_add(SEGMENT) {
            self.write(cell, &[0; CELL])?;
        }
        Ok(())
    }

    fn trouble(&self) -> Option<Trouble> {
        self.sectors.trouble()
    }
}
