//! How a checked piece of bytes stands in a stream: COBS between two boundaries, a checksum at its end.
//!
//! ```text
//! 00 | COBS( covered bytes | CRC-32C of them u32 LE ) | 00
//! ```
//!
//! COBS leaves no 00 inside, so every 00 is a boundary. There is one on both ends: a damaged boundary costs the frame
//! it belongs to and never its neighbour. Records of a log and messages of the link both stand like this.

use crc::{CRC_32_ISCSI, Crc};

const CHECKSUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISCSI);

/// Bytes of the checksum.
pub(crate) const SUFFIX: usize = 4;

/// CRC-32C (Castagnoli) of bytes.
pub(crate) fn checksum(bytes: &[u8]) -> u32 {
    CHECKSUM.checksum(bytes)
}

/// The longest frame around so many covered bytes and their checksum, both boundaries included.
pub(crate) const fn longest_frame(body: usize) -> usize {
    cobs::max_encoding_length(body) + 2
}

/// Puts the checksum behind the first `covered` bytes of `body`, and all of it as a frame into `buffer`; gives its
/// length. `None` when either has no room.
pub(crate) fn seal(body: &mut [u8], covered: usize, buffer: &mut [u8]) -> Option<usize> {
    let sum = checksum(body.get(..covered)?).to_le_bytes();
    body.get_mut(covered..covered.checked_add(SUFFIX)?)?
        .copy_from_slice(&sum);
    let body = body.get(..covered + SUFFIX)?;
    let end = cobs::try_encode(body, buffer.get_mut(1..)?).ok()? + 1;
    *buffer.first_mut()? = 0;
    *buffer.get_mut(end)? = 0;
    Some(end + 1)
}

/// Why bytes between two boundaries are no frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Broken {
    /// Not COBS.
    Framing,
    /// Too few bytes for a checksum.
    TooShort,
    /// The checksum does not match.
    Checksum,
}

/// Reads a frame, without its boundaries, in its own place; gives the covered bytes and their checksum.
pub(crate) fn open(frame: &mut [u8]) -> Result<(&[u8], u32), Broken> {
    let length = frame.len();
    let report = cobs::decode_in_place_report(frame).map_err(|_| Broken::Framing)?;
    if report.parsed_size() != length {
        return Err(Broken::Framing);
    }
    let body = frame.get(..report.frame_size()).ok_or(Broken::Framing)?;
    let (covered, sum) = body.split_last_chunk::<SUFFIX>().ok_or(Broken::TooShort)?;
    let sum = u32::from_le_bytes(*sum);
    if checksum(covered) == sum {
        Ok((covered, sum))
    } else {
        Err(Broken::Checksum)
    }
}
