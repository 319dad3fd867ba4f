//! Which cells are for what.

use super::cell::{CellBytes, Content, Head, Unsound, open, payload, payload_mut, seal};

/// Segments before the kept area: one for the layout, two for settings.
pub const SEGMENTS_BEFORE_RETAINED: u32 = 3;
/// The ring needs so many segments: one being written, one made ready, one that can be read.
const MIN_RING_SEGMENTS: u32 = 4;
/// The kept area needs so many.
const MIN_RETAINED_SEGMENTS: u32 = 1;

/// How often a journal can be emptied before its medium must be prepared again.
pub const MAX_CLEARED: u32 = 65_535;

/// A run of cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Area {
    /// The first cell.
    pub first: u32,
    /// How many.
    pub cells: u32,
}

impl Area {
    /// The cell in which number `number` of this area lies.
    #[must_use]
    pub const fn cell(&self, number: u32) -> u32 {
        match number.checked_rem(self.cells) {
            Some(at) => self.first.saturating_add(at),
            None => self.first,
        }
    }
}

/// Which cells are for what. A *segment* is what is erased at once on flash, and a fixed number of cells on a card.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layout {
    /// Number of this journal, different from that of an earlier one on the same medium.
    pub journal: u32,
    /// Cells of a segment.
    pub segment: u32,
    /// Segments of the kept area.
    kept_segments: u32,
    /// Segments of the ring.
    ring_segments: u32,
}

/// Why there is no layout.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LayoutError {
    /// Fewer cells than the least that a journal needs.
    TooSmall {
        /// The least, in cells.
        least: u32,
    },
    /// The first cell holds none: the medium was not prepared.
    NotPrepared,
    /// It was prepared by a newer program.
    Newer {
        /// The version it states.
        found: u8,
    },
    /// The first cell tells of more cells than there are, or of none.
    DoesNotFit,
}

impl core::fmt::Display for LayoutError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::TooSmall { least } => {
                write!(f, "a journal needs at least {least} cells of 512 bytes")
            }
            Self::NotPrepared => f.write_str(
                "its first cell says nothing: it was not prepared, or its beginning is damaged",
            ),
            Self::Newer { found } => write!(
                f,
                "written in journal layout {found}, this program reads 1; use a newer program"
            ),
            Self::DoesNotFit => {
                f.write_str("its first cell tells of more cells than there are: it was cut short")
            }
        }
    }
}

impl core::error::Error for LayoutError {}

impl Layout {
    /// Divides so many cells: `kept_256ths` / 256 of what the head leaves go to the kept area, the rest to the ring.
    ///
    /// # Errors
    /// [`LayoutError::TooSmall`].
    pub fn divide(
        journal: u32,
        cells: u32,
        segment: u32,
        kept_256ths: u8,
    ) -> Result<Self, LayoutError> {
        let fewest = SEGMENTS_BEFORE_RETAINED + MIN_RETAINED_SEGMENTS + MIN_RING_SEGMENTS;
        let least = segment.max(1).saturating_mul(fewest);
        let segments = cells.checked_div(segment).unwrap_or(0);
        if segments < fewest {
            return Err(LayoutError::TooSmall { least });
        }
        let body = segments - SEGMENTS_BEFORE_RETAINED;
        let share = (u64::from(body) * u64::from(kept_256ths) / 256) as u32;
        let kept_segments = share.clamp(MIN_RETAINED_SEGMENTS, body - MIN_RING_SEGMENTS);
        Ok(Self {
            journal,
            segment,
            kept_segments,
            ring_segments: body - kept_segments,
        })
    }

    /// Where beads, headers, markers and events lie.
    #[must_use]
    pub const fn kept(&self) -> Area {
        Area {
            first: SEGMENTS_BEFORE_RETAINED.saturating_mul(self.segment),
            cells: self.kept_segments.saturating_mul(self.segment),
        }
    }

    /// Where the log lies.
    #[must_use]
    pub const fn ring(&self) -> Area {
        Area {
            first: (SEGMENTS_BEFORE_RETAINED.saturating_add(self.kept_segments))
                .saturating_mul(self.segment),
            cells: self.ring_segments.saturating_mul(self.segment),
        }
    }

    /// The two cells for settings.
    #[must_use]
    pub const fn settings(&self) -> [u32; 2] {
        [self.segment, self.segment.saturating_mul(2)]
    }

    /// How often it was emptied when its cells bear this number; `None` for the number of another journal. The number
    /// goes up by one each time, so that what was there before counts as another's.
    #[must_use]
    pub const fn cleared(&self, number: u32) -> Option<u32> {
        let times = number.wrapping_sub(self.journal);
        if times <= MAX_CLEARED {
            Some(times)
        } else {
            None
        }
    }

    /// All cells together.
    #[must_use]
    pub const fn cells(&self) -> u32 {
        let ring = self.ring();
        ring.first.saturating_add(ring.cells)
    }

    /// The first cell of a journal.
    #[must_use]
    pub fn to_cell(&self) -> CellBytes {
        let mut cell = [0; super::CELL];
        let fields = [self.segment, self.kept_segments, self.ring_segments];
        let bytes = fields.iter().flat_map(|field| field.to_le_bytes());
        for (to, from) in payload_mut(&mut cell).iter_mut().zip(bytes) {
            *to = from;
        }
        let head = Head {
            content: Content::Layout,
            journal: self.journal,
            number: 0,
            place: 0,
            used: 12,
            beads: 0,
            starts: 0,
        };
        seal(&head, &mut cell);
        cell
    }

    /// Reads the first cell of a journal on a medium of so many cells.
    ///
    /// # Errors
    /// [`LayoutError`] when it is none.
    pub fn of_cell(cell: &CellBytes, cells: u32) -> Result<Self, LayoutError> {
        let head = open(cell).map_err(|unsound| match unsound {
            Unsound::Newer { found } => LayoutError::Newer { found },
            Unsound::Blank | Unsound::Damaged => LayoutError::NotPrepared,
        })?;
        let mut words = payload(&head, cell)
            .chunks_exact(4)
            .map(|word| word.try_into().map_or(0, u32::from_le_bytes));
        let (Content::Layout, Some(segment), Some(kept_segments), Some(ring_segments)) =
            (head.content, words.next(), words.next(), words.next())
        else {
            return Err(LayoutError::NotPrepared);
        };
        let layout = Self {
            journal: head.journal,
            segment,
            kept_segments,
            ring_segments,
        };
        let segments = u64::from(SEGMENTS_BEFORE_RETAINED)
            + u64::from(kept_segments)
            + u64::from(ring_segments);
        let fits = segments * u64::from(segment) <= u64::from(cells);
        let enough = kept_segments >= MIN_RETAINED_SEGMENTS
            && ring_segments >= MIN_RING_SEGMENTS
            && segment > 0;
        if fits && enough {
            Ok(layout)
        } else {
            Err(LayoutError::DoesNotFit)
        }
    }
}
