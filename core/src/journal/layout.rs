//! The layout of a journal: which cells are for what.

use super::cell::{CellBytes, CellError, CellHeader, Content, open, payload, payload_mut, seal};

/// Segments before the retained log: one for the layout, two for settings.
pub const SEGMENTS_BEFORE_RETAINED: u32 = 3;
/// The ring needs at least this many segments: one being written, one erased ahead, and some to read.
const MIN_RING_SEGMENTS: u32 = 4;
/// The retained log needs at least this many.
const MIN_RETAINED_SEGMENTS: u32 = 1;

/// How often a journal can be cleared before its medium must be prepared again.
pub const MAX_CLEARED: u32 = 65_535;

/// A run of cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CellRange {
    /// The first cell.
    pub first: u32,
    /// How many.
    pub cells: u32,
}

impl CellRange {
    /// The cell in which number `number` of this area lies.
    #[must_use]
    pub const fn cell(&self, number: u32) -> u32 {
        match number.checked_rem(self.cells) {
            Some(at) => self.first.saturating_add(at),
            None => self.first,
        }
    }
}

/// The layout of a journal. A *segment* is the smallest part of flash that can be erased, or a fixed number of cells on a
/// card.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layout {
    /// Number of this journal; an earlier journal on the same medium had another.
    pub journal: u32,
    /// Cells in a segment.
    pub segment: u32,
    /// Segments of the retained log.
    retained_segments: u32,
    /// Segments of the ring.
    ring_segments: u32,
}

/// Why there is no layout.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LayoutError {
    /// Fewer cells than a journal needs.
    TooSmall {
        /// The least, in cells.
        least: u32,
    },
    /// The first cell is not a layout: the medium was not prepared.
    NotPrepared,
    /// It was prepared by newer firmware.
    Newer {
        /// The version it states.
        found: u8,
    },
    /// The layout has more cells than the medium, or none.
    DoesNotFit,
}

impl core::fmt::Display for LayoutError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::TooSmall { least } => {
                write!(f, "a journal needs at least {least} cells of 512 bytes")
            }
            Self::NotPrepared => f.write_str(
                "its first cell is not a journal layout: it was not prepared, or its beginning is damaged",
            ),
            Self::Newer { found } => write!(
                f,
                "written in journal layout {found}, this program reads 1; use a newer program"
            ),
            Self::DoesNotFit => {
                f.write_str("its layout has more cells than there are: it was cut short")
            }
        }
    }
}

impl core::error::Error for LayoutError {}

impl Layout {
    /// Divides this many cells: `retained_256ths` / 256 of those after the settings are for the retained log, the rest for the
    /// ring.
    ///
    /// # Errors
    /// [`LayoutError::TooSmall`].
    pub fn divide(
        journal: u32,
        cells: u32,
        segment: u32,
        retained_256ths: u8,
    ) -> Result<Self, LayoutError> {
        let fewest = SEGMENTS_BEFORE_RETAINED + MIN_RETAINED_SEGMENTS + MIN_RING_SEGMENTS;
        let least = segment.max(1).saturating_mul(fewest);
        let segments = cells.checked_div(segment).unwrap_or(0);
        if segments < fewest {
            return Err(LayoutError::TooSmall { least });
        }
        let body = segments - SEGMENTS_BEFORE_RETAINED;
        let share = (u64::from(body) * u64::from(retained_256ths) / 256) as u32;
        let retained_segments = share.clamp(MIN_RETAINED_SEGMENTS, body - MIN_RING_SEGMENTS);
        Ok(Self {
            journal,
            segment,
            retained_segments,
            ring_segments: body - retained_segments,
        })
    }

    /// Where the retained log lies: beads, headers, markers and events.
    #[must_use]
    pub const fn retained(&self) -> CellRange {
        CellRange {
            first: SEGMENTS_BEFORE_RETAINED.saturating_mul(self.segment),
            cells: self.retained_segments.saturating_mul(self.segment),
        }
    }

    /// Where the whole log lies.
    #[must_use]
    pub const fn ring(&self) -> CellRange {
        CellRange {
            first: (SEGMENTS_BEFORE_RETAINED.saturating_add(self.retained_segments))
                .saturating_mul(self.segment),
            cells: self.ring_segments.saturating_mul(self.segment),
        }
    }

    /// The cells for settings: two segments, and in each its first cell and one half a segment on.
    #[must_use]
    pub const fn settings(&self) -> [[u32; 2]; 2] {
        let (even, half) = (self.segment, self.segment / 2);
        let odd = even.saturating_mul(2);
        [
            [even, even.saturating_add(half)],
            [odd, odd.saturating_add(half)],
        ]
    }

    /// How often it was cleared if its cells have this number; `None` for the number of another journal. Each clearing adds
    /// one to the number, so that earlier cells no longer count.
    #[must_use]
    pub const fn cleared(&self, number: u32) -> Option<u32> {
        let times = number.wrapping_sub(self.journal);
        if times <= MAX_CLEARED {
            Some(times)
        } else {
            None
        }
    }

    /// The number of all its cells.
    #[must_use]
    pub const fn cells(&self) -> u32 {
        let ring = self.ring();
        ring.first.saturating_add(ring.cells)
    }

    /// The first cell of a journal.
    #[must_use]
    pub fn to_cell(&self) -> CellBytes {
        let mut cell = [0; super::CELL];
        let fields = [self.segment, self.retained_segments, self.ring_segments];
        let bytes = fields.iter().flat_map(|field| field.to_le_bytes());
        for (to, from) in payload_mut(&mut cell).iter_mut().zip(bytes) {
            *to = from;
        }
        let header = CellHeader {
            content: Content::Layout,
            journal: self.journal,
            number: 0,
            offset: 0,
            used: 12,
            beads: 0,
            starts: 0,
        };
        seal(&header, &mut cell);
        cell
    }

    /// Reads the first cell of a journal on a medium of this many cells.
    ///
    /// # Errors
    /// [`LayoutError`] when it is not a layout for this medium.
    pub fn of_cell(cell: &CellBytes, cells: u32) -> Result<Self, LayoutError> {
        let header = open(cell).map_err(|unsound| match unsound {
            CellError::Newer { found } => LayoutError::Newer { found },
            CellError::Blank | CellError::Damaged => LayoutError::NotPrepared,
        })?;
        let mut words = payload(&header, cell)
            .chunks_exact(4)
            .map(|word| word.try_into().map_or(0, u32::from_le_bytes));
        let (Content::Layout, Some(segment), Some(retained_segments), Some(ring_segments)) =
            (header.content, words.next(), words.next(), words.next())
        else {
            return Err(LayoutError::NotPrepared);
        };
        let layout = Self {
            journal: header.journal,
            segment,
            retained_segments,
            ring_segments,
        };
        let segments = u64::from(SEGMENTS_BEFORE_RETAINED)
            + u64::from(retained_segments)
            + u64::from(ring_segments);
        let fits = segments.saturating_mul(segment.into()) <= u64::from(cells);
        let enough = retained_segments >= MIN_RETAINED_SEGMENTS
            && ring_segments >= MIN_RING_SEGMENTS
            && segment > 0;
        if fits && enough {
            Ok(layout)
        } else {
            Err(LayoutError::DoesNotFit)
        }
    }
}
