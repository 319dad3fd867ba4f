//! Finding cells by number and offset, with few reads, across damaged cells.

use super::medium::{Medium, MediumError, TRIES, Unread, read_cell};
use coldsquare_core::journal::{CELL, CellBytes, CellHeader, CellRange, Content, open};

/// How far behind the last cell that can be read a refused one may be for the log to go on behind it: as far as failed
/// writes can have left it.
const MAX_PASSED: u32 = TRIES;
/// Cells that can be unwritten in a row among written ones: those passed at a start, and those that a failed write leaves.
pub(super) const MAX_SKIPPED: u32 = MAX_PASSED + TRIES - 1;
/// Damaged cells in a row to skip: twice what one page of a card's own flash (16 KiB) may damage.
const MAX_DAMAGED: u32 = 64;
/// Cells that the medium refuses to read, near one another, before nothing is concluded from what the others say.
const MAX_REFUSED: u32 = 4;

/// Where an area goes on.
#[derive(Clone, Copy, Debug)]
pub(super) struct End {
    /// The cell that was written last, of those that can be read.
    pub last: Option<CellHeader>,
    /// Number of the next cell: behind those that may hold something and cannot be read.
    pub next: u32,
    /// Cells in between that the medium refuses to read.
    pub refused: u32,
}

/// The cell read last.
#[derive(Debug)]
pub(super) struct CellCache {
    pub bytes: CellBytes,
    number: Option<u32>,
    /// A cell was refused since this was last set to false.
    pub refused: bool,
}

impl CellCache {
    pub const fn new() -> Self {
        Self {
            bytes: [0; CELL],
            number: None,
            refused: false,
        }
    }

    /// Forgets the cell, because the medium is about to change.
    pub const fn clear(&mut self) {
        self.number = None;
    }

    /// Reads a cell unless it is here already. A whole cell of another journal or area counts as blank, and one with nothing
    /// in it, which no journal writes.
    fn load(
        &mut self,
        medium: &mut impl Medium,
        cell: u32,
        content: Content,
        journal: u32,
    ) -> Result<CellHeader, Unread> {
        let header = if self.number == Some(cell) {
            open(&self.bytes).map_err(|_| Unread::Damaged)?
        } else {
            self.number = None;
            let read = read_cell(medium, cell, &mut self.bytes);
            self.refused |= read == Err(Unread::Refused);
            let header = read?;
            self.number = Some(cell);
            header
        };
        if header.journal == journal && header.content == content && header.used > 0 {
            Ok(header)
        } else {
            Err(Unread::Blank)
        }
    }
}

/// One area of a journal.
#[derive(Clone, Copy, Debug)]
pub(super) struct Area {
    pub range: CellRange,
    pub content: Content,
    pub journal: u32,
}

impl Area {
    /// The first whole cell from an index of the area on and before `end` that `suits`, with its index. Gives up after too
    /// many that are damaged, blank or unsuitable.
    ///
    /// # Errors
    /// [`MediumError::Fault`] when so many cells were refused that it may have been among them.
    fn first_at(
        &self,
        medium: &mut impl Medium,
        cache: &mut CellCache,
        (from, end): (u32, u32),
        suits: impl Fn(u32) -> bool,
    ) -> Result<Option<(u32, CellHeader)>, MediumError> {
        let (mut others, mut refused) = (0, 0);
        for at in from..end.min(from.saturating_add(MAX_DAMAGED)) {
            let cell = self.range.first.saturating_add(at);
            match cache.load(medium, cell, self.content, self.journal) {
                // A cell whose number belongs elsewhere was copied here.
                Ok(header) if self.index(header.number) == at && suits(header.number - at) => {
                    return Ok(Some((at, header)));
                }
                Err(Unread::Blank) | Ok(_) => others += 1,
                // It may be one of those sought, and others may be skipped on both sides of it.
                Err(Unread::Damaged) => others = 0,
                Err(Unread::Refused) => (others, refused) = (0, refused + 1),
            }
            if refused > MAX_REFUSED {
                return Err(MediumError::Fault);
            }
            if others > MAX_SKIPPED {
                break;
            }
        }
        Ok(None)
    }

    /// What comes after the last cell that can be read: the next one, or the one after those that are refused.
    fn end_after(
        &self,
        medium: &mut impl Medium,
        cache: &mut CellCache,
        last: Option<CellHeader>,
    ) -> Result<End, MediumError> {
        let following = last.map_or(0, |header| header.number.saturating_add(1));
        let mut end = End {
            last,
            next: following,
            refused: 0,
        };
        // Cells since the last one that are or may be unwritten, and those of them that are, in a row.
        let (mut passed, mut others) = (0, 0);
        for number in following..following.saturating_add(MAX_DAMAGED.min(self.range.cells)) {
            let cell = self.range.cell(number);
            match cache.load(medium, cell, self.content, self.journal) {
                // What was searched with did not show this one: the medium answers now so, now otherwise.
                Ok(header) if header.number >= number => return Err(MediumError::Fault),
                Err(Unread::Blank) | Ok(_) => (passed, others) = (passed + 1, others + 1),
                Err(Unread::Damaged) => others = 0,
                Err(Unread::Refused) => {
                    (passed, others) = (passed + 1, 0);
                    if passed > MAX_PASSED {
                        return Err(MediumError::Fault);
                    }
                    end.refused += 1;
                    end.next = number.saturating_add(1);
                }
            }
            if others >= TRIES {
                break;
            }
        }
        Ok(end)
    }

