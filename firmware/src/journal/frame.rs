//! A record as it lies in a cell.

use coldsquare_core::record::{Record, decode};

/// Sequence number and record of a frame with its boundaries.
pub(super) fn decode_frame(frame: &[u8]) -> Option<(u32, Record)> {
    let inside = frame.get(1..frame.len().checked_sub(1)?)?;
    decode(inside).ok()
}
