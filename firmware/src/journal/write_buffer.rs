//! The cell that is being filled, before it is written.

use super::medium::TRIES;
use super::search::Area;
use coldsquare_core::journal::{
    CELL, CellBytes, CellHeader, PAYLOAD_AT, payload_mut, put_retained, seal,
};

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

    /// Whether a cell with this header and payload is what a refused write of this buffer left, before more came into it.
    pub fn was_written_as(&self, header: &CellHeader, payload: &[u8]) -> bool {
        let ours = self.cell.get(PAYLOAD_AT..PAYLOAD_AT + self.used);
        header.offset == self.offset && ours.is_some_and(|ours| ours.starts_with(payload))
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

    /// Makes the buffer the cell with this number.
    pub fn seal(&mut self, number: u32, beads: u32, starts: u32) {
        let header = CellHeader {
            content: self.area.content,
            journal: self.area.journal,
            number,
            offset: self.offset,
            used: self.used as u16,
            beads,
            starts,
        };
        seal(&header, &mut self.cell);
    }

    /// Empties the buffer once it is written in this cell; gives the offset after its content.
    pub const fn written(&mut self, number: u32) -> u64 {
        let end = self.offset.saturating_add(self.used as u64);
        self.skip(number);
        self.used = 0;
        end
    }

    /// The cell holds something and stays that way until it is erased: the next one is next.
    pub const fn skip(&mut self, number: u32) -> u32 {
        self.next = number.saturating_add(1);
        self.refused = 0;
        self.next
    }

    /// The medium refused the content in this cell; gives the number of the cell to try now. The last of the cells to
    /// try, and the last before `end`, is tried repeatedly.
    pub const fn refuse(&mut self, number: u32, end: u32) -> u32 {
        let following = number.saturating_add(1);
        if self.refused + 1 < TRIES && following < end {
            self.refused += 1;
            following
        } else {
            number
        }
    }
}
