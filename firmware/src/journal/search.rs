//! Finding cells by their numbers and places, with few reads, past cells that are damaged.

use super::medium::Medium;
use coldsquare_core::journal::{Area, CELL, CellBytes, Content, Head, Unsound, open};

/// Cells that failed writes can leave as they were among written ones: as many as are tried for one write.
const MAX_SKIPPED: u32 = super::TRIES;
/// Damaged cells in a row that are looked past: what one page of a card's own flash may take with it (16 KiB), twice.
const MAX_DAMAGED: u32 = 64;

/// Most cells that [`Region::last`] reads in an area of so many: at the start, and each time it is halved.
pub(super) const fn max_reads(cells: u32) -> u32 {
    let halvings = u32::BITS - cells.leading_zeros();
    (MAX_SKIPPED + 1 + halvings).saturating_mul(MAX_DAMAGED)
}

/// A place for one cell, and which it holds.
#[derive(Debug)]
pub(super) struct Desk {
    pub bytes: CellBytes,
    holds: Option<u32>,
}

impl Desk {
    pub const fn new() -> Self {
        Self {
            bytes: [0; CELL],
            holds: None,
        }
    }

    /// What lies here is not to be relied on any more.
    pub const fn clear(&mut self) {
        self.holds = None;
    }

    /// Reads the cell with number `number` of an area. A whole one of another journal, or that does not belong there,
    /// counts as blank.
    fn load(
        &mut self,
        medium: &mut impl Medium,
        cell: u32,
        content: Content,
        journal: u32,
    ) -> Result<Head, Unsound> {
        if self.holds != Some(cell) {
            self.holds = None;
            medium
                .read(cell, &mut self.bytes)
                .map_err(|_| Unsound::Damaged)?;
            self.holds = Some(cell);
        }
        let head = open(&self.bytes)?;
        if head.journal == journal && head.content == content {
            Ok(head)
        } else {
            Err(Unsound::Blank)
        }
    }
}

/// One area of a journal.
#[derive(Clone, Copy, Debug)]
pub(super) struct Region {
    pub area: Area,
    pub content: Content,
    pub journal: u32,
}

impl Region {
    /// The first whole cell at or after an index of the area and before `end` that suits, and its index. Gives up after
    /// too many that are damaged, blank or do not suit.
    fn first_at(
        &self,
        medium: &mut impl Medium,
        desk: &mut Desk,
        (from, end): (u32, u32),
        suits: impl Fn(u32) -> bool,
    ) -> Option<(u32, Head)> {
        let mut others = 0;
        for at in from..end.min(from.saturating_add(MAX_DAMAGED)) {
            let cell = self.area.first.saturating_add(at);
            match desk.load(medium, cell, self.content, self.journal) {
                // Its number says where it lies, or it was copied there.
                Ok(head) if self.index(head.number) == at && suits(head.number - at) => {
                    return Some((at, head));
                }
                Err(Unsound::Blank) | Ok(_) => others += 1,
                Err(Unsound::Damaged | Unsound::Newer { .. }) => {}
            }
            if others > MAX_SKIPPED {
                return None;
            }
        }
        None
    }

    const fn index(&self, number: u32) -> u32 {
        match number.checked_rem(self.area.cells) {
            Some(index) => index,
            None => 0,
        }
    }

    /// The cell that was written last.
    ///
    /// Cells are written in order and round and round, so from the first cell on there is a run of one round, and behind
    /// it what is left of the round before: the end of the run is found by halving. A write that failed leaves a cell of
    /// the round before, or a blank one, inside the run. Reads at most [`max_reads`] cells.
    pub fn last(&self, medium: &mut impl Medium, desk: &mut Desk) -> Option<Head> {
        let cells = self.area.cells;
        // The latest round of those that the first cells tell of.
        let mut last: Option<(u32, Head)> = None;
        for from in 0..=MAX_SKIPPED {
            let newer = |round| last.is_none_or(|(at, head)| round > head.number - at);
            if let Some(found) = self.first_at(medium, desk, (from, cells), newer) {
                last = Some(found);
            }
        }
        let (mut low, mut last) = last?;
        let round = last.number - low;
        let mut high = cells;
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            match self.first_at(medium, desk, (middle, high), |found| found == round) {
                Some(found) => (low, last) = found,
                None => high = middle,
            }
        }
        Some(last)
    }

    /// The cell that was written last, where a whole segment may have kept what an earlier round left in it: reads each
    /// cell once at most, and about one a segment and two segments when few are damaged.
    pub fn last_by_segments(
        &self,
        medium: &mut impl Medium,
        desk: &mut Desk,
        segment: u32,
    ) -> Option<Head> {
        let mut newest: Option<Head> = None;
        for begin in (0..self.area.cells).step_by(segment.max(1) as usize) {
            let end = begin.saturating_add(segment).min(self.area.cells);
            let found = self.first_at(medium, desk, (begin, end), |_| true);
            if let Some((_, head)) = found
                && newest.is_none_or(|newest| head.number > newest.number)
            {
                newest = Some(head);
            }
        }
        let newest = newest?;
        let begin = self.index(newest.number);
        let end = (begin - begin % segment.max(1)).saturating_add(segment);
        let mut last = newest;
        for at in begin..end.min(self.area.cells) {
            if let Some((_, head)) = self.first_at(medium, desk, (at, at + 1), |_| true)
                && head.number > last.number
            {
                last = head;
            }
        }
        Some(last)
    }

    /// The cell with this number.
    pub fn numbered(&self, medium: &mut impl Medium, desk: &mut Desk, number: u32) -> Option<Head> {
        let cell = self.area.cell(number);
        let head = desk.load(medium, cell, self.content, self.journal).ok()?;
        (head.number == number).then_some(head)
    }

    /// The first whole cell with a number at or after `from` and before `end`.
    pub fn next_after(
        &self,
        medium: &mut impl Medium,
        desk: &mut Desk,
        from: u32,
        end: u32,
    ) -> Option<Head> {
        (from..end.min(from.saturating_add(MAX_DAMAGED)))
            .find_map(|number| self.numbered(medium, desk, number))
    }

    /// Of the whole cells with numbers from `oldest` and before `end`, the last that begins at or before `place`; what
    /// `near` says about a cell is where the search begins. Reads about `2 log2` of the distance to it.
    pub fn at_or_before(
        &self,
        medium: &mut impl Medium,
        desk: &mut Desk,
        (oldest, end): (u32, u32),
        place: u64,
        near: Option<(u32, u64)>,
    ) -> Option<Head> {
        let mut found = None;
        let (mut low, mut high) = (oldest, end);
        if let Some((number, at)) = near
            && at <= place
            && (oldest..end).contains(&number)
        {
            found = self.numbered(medium, desk, number);
            low = number;
            let mut step = 1u32;
            while let Some(head) = self.next_after(medium, desk, low.saturating_add(step), end) {
                if head.place > place {
                    high = low.saturating_add(step);
                    break;
                }
                low = head.number;
                found = Some(head);
                step = step.saturating_mul(2);
            }
            low = low.saturating_add(1);
        }
        while low < high {
            let middle = low + (high - low) / 2;
            match self.next_after(medium, desk, middle, high) {
                Some(head) if head.place <= place => {
                    low = head.number.saturating_add(1);
                    found = Some(head);
                }
                _ => high = middle,
            }
        }
        found
    }
}
