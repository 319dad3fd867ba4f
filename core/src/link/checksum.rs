//! Checksums by which logger and computer agree on a plan or on the end of a log.

use super::message::CHUNK;
use super::plan::PlannedWeld;
use super::wire;
use crate::framing;

/// The checksum of a plan: over the bytes of all its welds, in order.
///
/// Start with `so_far` 0 and pass on what each call returns.
#[must_use]
pub fn checksum_of_plan(so_far: u32, weld: &PlannedWeld) -> u32 {
    let mut bytes = [0; wire::MAX_WELD + 4];
    let sum = so_far.to_le_bytes();
    let length = wire::write_weld(weld, bytes.get_mut(4..).unwrap_or(&mut [])).unwrap_or(0);
    if let Some(first) = bytes.first_chunk_mut() {
        *first = sum;
    }
    framing::checksum(bytes.get(..4 + length).unwrap_or(&[]))
}

/// The checksum of a log's last bytes, at most [`CHUNK`] of them, with 00 for dropped ones.
#[must_use]
pub fn checksum_of_tail(bytes: &[u8]) -> u32 {
    framing::checksum(
        bytes
            .get(bytes.len().saturating_sub(CHUNK)..)
            .unwrap_or(bytes),
    )
}
