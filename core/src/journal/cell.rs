//! One cell: a header of 32 bytes, the payload, and a checksum at the very end.

use crate::framing::checksum;

/// Bytes of a cell: a sector of a card, two pages of flash.
pub const CELL: usize = 512;
/// Bytes of the header.
const HEADER: usize = 32;
/// Where the payload begins.
pub const PAYLOAD_AT: usize = HEADER;
/// Where the checksum is.
const SUM: usize = CELL - 4;
/// The most bytes of payload in a cell.
pub const PAYLOAD: usize = SUM - HEADER;
/// Every cell begins with these.
const MAGIC: [u8; 2] = *b"CJ";
/// The version of cells that this firmware writes.
const VERSION: u8 = 1;

/// A cell's bytes.
pub type CellBytes = [u8; CELL];

/// What a cell holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Content {
    /// The layout of the journal.
    Layout,
    /// The last header, with the calibration.
    Settings,
    /// Retained records.
    Retained,
    /// The log, in the ring.
    Log,
}

impl Content {
    const fn code(self) -> u8 {
        match self {
            Self::Layout => 1,
            Self::Settings => 2,
            Self::Retained => 3,
            Self::Log => 4,
        }
    }

    const fn of(code: u8) -> Option<Self> {
        match code {
            1 => Some(Self::Layout),
            2 => Some(Self::Settings),
            3 => Some(Self::Retained),
            4 => Some(Self::Log),
            _ => None,
        }
    }
}

/// The header of a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CellHeader {
    /// What it holds.
    pub content: Content,
    /// Number of its journal; an earlier journal on the same medium had another.
    pub journal: u32,
    /// How many cells were written to its area before it. Modulo the size of the area it is the cell's index.
    pub number: u32,
    /// Log offset of its first byte.
    pub offset: u64,
    /// Bytes of payload, at most [`PAYLOAD`].
    pub used: u16,
    /// Beads in the log when it was written.
    pub beads: u32,
    /// Starts of the logger when it was written.
    pub starts: u32,
}

/// Why a cell cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CellError {
    /// It was never written: all bytes are 00, or all FF.
    Blank,
    /// Torn, damaged, or not a cell.
    Damaged,
    /// Whole, but written by newer firmware.
    Newer {
        /// The version it states.
        found: u8,
    },
}

/// Room for the payload, to be filled before [`seal`].
pub fn payload_mut(cell: &mut CellBytes) -> &mut [u8] {
    cell.get_mut(HEADER..SUM).unwrap_or_default()
}

/// The payload of a whole cell.
#[must_use]
pub fn payload<'a>(header: &CellHeader, cell: &'a CellBytes) -> &'a [u8] {
    cell.get(HEADER..HEADER + usize::from(header.used).min(PAYLOAD))
        .unwrap_or_default()
}

/// Writes header and checksum around a payload that is in offset, and clears what it does not use. `used` past
/// [`PAYLOAD`] counts as that.
pub fn seal(header: &CellHeader, cell: &mut CellBytes) {
    let used = usize::from(header.used).min(PAYLOAD);
    let mut bytes = [0; HEADER];
    let fields: [&[u8]; 9] = [
        &MAGIC,
        &[VERSION, header.content.code()],
        &header.journal.to_le_bytes(),
        &header.number.to_le_bytes(),
        &header.offset.to_le_bytes(),
        &(used as u16).to_le_bytes(),
        &[0, 0],
        &header.beads.to_le_bytes(),
        &header.starts.to_le_bytes(),
    ];
    for (to, from) in bytes.iter_mut().zip(fields.iter().copied().flatten()) {
        *to = *from;
    }
    for (to, from) in cell.iter_mut().zip(bytes) {
        *to = from;
    }
    if let Some(rest) = cell.get_mut(HEADER + used..) {
        rest.fill(0);
    }
    let sum = checksum(cell.get(..SUM).unwrap_or_default()).to_le_bytes();
    for (to, from) in cell.iter_mut().skip(SUM).zip(sum) {
        *to = from;
    }
}

