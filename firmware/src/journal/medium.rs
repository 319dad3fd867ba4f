//! What a journal is written on: cells that are read and written whole.

use coldsquare_core::journal::{CellBytes, CellError, CellHeader, open, open_mending};
use coldsquare_core::trouble::Trouble;

/// Cells to try, one after the other, when the medium refuses a write.
pub(super) const TRIES: u32 = 4;

/// How often a cell is read that cannot be read, or is not whole.
pub(super) const READS: u32 = 3;

/// Why a cell says nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unread {
    /// It was never written.
    Blank,
    /// It was read, and is not whole: torn, damaged, or of newer firmware.
    Damaged,
    /// The medium refuses to read it. What is in it nobody knows.
    Refused,
}

/// Reads a cell, again if it is refused or not whole, and sets one flipped bit right.
pub(super) fn read_cell(
    medium: &mut impl Medium,
    cell: u32,
    into: &mut CellBytes,
) -> Result<CellHeader, Unread> {
    let mut found = Err(Unread::Refused);
    for _ in 0..READS {
        if medium.read(cell, into).is_err() {
            continue;
        }
        match open(into) {
            Ok(header) => return Ok(header),
            Err(CellError::Blank) => return Err(Unread::Blank),
            Err(CellError::Damaged | CellError::Newer { .. }) => found = Err(Unread::Damaged),
        }
    }
    if found == Err(Unread::Damaged) {
        found = open_mending(into).map_err(|_| Unread::Damaged);
    }
    found
}

/// Why a cell was not read or written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MediumError {
    /// There is something in it, and this medium writes only where there is nothing.
    NotBlank,
    /// The medium reported a fault, or what was read back is not what was written.
    Fault,
}

/// Cells of 512 bytes.
pub trait Medium {
    /// A cell can be written only after it was erased.
    const MUST_ERASE: bool;

    /// How many cells there are.
    fn cells(&self) -> u32;

    /// Cells that are erased at once; where nothing must be erased, any number, as long as it is always the same.
    fn segment(&self) -> u32;

    /// Reads one.
    ///
    /// # Errors
    /// [`MediumError::Fault`].
    fn read(&mut self, cell: u32, into: &mut CellBytes) -> Result<(), MediumError>;

    /// Writes one; when it returns, the bytes survive a loss of power.
    ///
    /// # Errors
    /// [`MediumError`]; the cell may then hold anything.
    fn write(&mut self, cell: u32, bytes: &CellBytes) -> Result<(), MediumError>;

    /// Makes the segment blank that begins with `cell`.
    ///
    /// # Errors
    /// [`MediumError::Fault`]; the segment may then hold anything.
    fn erase(&mut self, cell: u32) -> Result<(), MediumError>;

    /// What is wrong with it, if it knows.
    fn trouble(&self) -> Option<Trouble> {
        None
    }
}

impl<M: Medium> Medium for &mut M {
    const MUST_ERASE: bool = M::MUST_ERASE;

    fn cells(&self) -> u32 {
        M::cells(self)
    }

    fn segment(&self) -> u32 {
        M::segment(self)
    }

    fn read(&mut self, cell: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        M::read(self, cell, into)
    }

    fn write(&mut self, cell: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        M::write(self, cell, bytes)
    }

    fn erase(&mut self, cell: u32) -> Result<(), MediumError> {
        M::erase(self, cell)
    }

    fn trouble(&self) -> Option<Trouble> {
        M::trouble(self)
    }
}
