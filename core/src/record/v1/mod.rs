//! Version 1 on the wire. Frozen: a field added, removed, reordered or retyped here is version 2.
//!
//! Payloads are postcard 1.x: unsigned integers are base-128 varints, signed ones zigzag varints, `f64` eight bytes
//! little-endian, text a length and UTF-8 bytes, fields in order without names. Kinds and sources are plain `u8` codes
//! given here, never the position of an enum variant.

mod header;
mod marks;
mod sums;

use super::model::{Event, Header, Marker, Record};
use header::HeaderV1;
pub(crate) use header::{clock_code, clock_source};
use marks::{EventV1, MarkerV1};
pub(crate) use marks::{event_code, event_kind};
use serde::{Deserialize, Serialize};
use sums::{BeadV1, WindowV1};

/// The kind of a record, second byte of every frame.
pub(super) mod kind {
    pub const HEADER: u8 = 1;
    pub const BEAD: u8 = 2;
    pub const WINDOW: u8 = 3;
    pub const MARKER: u8 = 4;
    pub const EVENT: u8 = 5;
}

/// Writes the payload of a record; returns its kind and length.
pub(super) fn write(record: &Record, buffer: &mut [u8]) -> Result<(u8, usize), postcard::Error> {
    fn put(wire: &impl Serialize, buffer: &mut [u8]) -> Result<usize, postcard::Error> {
        postcard::to_slice(wire, buffer).map(|written| written.len())
    }
    Ok(match record {
        Record::Header(header) => (kind::HEADER, put(&HeaderV1::from(header), buffer)?),
        Record::Bead(bead) => (kind::BEAD, put(&BeadV1::from(bead), buffer)?),
        Record::Window(window) => (kind::WINDOW, put(&WindowV1::from(window), buffer)?),
        Record::Marker(marker) => (kind::MARKER, put(&MarkerV1::from(marker), buffer)?),
        Record::Event(event) => (kind::EVENT, put(&EventV1::from(event), buffer)?),
    })
}

/// Why a payload is not a record.
pub(super) enum Fault {
    UnknownKind,
    Malformed,
    LeftOver(usize),
    Value(&'static str),
}

/// Reads the payload of a record, all of it.
pub(super) fn read(kind: u8, payload: &[u8]) -> Result<Record, Fault> {
    fn take<'a, T: Deserialize<'a>>(payload: &'a [u8]) -> Result<T, Fault> {
        match postcard::take_from_bytes(payload) {
            Ok((wire, [])) => Ok(wire),
            Ok((_, rest)) => Err(Fault::LeftOver(rest.len())),
            Err(_) => Err(Fault::Malformed),
        }
    }
    match kind {
        kind::HEADER => Header::try_from(take::<HeaderV1>(payload)?).map(Record::Header),
        kind::BEAD => Ok(Record::Bead(take::<BeadV1>(payload)?.into())),
        kind::WINDOW => Ok(Record::Window(take::<WindowV1>(payload)?.into())),
        kind::MARKER => Marker::try_from(take::<MarkerV1>(payload)?).map(Record::Marker),
        kind::EVENT => Event::try_from(take::<EventV1>(payload)?).map(Record::Event),
        _ => return Err(Fault::UnknownKind),
    }
    .map_err(Fault::Value)
}
