//! A journal in NOR flash.
//!
//! Bits go from 1 to 0 when a word is programmed and back only when a whole block is erased, and a loss of power leaves a
//! word, or a block, that may read as anything, blank too. So:
//!
//! - a cell is read before it is written, and passed over unless it is blank; its first word is the same in all cells of
//!   an area, so one whose programming had begun and does not show yet gets the same bits once more;
//! - its last word, the checksum, is programmed after the others, and it is read back;
//! - a block is used only when its erasing was seen to end, or something was written to it since: after power has come on,
//!   blocks that look blank are erased again;
//! - blocks are erased between beads only.

use super::medium::{Medium, MediumError};
use coldsquare_core::journal::{CELL, CellBytes};
use embedded_storage::nor_flash::NorFlash;

/// The largest word that the last of a cell can be.
const MOST_WRITE: usize = 256;

/// Part of a flash, as cells.
#[derive(Debug)]
pub struct Flash<F> {
    flash: F,
    first: u32,
    cells: u32,
}

/// Why a part of a flash does not suit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// It must begin and end where a block does, inside the flash.
    Place,
    /// Words, blocks or reads have sizes that do not divide a cell of 512 bytes, or are no whole number of cells. A word
    /// must have at least 4 bytes: where the chip allows less, say 4.
    Sizes,
}

impl core::fmt::Display for Unfit {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Place => "a journal begins and ends where a block of the flash does, inside it",
            Self::Sizes => {
                "this flash has words or blocks that do not suit: words of 4 to 256 bytes, blocks of whole cells of 512"
            }
        })
    }
}

impl core::error::Error for Unfit {}

impl<F: NorFlash> Flash<F> {
    /// The bytes from `from` and before `to`.
    ///
    /// # Errors
    /// [`Unfit`].
    pub fn new(flash: F, from: u32, to: u32) -> Result<Self, Unfit> {
        let word = F::WRITE_SIZE;
        let words = (4..=MOST_WRITE).contains(&word) && CELL.is_multiple_of(word);
        let blocks = F::ERASE_SIZE.is_multiple_of(CELL) && F::ERASE_SIZE > 0;
        if !words || !blocks || F::READ_SIZE == 0 || !CELL.is_multiple_of(F::READ_SIZE) {
            return Err(Unfit::Sizes);
        }
        let block = u32::try_from(F::ERASE_SIZE).map_err(|_| Unfit::Sizes)?;
        let inside = from < to && u64::from(to) <= flash.capacity() as u64;
        if !inside || !from.is_multiple_of(block) || !to.is_multiple_of(block) {
            return Err(Unfit::Place);
        }
        Ok(Self {
            flash,
            first: from,
            cells: (to - from) / CELL as u32,
        })
    }

    /// The flash, its other bytes too.
    pub const fn flash(&mut self) -> &mut F {
        &mut self.flash
    }

    fn address(&self, cell: u32) -> Result<u32, MediumError> {
        if cell >= self.cells {
            return Err(MediumError::Fault);
        }
        cell.checked_mul(CELL as u32)
            .and_then(|at| at.checked_add(self.first))
            .ok_or(MediumError::Fault)
    }

    fn program(&mut self, address: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        let last = CELL - F::WRITE_SIZE;
        let (body, checksum) = bytes.split_at_checked(last).ok_or(MediumError::Fault)?;
        let after = address.checked_add(last as u32).ok_or(MediumError::Fault)?;
        let written = self.flash.write(address, body);
        written.map_err(|_| MediumError::Fault)?;
        let written = self.flash.write(after, checksum);
        written.map_err(|_| MediumError::Fault)
    }
}

impl<F: NorFlash> Medium for Flash<F> {
    const MUST_ERASE: bool = true;

    fn cells(&self) -> u32 {
        self.cells
    }

    fn segment(&self) -> u32 {
        (F::ERASE_SIZE / CELL) as u32
    }

    fn read(&mut self, cell: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        let address = self.address(cell)?;
        self.flash
            .read(address, into)
            .map_err(|_| MediumError::Fault)
    }

    fn write(&mut self, cell: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        let address = self.address(cell)?;
        let mut there = [0; CELL];
        self.read(cell, &mut there)?;
        if there.iter().any(|&byte| byte != 0xFF) {
            return Err(MediumError::NotBlank);
        }
        self.program(address, bytes)?;
        self.read(cell, &mut there)?;
        if there == *bytes {
            Ok(())
        } else {
            Err(MediumError::Fault)
        }
    }

    fn erase(&mut self, cell: u32) -> Result<(), MediumError> {
        let from = self.address(cell)?;
        let block = F::ERASE_SIZE as u32;
        let to = from.checked_add(block).ok_or(MediumError::Fault)?;
        self.flash.erase(from, to).map_err(|_| MediumError::Fault)
    }
}