/// Reads the header of a whole cell.
///
/// # Errors
/// [`CellError`] when the cell cannot be used.
pub fn open(cell: &CellBytes) -> Result<CellHeader, CellError> {
    let mut rest: &[u8] = cell;
    let [m0, m1, version, content] = take(&mut rest)?;
    if [m0, m1] != MAGIC {
        let blank = (m0 == 0 || m0 == 0xFF) && cell.iter().all(|&byte| byte == m0);
        return Err(if blank {
            CellError::Blank
        } else {
            CellError::Damaged
        });
    }
    let (covered, sum) = cell.split_last_chunk::<4>().ok_or(CellError::Damaged)?;
    if checksum(covered) != u32::from_le_bytes(*sum) {
        return Err(CellError::Damaged);
    }
    if version != VERSION {
        return Err(CellError::Newer { found: version });
    }
    let header = CellHeader {
        content: Content::of(content).ok_or(CellError::Damaged)?,
        journal: u32::from_le_bytes(take(&mut rest)?),
        number: u32::from_le_bytes(take(&mut rest)?),
        offset: u64::from_le_bytes(take(&mut rest)?),
        used: u16::from_le_bytes(take(&mut rest)?),
        beads: {
            let _: [u8; 2] = take(&mut rest)?;
            u32::from_le_bytes(take(&mut rest)?)
        },
        starts: u32::from_le_bytes(take(&mut rest)?),
    };
    if usize::from(header.used) > PAYLOAD {
        return Err(CellError::Damaged);
    }
    Ok(header)
}

/// Bytes that the checksum covers, in bits.
const COVERED_BITS: usize = SUM * 8;
/// CRC-32C bit by bit, lowest bit first: what one more bit makes of a sum.
const POLYNOMIAL: u32 = 0x82F6_3B78;

/// Reads the header of a cell in which one bit may have flipped: the checksum says which one, and the cell is set right.
///
/// In so few bits this checksum differs by six bits at least between any two whole cells (Koopman, 32-bit cyclic
/// redundancy codes for internet applications, DSN 2002, table 1: to 5243 bits; value from memory). So one flipped bit leads back to one
/// cell only, and up to four more never lead to a wrong one.
///
/// # Errors
/// [`CellError`] when more than one bit is wrong.
pub fn open_mending(cell: &mut CellBytes) -> Result<CellHeader, CellError> {
    let found = open(cell);
    if found != Err(CellError::Damaged) {
        return found;
    }
    let Some((byte, bit)) = flipped_bit(cell) else {
        return found;
    };
    flip(cell, byte, bit);
    let mended = open(cell);
    if mended.is_ok_and(|header| is_blank_after(&header, cell)) {
        return mended;
    }
    flip(cell, byte, bit);
    found
}

fn flip(cell: &mut CellBytes, byte: usize, bit: u32) {
    if let Some(byte) = cell.get_mut(byte) {
        *byte ^= 1 << bit;
    }
}

/// Whether everything that a cell does not use is 00, as it was written.
fn is_blank_after(header: &CellHeader, cell: &CellBytes) -> bool {
    let unused = cell.get(HEADER + usize::from(header.used)..SUM);
    let between = cell.get(22..24);
    let all_zero = |bytes: &[u8]| bytes.iter().all(|&byte| byte == 0);
    unused.is_some_and(all_zero) && between.is_some_and(all_zero)
}

/// The one bit that, flipped, makes the checksum right: its byte and its place there.
fn flipped_bit(cell: &CellBytes) -> Option<(usize, u32)> {
    let (covered, sum) = cell.split_last_chunk::<4>()?;
    let difference = checksum(covered) ^ u32::from_le_bytes(*sum);
    if difference.is_power_of_two() {
        let bit = difference.trailing_zeros();
        return Some((SUM + (bit / 8) as usize, bit % 8));
    }
    // A flipped bit changes the sum by what the bits after it make of it.
    let mut change = POLYNOMIAL;
    for bit in (0..COVERED_BITS).rev() {
        if change == difference {
            return Some((bit / 8, (bit % 8) as u32));
        }
        change = if change & 1 == 0 {
            change >> 1
        } else {
            (change >> 1) ^ POLYNOMIAL
        };
    }
    None
}

fn take<const N: usize>(rest: &mut &[u8]) -> Result<[u8; N], CellError> {
    let (bytes, after) = rest.split_first_chunk::<N>().ok_or(CellError::Damaged)?;
    *rest = after;
    Ok(*bytes)
}
