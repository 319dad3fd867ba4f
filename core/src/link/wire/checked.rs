//! The checksum of a piece of a log.

use super::payload::{Fault, require};
use crate::link::message::{Checked, MAX_STRETCHES, Stretch};
use heapless::Vec;

/// Where the piece ends, its checksum, and its stretches: bytes between each and the one before, and its own.
pub(super) type CheckedWire = (u64, u32, Vec<(u64, u16), MAX_STRETCHES>);

pub(super) fn write(checked: &Checked) -> CheckedWire {
    let mut at = 0;
    let gap = |stretch: &Stretch| {
        let gap = stretch.from.saturating_sub(at);
        at = stretch.end();
        (gap, stretch.length)
    };
    let stretches = checked.stretches.iter().map(gap).collect();
    (checked.until, checked.sum, stretches)
}

pub(super) fn read((until, sum, wire): CheckedWire) -> Result<Checked, Fault> {
    let mut at: u64 = 0;
    let mut stretches = Vec::new();
    for (gap, length) in wire {
        let from = at.checked_add(gap).ok_or(Fault::Value)?;
        at = from.checked_add(length.into()).ok_or(Fault::Value)?;
        // There is room for as many as the wire has.
        let _ = stretches.push(Stretch { from, length });
    }
    require(at <= until)?;
    Ok(Checked {
        stretches,
        sum,
        until,
    })
}
