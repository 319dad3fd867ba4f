//! One cell: 32 bytes of head, the payload, a checksum at the very end.

use crate::framing::checksum;

/// Bytes of a cell: a sector of a card, two pages of flash.
pub const CELL: usize = 512;
/// Bytes of a cell before the payload.
const HEAD: usize = 32;
/// Where the payload of a cell begins.
pub const PAYLOAD_AT: usize = HEAD;
/// Where the checksum stands.
const SUM: usize = CELL - 4;
/// Most bytes that a cell can hold.
pub const PAYLOAD: usize = SUM - HEAD;
/// Every cell begins with these.
const MAGIC: [u8; 2] = *b"CJ";
/// The layout of cells that this program writes.
const VERSION: u8 = 1;

/// A cell's bytes.
pub type CellBytes = [u8; CELL];

/// What a cell holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Content {
    /// What lies where.
    Layout,
    /// Calibration.
    Settings,
    /// Records that stay.
    Kept,
    /// The log.
    Log,
}

impl Content {
    const fn code(self) -> u8 {
        match self {
            Self::Layout => 1,
            Self::Settings => 2,
            Self::Kept => 3,
            Self::Log => 4,
        }
    }

    const fn of(code: u8) -> Option<Self> {
        match code {
            1 => Some(Self::Layout),
            2 => Some(Self::Settings),
            3 => Some(Self::Kept),
            4 => Some(Self::Log),
            _ => None,
        }
    }
}

/// What a cell says about itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Head {
    /// What it holds.
    pub content: Content,
    /// The journal it belongs to: what an earlier one left on the same medium has another number.
    pub journal: u32,
    /// Cells written to its area before it, so that its number modulo the size of the area is where it lies.
    pub number: u32,
    /// Place in the log of its first byte.
    pub place: u64,
    /// Bytes of payload, at most [`PAYLOAD`].
    pub used: u16,
    /// Beads in the log when it was written.
    pub beads: u32,
    /// Starts of the logger when it was written.
    pub starts: u32,
}

/// Why a cell is not used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsound {
    /// Nothing was written to it: all bytes are 00, or all FF.
    Blank,
    /// Torn, soiled, or no cell at all.
    Damaged,
    /// Whole, but written by a newer program.
    Newer {
        /// The version it states.
        found: u8,
    },
}

/// Where the payload of a cell goes before [`seal`].
pub fn payload_mut(cell: &mut CellBytes) -> &mut [u8] {
    cell.get_mut(HEAD..SUM).unwrap_or_default()
}

/// The payload of a whole cell.
#[must_use]
pub fn payload<'a>(head: &Head, cell: &'a CellBytes) -> &'a [u8] {
    cell.get(HEAD..HEAD + usize::from(head.used).min(PAYLOAD))
        .unwrap_or_default()
}

/// Writes head and checksum around a payload that is in place, and clears what it does not use. `used` past
/// [`PAYLOAD`] counts as that.
pub fn seal(head: &Head, cell: &mut CellBytes) {
    let used = usize::from(head.used).min(PAYLOAD);
    let mut bytes = [0; HEAD];
    let fields: [&[u8]; 9] = [
        &MAGIC,
        &[VERSION, head.content.code()],
        &head.journal.to_le_bytes(),
        &head.number.to_le_bytes(),
        &head.place.to_le_bytes(),
        &(used as u16).to_le_bytes(),
        &[0, 0],
        &head.beads.to_le_bytes(),
        &head.starts.to_le_bytes(),
    ];
    for (to, from) in bytes.iter_mut().zip(fields.iter().copied().flatten()) {
        *to = *from;
    }
    for (to, from) in cell.iter_mut().zip(bytes) {
        *to = from;
    }
    if let Some(rest) = cell.get_mut(HEAD + used..) {
        rest.fill(0);
    }
    let sum = checksum(cell.get(..SUM).unwrap_or_default()).to_le_bytes();
    for (to, from) in cell.iter_mut().skip(SUM).zip(sum) {
        *to = from;
    }
}

/// Reads what a cell says about itself, if it is whole.
///
/// # Errors
/// [`Unsound`] says why it is not used.
pub fn open(cell: &CellBytes) -> Result<Head, Unsound> {
    let mut rest: &[u8] = cell;
    let [m0, m1, version, content] = take(&mut rest)?;
    if [m0, m1] != MAGIC {
        let blank = (m0 == 0 || m0 == 0xFF) && cell.iter().all(|&byte| byte == m0);
        return Err(if blank {
            Unsound::Blank
        } else {
            Unsound::Damaged
        });
    }
    let (covered, sum) = cell.split_last_chunk::<4>().ok_or(Unsound::Damaged)?;
    if checksum(covered) != u32::from_le_bytes(*sum) {
        return Err(Unsound::Damaged);
    }
    if version != VERSION {
        return Err(Unsound::Newer { found: version });
    }
    let head = Head {
        content: Content::of(content).ok_or(Unsound::Damaged)?,
        journal: u32::from_le_bytes(take(&mut rest)?),
        number: u32::from_le_bytes(take(&mut rest)?),
        place: u64::from_le_bytes(take(&mut rest)?),
        used: u16::from_le_bytes(take(&mut rest)?),
        beads: {
            let _: [u8; 2] = take(&mut rest)?;
            u32::from_le_bytes(take(&mut rest)?)
        },
        starts: u32::from_le_bytes(take(&mut rest)?),
    };
    if usize::from(head.used) > PAYLOAD {
        return Err(Unsound::Damaged);
    }
    Ok(head)
}

fn take<const N: usize>(rest: &mut &[u8]) -> Result<[u8; N], Unsound> {
    let (bytes, after) = rest.split_first_chunk::<N>().ok_or(Unsound::Damaged)?;
    *rest = after;
    Ok(*bytes)
}
