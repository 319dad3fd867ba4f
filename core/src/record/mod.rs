//! What the log can say: headers, beads, windows, markers and events, and how they become bytes.
//!
//! The format is written down, with worked bytes, in `docs/log-format.md`. Rules of versions:
//!
//! - The types in this module are the *model*: they may grow. The types in `v1` are the *wire*: they never change.
//! - Each frame carries the version of its wire types. A reader reads every version that was ever released and
//!   refuses a newer one by naming both.
//! - What is read is checked as if it came from a stranger, and what is written is checked in the same way, so that
//!   whatever was written can be read.
//!
//! ```text
//! Record -> v1 wire type -> payload -> frame (sequence number, checksum) -> bytes -> Reader -> Record
//! ```

mod check;
mod frame;
mod model;
mod reader;
#[cfg(test)]
mod tests;
mod v1;

pub(crate) use check::check_calibration;
/// Numbers of kinds and sources, which the link shares.
pub(crate) mod codes {
    pub(crate) use super::v1::{clock_code, clock_source, event_code, event_kind};
}
pub use frame::{DecodeError, EncodeError, MAX_FRAME, decode, encode};
pub use model::{
    ArcCounts, ClockSource, Event, EventKind, Header, Marker, MarkerKind, Record, WallClock,
};
pub use reader::{Entry, Reader, Tally};

/// The version this library writes, and the newest that it reads.
pub const VERSION: u8 = 1;

/// The last position a log may reach, in samples: at a million samples a second this is 285 years.
pub const MAX_POSITION: u64 = 1 << 53;
