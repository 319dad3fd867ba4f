//! A payload as postcard bytes, and why one is not a message.

use serde::{Deserialize, Serialize};

/// Why a payload is not a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::link) enum Fault {
    UnknownKind,
    Malformed,
    Value,
}

pub(super) fn put(wire: &impl Serialize, buffer: &mut [u8]) -> Option<usize> {
    postcard::to_slice(wire, buffer).ok().map(|used| used.len())
}

pub(super) fn take<'a, T: Deserialize<'a>>(payload: &'a [u8]) -> Result<T, Fault> {
    match postcard::take_from_bytes(payload) {
        Ok((wire, [])) => Ok(wire),
        _ => Err(Fault::Malformed),
    }
}

pub(super) fn require(holds: bool) -> Result<(), Fault> {
    if holds { Ok(()) } else { Err(Fault::Value) }
}
