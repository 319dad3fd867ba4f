//! Checksums by which logger and computer agree on a plan or on a log.

use super::message::Checked;
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

/// The checksum of bytes of a log that follow others, whose checksum is `so_far`; 0 for the first.
#[must_use]
pub fn checksum_of_bytes(so_far: u32, bytes: &[u8]) -> u32 {
    framing::checksum_after(so_far, bytes)
}

/// The checksum of a whole log, answer by answer: over the one of all before, and what this answer says.
///
/// Start with `so_far` 0 and pass on what each call returns.
#[must_use]
pub fn checksum_of_log(so_far: u32, checked: &Checked) -> u32 {
    let mut sum = framing::checksum(&so_far.to_le_bytes());
    let mut add = |bytes: &[u8]| sum = framing::checksum_after(sum, bytes);
    for stretch in &checked.stretches {
        add(&stretch.from.to_le_bytes());
        add(&stretch.length.to_le_bytes());
    }
    add(&checked.until.to_le_bytes());
    add(&checked.sum.to_le_bytes());
    sum
}
