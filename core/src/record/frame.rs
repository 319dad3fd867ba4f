//! One record as bytes that a reader can find in a damaged stream.
//!
//! ```text
//! 00 | COBS( version u8 | kind u8 | sequence u32 LE | payload | CRC-32C u32 LE ) | 00
//!            \------------------ the checksum covers these -----------/
//! ```

#[cfg(test)]
mod tests;

use super::model::Record;
use super::{VERSION, check, v1};
use crate::framing::{self, Broken, SUFFIX};

/// Bytes before the payload: version, kind, sequence number.
const PREFIX: usize = 6;
/// The longest payload of version 1 (a test encodes records of extreme values).
pub(super) const MAX_PAYLOAD: usize = 257;
/// The longest frame before COBS.
const MAX_BODY: usize = PREFIX + MAX_PAYLOAD + SUFFIX;

/// The longest frame, both boundaries included: a buffer of this size holds any record.
pub const MAX_FRAME: usize = framing::longest_frame(MAX_BODY);

/// Why a record was not written. The content of the buffer is then undefined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum EncodeError {
    /// The buffer is too small; [`MAX_FRAME`] bytes are always enough.
    NoRoom,
    /// A value that a reader would refuse.
    Value(&'static str),
}

impl core::fmt::Display for EncodeError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NoRoom => write!(
                f,
                "the buffer is too small; {MAX_FRAME} bytes hold any record"
            ),
            Self::Value(what) => write!(f, "{what} has a value that a log cannot hold"),
        }
    }
}

impl core::error::Error for EncodeError {}

/// Why bytes between two boundaries are not a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum DecodeError {
    /// Too few bytes for any record.
    TooShort,
    /// More bytes than any record has.
    TooLong,
    /// Not COBS.
    Framing,
    /// The checksum does not match: bytes were changed or lost.
    Checksum,
    /// Whole, but written by a newer program.
    NewerVersion {
        /// Version of the frame.
        found: u8,
    },
    /// Whole, but of a version that does not exist.
    UnknownVersion {
        /// Version of the frame.
        found: u8,
    },
    /// Whole, but of a kind that this version does not have.
    UnknownKind {
        /// The kind.
        kind: u8,
    },
    /// Whole, but the payload is not that of its kind.
    Malformed {
        /// The kind.
        kind: u8,
    },
    /// Whole, but bytes are left after the payload.
    LeftOver {
        /// The kind.
        kind: u8,
        /// How many.
        bytes: usize,
    },
    /// Whole, but a value is not allowed.
    Value {
        /// The kind.
        kind: u8,
        /// The value.
        what: &'static str,
    },
}

impl core::fmt::Display for DecodeError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::TooShort => f.write_str("too short for a record"),
            Self::TooLong => f.write_str("too long for a record"),
            Self::Framing => f.write_str("framing is damaged"),
            Self::Checksum => f.write_str("checksum does not match"),
            Self::NewerVersion { found } => write!(
                f,
                "written in log format {found}, this program reads up to {VERSION}; use a newer program"
            ),
            Self::UnknownVersion { found } => write!(f, "there is no log format {found}"),
            Self::UnknownKind { kind } => write!(f, "there is no record of kind {kind}"),
            Self::Malformed { kind } => write!(f, "record of kind {kind} cannot be read"),
            Self::LeftOver { kind, bytes } => {
                write!(f, "record of kind {kind} has {bytes} bytes too many")
            }
            Self::Value { kind, what } => {
                write!(f, "record of kind {kind} has an impossible value: {what}")
            }
        }
    }
}

impl core::error::Error for DecodeError {}

/// Writes one record as a frame; returns its length.
///
/// `sequence` is 0 for the first record of a log and one more for each that follows; after `u32::MAX` it is 0 again.
///
/// # Errors
/// [`EncodeError`] when the buffer is too small or the record has a value that a reader would refuse.
pub fn encode(sequence: u32, record: &Record, buffer: &mut [u8]) -> Result<usize, EncodeError> {
    check::check(record).map_err(EncodeError::Value)?;
    let mut body = [0; MAX_BODY];
    let covered = write_body(sequence, record, &mut body).ok_or(EncodeError::NoRoom)?;
    framing::seal(&mut body, covered, buffer).ok_or(EncodeError::NoRoom)
}

/// Writes everything that the checksum covers; returns its length.
fn write_body(sequence: u32, record: &Record, body: &mut [u8; MAX_BODY]) -> Option<usize> {
    let (kind, length) = v1::write(record, body.get_mut(PREFIX..PREFIX + MAX_PAYLOAD)?).ok()?;
    let [s0, s1, s2, s3] = sequence.to_le_bytes();
    body.get_mut(..PREFIX)?
        .copy_from_slice(&[VERSION, kind, s0, s1, s2, s3]);
    Some(PREFIX + length)
}

/// Reads one frame without its boundaries; returns sequence number and record.
///
/// # Errors
/// [`DecodeError`] says what is wrong with it.
pub fn decode(frame: &[u8]) -> Result<(u32, Record), DecodeError> {
    let mut buffer = [0; MAX_FRAME];
    let copy = buffer.get_mut(..frame.len()).ok_or(DecodeError::TooLong)?;
    copy.copy_from_slice(frame);
    open(copy).map(|opened| (opened.sequence, opened.record))
}

/// A decoded frame.
pub(super) struct Opened {
    pub sequence: u32,
    pub checksum: u32,
    pub record: Record,
}

/// Decodes a frame in place, which destroys its bytes.
pub(super) fn open(frame: &mut [u8]) -> Result<Opened, DecodeError> {
    if frame.len() > MAX_FRAME - 2 {
        return Err(DecodeError::TooLong);
    }
    let (covered, checksum) = framing::open(frame).map_err(|broken| match broken {
        Broken::Framing => DecodeError::Framing,
        Broken::TooShort => DecodeError::TooShort,
        Broken::Checksum => DecodeError::Checksum,
    })?;
    let (&[version, kind, s0, s1, s2, s3], payload) = covered
        .split_first_chunk::<PREFIX>()
        .ok_or(DecodeError::TooShort)?;
    let record = read_payload(version, kind, payload)?;
    check::check(&record).map_err(|what| DecodeError::Value { kind, what })?;
    Ok(Opened {
        sequence: u32::from_le_bytes([s0, s1, s2, s3]),
        checksum,
        record,
    })
}

fn read_payload(version: u8, kind: u8, payload: &[u8]) -> Result<Record, DecodeError> {
    match version {
        1 => v1::read(kind, payload).map_err(|fault| match fault {
            v1::Fault::UnknownKind => DecodeError::UnknownKind { kind },
            v1::Fault::Malformed => DecodeError::Malformed { kind },
            v1::Fault::LeftOver(bytes) => DecodeError::LeftOver { kind, bytes },
            v1::Fault::Value(what) => DecodeError::Value { kind, what },
        }),
        0 => Err(DecodeError::UnknownVersion { found: version }),
        _ => Err(DecodeError::NewerVersion { found: version }),
    }
}
