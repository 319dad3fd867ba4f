//! How a log lies on a card or in flash: cells of 512 bytes, each whole or absent.
//!
//! ```text
//! cell 0            the layout
//! settings          the last header, kept across power failures: two segments, written in turn, two cells in each
//! retained log      beads, headers, markers, events: filled once, from the front
//! ring              the whole log with its windows; when it is full, its oldest cells make room
//! ```
//!
//! A cell holds whole records, so a lost cell never leaves half of one. Every byte of a log has an *offset* from its
//! beginning that never changes; a cell's header states the offset of its first byte. `docs/journal.md` lists the bytes of
//! every cell.
//!
//! ```
//! use coldsquare_core::journal::Layout;
//!
//! // 4096 cells in segments of 64, a quarter of them for the retained log.
//! let layout = Layout::divide(7, 4096, 64, 64)?;
//! let first = layout.to_cell();
//! assert_eq!(Layout::of_cell(&first, 4096), Ok(layout));
//! # Ok::<(), coldsquare_core::journal::LayoutError>(())
//! ```

mod cell;
pub mod fat;
mod layout;
#[cfg(test)]
mod tests;

pub use cell::{
    CELL, CellBytes, CellError, CellHeader, Content, PAYLOAD, PAYLOAD_AT, open, open_mending,
    payload, payload_mut, seal,
};
pub use layout::{CellRange, Layout, LayoutError, MAX_CLEARED, SEGMENTS_BEFORE_RETAINED};

/// Bytes before each record in the retained log: its offset from that of the cell, and its length.
pub const RETAINED_PREFIX: usize = 6;

/// The kind byte of a frame. COBS leaves it unchanged, because neither it nor the version is ever zero.
#[must_use]
pub fn kind_of(frame: &[u8]) -> Option<u8> {
    match frame {
        [0, code, 1, kind, ..] if *code > 2 => Some(*kind),
        _ => None,
    }
}

/// Whether a frame is a window, the only kind of record that is dropped to make room.
#[must_use]
pub fn is_window(frame: &[u8]) -> bool {
    kind_of(frame) == Some(3)
}

/// Writes one entry of the retained log; returns its length, or `None` if there is no room or the record's offset is not
/// within 2^32 of the cell's.
pub fn put_retained(cell_offset: u64, offset: u64, frame: &[u8], into: &mut [u8]) -> Option<usize> {
    let distance = u32::try_from(offset.checked_sub(cell_offset)?).ok()?;
    let length = u16::try_from(frame.len()).ok()?;
    let whole = RETAINED_PREFIX.checked_add(frame.len())?;
    let entry = into.get_mut(..whole)?;
    entry.get_mut(..4)?.copy_from_slice(&distance.to_le_bytes());
    entry.get_mut(4..6)?.copy_from_slice(&length.to_le_bytes());
    entry.get_mut(6..)?.copy_from_slice(frame);
    Some(whole)
}

/// The records in a cell of the retained log, each with its offset.
#[must_use]
pub fn retained(cell_offset: u64, payload: &[u8]) -> Retained<'_> {
    Retained {
        offset: cell_offset,
        rest: payload,
    }
}

/// See [`retained`].
#[derive(Clone, Debug)]
pub struct Retained<'a> {
    offset: u64,
    rest: &'a [u8],
}

impl<'a> Iterator for Retained<'a> {
    type Item = (u64, &'a [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        let (&[d0, d1, d2, d3, l0, l1], rest) = self.rest.split_first_chunk::<RETAINED_PREFIX>()?;
        let length = usize::from(u16::from_le_bytes([l0, l1]));
        let (frame, rest) = rest.split_at_checked(length)?;
        // No journal writes a record without bytes.
        if frame.is_empty() {
            return None;
        }
        self.rest = rest;
        let distance = u64::from(u32::from_le_bytes([d0, d1, d2, d3]));
        Some((self.offset.saturating_add(distance), frame))
    }
}

/// The frames in a piece of a log that begins and ends with whole frames.
#[must_use]
pub fn frames(bytes: &[u8]) -> Frames<'_> {
    Frames { rest: bytes }
}

/// See [`frames`].
#[derive(Clone, Debug)]
pub struct Frames<'a> {
    rest: &'a [u8],
}

impl<'a> Iterator for Frames<'a> {
    type Item = &'a [u8];

    fn next(&mut self) -> Option<Self::Item> {
        let inside = self.rest.get(1..)?;
        let end = inside.iter().position(|&byte| byte == 0)?.checked_add(2)?;
        let (frame, rest) = self.rest.split_at_checked(end)?;
        self.rest = rest;
        Some(frame)
    }
}
