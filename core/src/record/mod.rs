//! The records of a log (headers, beads, windows, markers, events) and their bytes.
//!
//! `docs/log-format.md` describes the format, with worked bytes. Rules for versions:
//!
//! - The types in this module are the *model*: they may grow. The types in `v1` are the *wire*: they never change.
//! - Each frame states the version of its wire types. A reader reads every released version and refuses a newer one with
//!   an error that names both.
//! - Every value is checked when it is read and, by the same rules, when it is written, so whatever was written can be
//!   read.
//!
//! ```text
//! Record -> v1 wire type -> payload -> frame (sequence number, checksum) -> bytes -> Reader -> Record
//! ```
//!
//! ```
//! use coldsquare_core::record::{Event, EventKind, MAX_FRAME, Record, decode, encode};
//!
//! let event = Event { position: 25_000, kind: EventKind::ClampReversed, value: 0 };
//! let mut buffer = [0; MAX_FRAME];
//! let length = encode(7, &Record::Event(event), &mut buffer)?;
//! // Without the boundaries.
//! assert_eq!(decode(&buffer[1..length - 1]), Ok((7, Record::Event(event))));
//! # Ok::<(), coldsquare_core::record::EncodeError>(())
//! ```

mod check;
mod frame;
mod model;
mod reader;
#[cfg(test)]
mod tests;
mod v1;

pub(crate) use check::check_calibration;
/// Codes of kinds and sources, which the link uses too.
pub(crate) mod codes {
    pub(crate) use super::v1::{clock_code, clock_source, event_code, event_kind};
}
pub use frame::{DecodeError, EncodeError, MAX_FRAME, decode, encode};
pub use model::{
    ArcCounts, ClockSource, Event, EventKind, Header, Marker, MarkerKind, Record, WallClock,
};
pub use reader::{Entry, ReadCounts, Reader};

/// The version that this library writes, and the newest that it reads.
pub const VERSION: u8 = 1;

/// The last position of a log, in samples: 285 years at a million samples a second.
pub const MAX_POSITION: u64 = 1 << 53;
