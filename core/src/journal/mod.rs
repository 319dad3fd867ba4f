//! How a log lies on a card or in flash: cells of 512 bytes, each whole or not there.
//!
//! ```text
//! cell 0            what lies where
//! two settings      the calibration kept over a loss of power, written in turn
//! kept area         beads, headers, markers, events: filled once, from the front
//! ring              the whole log, windows too; when it is full, its oldest cells make room
//! ```
//!
//! Records stand whole in a cell, so a lost cell costs whole records and leaves no half of one. Every byte of a log has
//! a *place*, counted from its beginning, that never changes; a cell says where its bytes belong. The bytes of every
//! cell are written down in `docs/journal.md`.

mod cell;
pub mod fat;
mod layout;
#[cfg(test)]
mod tests;

pub use cell::{
    CELL, CellBytes, Content, Head, PAYLOAD, PAYLOAD_AT, Unsound, open, payload, payload_mut, seal,
};
pub use layout::{Area, Layout, LayoutError, MAX_CLEARED, SEGMENTS_BEFORE_RETAINED};

/// Bytes before each record in the kept area: its place after the cell's, and its length.
pub const RETAINED_PREFIX: usize = 6;

/// The kind byte of a frame: it stands plainly before any zero byte, because neither it nor the version ever is zero.
#[must_use]
pub fn kind_of(frame: &[u8]) -> Option<u8> {
    match frame {
        [0, code, 1, kind, ..] if *code > 2 => Some(*kind),
        _ => None,
    }
}

/// Whether a frame is a window: the only kind of record that makes room when a store is full.
#[must_use]
pub fn is_window(frame: &[u8]) -> bool {
    kind_of(frame) == Some(3)
}

/// Writes one record's entry of the kept area; gives its length, `None` when there is no room or the record's place is
/// not within 2^32 of the cell's.
pub fn put_retained(cell_place: u64, place: u64, frame: &[u8], into: &mut [u8]) -> Option<usize> {
    let distance = u32::try_from(place.checked_sub(cell_place)?).ok()?;
    let length = u16::try_from(frame.len()).ok()?;
    let whole = RETAINED_PREFIX.checked_add(frame.len())?;
    let entry = into.get_mut(..whole)?;
    entry.get_mut(..4)?.copy_from_slice(&distance.to_le_bytes());
    entry.get_mut(4..6)?.copy_from_slice(&length.to_le_bytes());
    entry.get_mut(6..)?.copy_from_slice(frame);
    Some(whole)
}

/// The records in a cell of the kept area, each with its place.
#[must_use]
pub fn kept(cell_place: u64, payload: &[u8]) -> Kept<'_> {
    Kept {
        place: cell_place,
        rest: payload,
    }
}

/// See [`kept`].
#[derive(Clone, Debug)]
pub struct Kept<'a> {
    place: u64,
    rest: &'a [u8],
}

impl<'a> Iterator for Kept<'a> {
    type Item = (u64, &'a [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        let (&[d0, d1, d2, d3, l0, l1], rest) = self.rest.split_first_chunk::<RETAINED_PREFIX>()?;
        let length = usize::from(u16::from_le_bytes([l0, l1]));
        let (frame, rest) = rest.split_at_checked(length)?;
        self.rest = rest;
        let distance = u64::from(u32::from_le_bytes([d0, d1, d2, d3]));
        Some((self.place.saturating_add(distance), frame))
    }
}

/// The frames in a piece of a log that begins and ends with whole ones.
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