    const fn index(&self, number: u32) -> u32 {
        match number.checked_rem(self.range.cells) {
            Some(index) => index,
            None => 0,
        }
    }

    /// The cell that was written last.
    ///
    /// Cells are written in order, round after round. So there is a run of the latest round from the first cell on, followed
    /// by what is left of the round before; bisection finds the end of the run. A failed write leaves a cell of the round
    /// before, or a blank one, inside the run.
    ///
    /// # Errors
    /// [`MediumError::Fault`] when so much is refused that the end is not certain.
    pub fn end(&self, medium: &mut impl Medium, cache: &mut CellCache) -> Result<End, MediumError> {
        let last = self.last(medium, cache)?;
        self.end_after(medium, cache, last)
    }

    fn last(
        &self,
        medium: &mut impl Medium,
        cache: &mut CellCache,
    ) -> Result<Option<CellHeader>, MediumError> {
        let cells = self.range.cells;
        // The latest round among the first cells: from each of them on only a newer one counts, so that cells of the round
        // before, which failed writes left, are passed over and not taken.
        let mut last: Option<(u32, CellHeader)> = None;
        for from in 0..=MAX_SKIPPED {
            let newer = |round| last.is_none_or(|(at, header)| round > header.number - at);
            if let Some(found) = self.first_at(medium, cache, (from, cells), newer)? {
                last = Some(found);
            }
        }
        let Some((mut low, mut last)) = last else {
            return Ok(None);
        };
        let round = last.number - low;
        let mut high = cells;
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            match self.first_at(medium, cache, (middle, high), |found| found == round)? {
                Some(found) => (low, last) = found,
                None => high = middle,
            }
        }
        Ok(Some(last))
    }

    /// The same on a medium whose segments may still hold cells of an earlier round. Reads each cell
    /// at most once; with few damaged cells, about one a segment and two whole segments.
    ///
    /// # Errors
    /// As [`Area::end`].
    pub fn end_by_segments(
        &self,
        medium: &mut impl Medium,
        cache: &mut CellCache,
        segment: u32,
    ) -> Result<End, MediumError> {
        let last = self.last_by_segments(medium, cache, segment)?;
        self.end_after(medium, cache, last)
    }

    fn last_by_segments(
        &self,
        medium: &mut impl Medium,
        cache: &mut CellCache,
        segment: u32,
    ) -> Result<Option<CellHeader>, MediumError> {
        let mut newest: Option<CellHeader> = None;
        for begin in (0..self.range.cells).step_by(segment.max(1) as usize) {
            let end = begin.saturating_add(segment).min(self.range.cells);
            let found = self.first_at(medium, cache, (begin, end), |_| true)?;
            if let Some((_, header)) = found
                && newest.is_none_or(|newest| header.number > newest.number)
            {
                newest = Some(header);
            }
        }
        let Some(newest) = newest else {
            return Ok(None);
        };
        let begin = self.index(newest.number);
        let end = (begin - begin % segment.max(1)).saturating_add(segment);
        let mut last = newest;
        for at in begin..end.min(self.range.cells) {
            if let Some((_, header)) = self.first_at(medium, cache, (at, at + 1), |_| true)?
                && header.number > last.number
            {
                last = header;
            }
        }
        Ok(Some(last))
    }

    /// The cell with this number.
    pub fn numbered(
        &self,
        medium: &mut impl Medium,
        cache: &mut CellCache,
        number: u32,
    ) -> Option<CellHeader> {
        let cell = self.range.cell(number);
        let header = cache.load(medium, cell, self.content, self.journal).ok()?;
        (header.number == number).then_some(header)
    }

    /// The first whole cell with a number at or after `from` and before `end`.
    pub fn next_after(
        &self,
        medium: &mut impl Medium,
        cache: &mut CellCache,
        from: u32,
        end: u32,
    ) -> Option<CellHeader> {
        (from..end.min(from.saturating_add(MAX_DAMAGED)))
            .find_map(|number| self.numbered(medium, cache, number))
    }

    /// Of the whole cells with numbers from `oldest` and before `end`, the last that begins at or before `offset`. The search
    /// starts at the cell `near` (number and offset) and reads about 2·log2 of the distance from it.
    pub fn at_or_before(
        &self,
        medium: &mut impl Medium,
        cache: &mut CellCache,
        (oldest, end): (u32, u32),
        offset: u64,
        near: Option<(u32, u64)>,
    ) -> Option<CellHeader> {
        let mut found = None;
        let (mut low, mut high) = (oldest, end);
        if let Some((number, at)) = near
            && at <= offset
            && (oldest..end).contains(&number)
            && let Some(header) = self.numbered(medium, cache, number)
        {
            found = Some(header);
            low = number;
            let mut step = 1u32;
            while let Some(header) = self.next_after(medium, cache, low.saturating_add(step), end) {
                if header.offset > offset {
                    high = low.saturating_add(step);
                    break;
                }
                low = header.number;
                found = Some(header);
                step = step.saturating_mul(2);
            }
            low = low.saturating_add(1);
        }
        while low < high {
            let middle = low + (high - low) / 2;
            match self.next_after(medium, cache, middle, high) {
                Some(header) if header.offset <= offset => {
                    low = header.number.saturating_add(1);
                    found = Some(header);
                }
                _ => high = middle,
            }
        }
        found
    }
}
