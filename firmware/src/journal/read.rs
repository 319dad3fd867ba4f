//! Reading the log back: from the ring, and from the retained log where the ring has lost records.

use super::medium::TRIES;
use super::search::CellCache;
use super::{Journal, Medium};
use crate::store::StoreError;
use coldsquare_core::journal::{CellHeader, PAYLOAD_AT, RETAINED_PREFIX, payload, retained};

/// How often reading is refused at a byte before what follows is given. A card that was pushed in again answers sooner.
const PATIENCE: u8 = 8;

impl<M: Medium> Journal<M> {
    /// The oldest cell number of the ring that can still be read.
    fn oldest(&self) -> u32 {
        let taken = if M::MUST_ERASE {
            self.log.erased_to
        } else {
            self.log.next.saturating_add(TRIES)
        };
        taken.saturating_sub(self.log.area.range.cells)
    }

    /// Reads from a byte of the log on, as [`Store::read`](crate::store::Store::read).
    ///
    /// # Errors
    /// [`StoreError::Fault`] when a cell was refused that may have what comes next. After [`PATIENCE`] times, what can be
    /// read after it is given.
    pub(super) fn read_log(
        &mut self,
        from: u64,
        into: &mut [u8],
    ) -> Result<(u64, usize), StoreError> {
        if from >= self.stored {
            return Ok((from, 0));
        }
        self.cache.refused = false;
        let found = self.find(from, into);
        let hole = found.is_none_or(|(offset, _)| offset != from);
        if hole && self.cache.refused {
            // What was found may be past something, and where the search went next time must not depend on it.
            (self.last_log_read, self.last_retained_read) = (None, None);
            let (before, times) = self.refused_read;
            let times = if from == before {
                times.saturating_add(1)
            } else {
                1
            };
            self.refused_read = (from, times);
            if times < PATIENCE {
                return Err(StoreError::Fault);
            }
        } else if from == self.refused_read.0 {
            self.refused_read = (from, 0);
        }
        if found.is_none() && !self.cache.refused && from >= self.left_from {
            // Nothing was written yet behind the room that was left.
            return Ok((self.stored, 0));
        }
        // Nothing at all, although there is more: no answer is better than an end that is none.
        let (offset, length) = found.ok_or(StoreError::Fault)?;
        // What lies past the end is not of this log.
        let left = self.stored.saturating_sub(offset);
        let length = usize::try_from(left).map_or(length, |left| left.min(length));
        Ok((offset.min(self.stored), length))
    }

    /// The first bytes at or after `from` that can be read.
    fn find(&mut self, from: u64, into: &mut [u8]) -> Option<(u64, usize)> {
        let mut found = self.find_in_log(from);
        if found.is_none_or(|(offset, _)| offset != from) {
            let retained = self.find_retained(from);
            if let Some((offset, at, length)) = retained
                && found.is_none_or(|(log, _)| offset < log)
            {
                let inside = from.saturating_sub(offset) as usize;
                let bytes = payload_part(&self.cache, at + inside, length.saturating_sub(inside));
                return Some((offset.max(from), copy(bytes, into)));
            }
            // The cache holds a cell of the other area now.
            found = self.find_in_log(from);
        }
        let (offset, header) = found?;
        let inside = offset.saturating_sub(header.offset) as usize;
        let rest = usize::from(header.used).saturating_sub(inside);
        Some((offset, copy(payload_part(&self.cache, inside, rest), into)))
    }

    /// The first byte of the ring at or after `from`: its offset and the header of its cell, which is in the cache.
    fn find_in_log(&mut self, from: u64) -> Option<(u64, CellHeader)> {
        let range = (self.oldest(), self.log.next);
        let Self { medium, cache, .. } = self;
        let area = self.log.area;
        let near = self.last_log_read;
        if let Some((number, offset)) = near
            && offset <= from
            && let Some(header) = area.numbered(medium, cache, number)
            && from < end_of(&header)
        {
            return Some((from, header));
        }
        let before = area.at_or_before(medium, cache, range, from, near);
        self.last_log_read = before.map(|header| (header.number, header.offset));
        if let Some(header) = before
            && from < end_of(&header)
        {
            // The search may have loaded other cells since.
            return area
                .numbered(medium, cache, header.number)
                .map(|header| (from, header));
        }
        let after = before.map_or(range.0, |header| header.number.saturating_add(1));
        let next = area.next_after(medium, cache, after, range.1)?;
        self.last_log_read = Some((next.number, next.offset));
        // A medium that answers now so, now otherwise may show one that ends before.
        (from < end_of(&next)).then_some((next.offset.max(from), next))
    }

    /// The first retained record that ends after `from`: its offset, and its position and length in the cached payload.
    fn find_retained(&mut self, from: u64) -> Option<(u64, usize, usize)> {
        let Self { medium, cache, .. } = self;
        let area = self.retained.area;
        let range = (0, self.retained.next);
        let before = area.at_or_before(medium, cache, range, from, self.last_retained_read);
        self.last_retained_read = before.map(|header| (header.number, header.offset));
        let mut number = before.map_or(0, |header| header.number);
        // If all records of this cell end before, the first of the next cell is the one.
        for _ in 0..2 {
            let header = area.next_after(medium, cache, number, range.1)?;
            let bytes = payload(&header, &cache.bytes);
            let mut at = 0;
            for (offset, frame) in retained(header.offset, bytes) {
                at += RETAINED_PREFIX;
                if offset.saturating_add(frame.len() as u64) > from {
                    return Some((offset, at, frame.len()));
                }
                at += frame.len();
            }
            number = header.number.saturating_add(1);
        }
        None
    }
}

/// The offset after a cell's last byte.
pub(super) const fn end_of(header: &CellHeader) -> u64 {
    header.offset.saturating_add(header.used as u64)
}

fn payload_part(cache: &CellCache, at: usize, length: usize) -> &[u8] {
    let begin = PAYLOAD_AT.saturating_add(at);
    let end = begin.saturating_add(length);
    cache.bytes.get(begin..end).unwrap_or_default()
}

fn copy(from: &[u8], into: &mut [u8]) -> usize {
    let length = from.len().min(into.len());
    if let (Some(to), Some(from)) = (into.get_mut(..length), from.get(..length)) {
        to.copy_from_slice(from);
    }
    length
}
