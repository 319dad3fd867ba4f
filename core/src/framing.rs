//! Checksummed bytes in a stream: COBS between two boundaries, with a checksum at the end.
//!
//! ```text
//! 00 | COBS( covered bytes | CRC-32C of them u32 LE ) | 00
//! ```
//!
//! COBS leaves no 00 inside, so every 00 is a boundary. There is one at each end: a damaged boundary costs its own frame
//! and never the next. Records of a log and messages of the link use the same framing.

use crc::{CRC_32_ISCSI, Crc, Table};

#[cfg(feature = "large-tables")]
type Tables = Table<16>;
#[cfg(not(feature = "large-tables"))]
type Tables = Table<1>;

static CHECKSUM: Crc<u32, Tables> = Crc::<u32, Tables>::new(&CRC_32_ISCSI);

/// Bytes of the checksum.
pub(crate) const SUFFIX: usize = 4;

/// CRC-32C (Castagnoli) of bytes.
pub(crate) fn checksum(bytes: &[u8]) -> u32 {
    CHECKSUM.checksum(bytes)
}

/// CRC-32C of bytes that follow others, whose checksum is `so_far`.
pub(crate) fn checksum_after(so_far: u32, bytes: &[u8]) -> u32 {
    let mut digest = CHECKSUM.digest_with_initial((!so_far).reverse_bits());
    digest.update(bytes);
    digest.finalize()
}

/// The longest frame around a body of this length, checksum included, with both boundaries.
pub(crate) const fn longest_frame(body: usize) -> usize {
    cobs::max_encoding_length(body) + 2
}

/// Adds the checksum after the first `covered` bytes of `body`, and writes all of it as a frame into `buffer`. Returns
/// the frame's length, or `None` if either buffer is too small.
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

/// Pairs of wire number and meaning, as functions both ways. A number is never used again for something else.
macro_rules! codes {
    ($to:ident, $from:ident, $model:ident { $($variant:ident = $code:literal),+ $(,)? }) => {
        pub(crate) const fn $to(model: $model) -> u8 {
            match model { $($model::$variant => $code),+ }
        }

        pub(crate) const fn $from(code: u8) -> Option<$model> {
            match code {
                $($code => Some($model::$variant),)+
                _ => None,
            }
        }
    };
}
pub(crate) use codes;

/// Why bytes between two boundaries are not a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Broken {
    /// Not COBS.
    Framing,
    /// Too few bytes for a checksum.
    TooShort,
    /// The checksum does not match.
    Checksum,
}

/// Decodes a frame without its boundaries in place; returns the covered bytes and their checksum.
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
