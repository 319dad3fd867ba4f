//! Writing cells, and erasing segments before they are needed.

use super::write_buffer::WriteBuffer;
use super::{Journal, MAX_SPOILED, Medium, RETAINED_AHEAD, Refusal, TRIES};
use crate::store::StoreError;
use coldsquare_core::journal::{CellHeader, Content, open, seal};

impl<M: Medium> Journal<M> {
    /// Writes a buffer, unless it is empty, into the next cell that accepts it.
    pub(super) fn flush(&mut self, content: Content) -> Result<(), StoreError> {
        let (tail, end) = match content {
            Content::Retained => {
                let end = self.layout.retained().cells.min(self.retained.erased_to);
                (&mut self.retained, end)
            }
            _ => {
                let end = self.log.erased_to;
                (&mut self.log, end)
            }
        };
        if tail.is_empty() {
            return Ok(());
        }
        let (mut tries, mut number) = (0, tail.next.saturating_add(tail.refused));
        let last = number.saturating_add(MAX_SPOILED).min(end);
        while number < last && tries < TRIES {
            let header = CellHeader {
                content,
                journal: tail.area.journal,
                number,
                offset: tail.offset,
                used: tail.used as u16,
                beads: self.beads,
                starts: self.starts,
            };
            seal(&header, &mut tail.cell);
            self.cache.clear();
            match self.medium.write(tail.area.range.cell(number), &tail.cell) {
                Ok(()) => {
                    tail.next = number.saturating_add(1);
                    tail.refused = 0;
                    if content == Content::Log {
                        let end = tail.offset.saturating_add(tail.used as u64);
                        self.stored = self.stored.max(end);
                    }
                    tail.used = 0;
                    return Ok(());
                }
                // It stays that way until it is erased.
                Err(Refusal::NotBlank) => {
                    number = number.saturating_add(1);
                    tail.next = number;
                    tail.refused = 0;
                }
                // The last of the cells tried is tried repeatedly.
                Err(Refusal::Fault) => {
                    tries += 1;
                    if tail.refused + 1 < TRIES && number.saturating_add(1) < end {
                        tail.refused += 1;
                        number = number.saturating_add(1);
                    }
                }
            }
        }
        if content == Content::Retained && self.is_full() {
            return Err(StoreError::Full);
        }
        Err(StoreError::Fault)
    }

    /// Writes both buffers, the retained log first, so that everything in the ring but windows is in the retained log
    /// too.
    pub(super) fn flush_both(&mut self) -> Result<(), StoreError> {
        self.flush(Content::Retained)?;
        let log = self.flush(Content::Log);
        // Retained records can be read even if the ring's cell could not be written; it may be written later.
        let end = if log.is_ok() {
            self.offset
        } else {
            self.log.offset
        };
        self.stored = self.stored.max(end);
        log
    }

    /// Erases the next segment of the ring, before it is needed. Its old records can no longer be read.
    pub(super) fn erase_ahead(&mut self) -> Result<(), Refusal> {
        let cell = self.log.area.range.cell(self.log.erased_to);
        self.log.erased_to = self.log.erased_to.saturating_add(self.layout.segment);
        self.cache.clear();
        self.medium.erase(cell)
    }

    /// Erases the next segment of the retained log, before it is needed, unless it holds retained records: if cells could
    /// not be read when the end was searched, it is skipped.
    pub(super) fn erase_ahead_retained(&mut self) -> Result<(), Refusal> {
        let WriteBuffer {
            area, erased_to, ..
        } = &self.retained;
        let begin = area.range.cell(*erased_to);
        for cell in begin..begin.saturating_add(self.layout.segment) {
            self.cache.clear();
            self.medium.read(cell, &mut self.cache.bytes)?;
            let ours = open(&self.cache.bytes).is_ok_and(|header| {
                header.content == Content::Retained && header.journal == area.journal
            });
            if ours {
                self.retained.erased_to = erased_to.saturating_add(self.layout.segment);
                return Ok(());
            }
        }
        self.retained.erased_to = erased_to.saturating_add(self.layout.segment);
        self.medium.erase(begin)
    }

    /// True if more of the retained log should be erased ahead.
    pub(super) const fn retained_needs_erasing(&self) -> bool {
        let segment = self.layout.segment;
        let wanted = self
            .retained
            .next
            .saturating_add(segment.saturating_mul(RETAINED_AHEAD));
        self.retained.erased_to < wanted && self.retained.erased_to < self.layout.retained().cells
    }
}
