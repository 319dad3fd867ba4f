//! The cell that is being filled, before it is written.

use super::search::Area;
use coldsquare_core::journal::{CELL, CellBytes, payload_mut, put_retained};

/// The cell at the end of an area that is being filled.
#[derive(Debug)]
pub(super) struct WriteBuffer {
    pub area: Area,
    /// Number of the next cell.
    pub next: u32,
    /// Cells before this number can be written without erasing.
    pub erased_to: u32,
    /// Cells from there on that failed to take the content. The medium may have written it all the same, so it is tried
    /// again only at greater numbers: of two cells with one offset the greater number counts.
    pub refused: u32,
    /// Place of the first byte in the buffer.
    pub offset: u64,
    pub used: usize,
    pub cell: CellBytes,
}

impl WriteBuffer {
    pub const fn new(area: Area, next: u32) -> Self {
        Self {
            area,
            next,
            erased_to: u32::MAX,
            refused: 0,
            offset: 0,
            used: 0,
            cell: [0; CELL],
        }
    }

    pub const fn is_empty(&self) -> bool {
        self.used == 0
    }

    /// Adds bytes of the log; false if they do not follow what is there or do not fit.
    pub fn add(&mut self, offset: u64, frame: &[u8]) -> bool {
        if self.is_empty() {
            self.offset = offset;
        }
        if self.offset.saturating_add(self.used as u64) != offset {
            return false;
        }
        let Some(room) = payload_mut(&mut self.cell).get_mut(self.used..) else {
            return false;
        };
        let Some(to) = room.get_mut(..frame.len()) else {
            return false;
        };
        to.copy_from_slice(frame);
        self.used += frame.len();
        true
    }

    /// Adds a record to the retained log; false if it does not fit.
    pub fn add_retained(&mut self, offset: u64, frame: &[u8]) -> bool {
        if self.is_empty() {
            self.offset = offset;
        }
        let room = payload_mut(&mut self.cell).get_mut(self.used..);
        match room.and_then(|room| put_retained(self.offset, offset, frame, room)) {
            Some(length) => {
                self.used += length;
                true
            }
            None => false,
        }
    }
}
