//! Writing cells where nothing lies that must stay, and erasing segments before they are needed.

use super::medium::{TRIES, Unread, read_cell};
use super::search::Area;
use super::write_buffer::WriteBuffer;
use super::{Journal, Medium, MediumError};
use crate::store::StoreError;
use coldsquare_core::journal::{CellBytes, Content, Layout, payload};
use coldsquare_core::trouble::Trouble;
use core::cmp::Ordering;

/// Segments of the retained log to erase ahead: room for this many times eight presses during one arc.
const RETAINED_AHEAD: u32 = 4;
/// Cells that are not blank to skip, on a medium that writes only blank ones, before a write fails.
const MAX_SPOILED: u32 = 64;

/// What lies where a cell is to be written.
enum Found {
    /// Nothing that must stay.
    Free,
    /// Something that no journal wrote: a torn cell, or on a card that has less room than it says, part of its file system.
    Foreign,
    /// Something that must stay, and why it is there.
    Taken(Trouble),
}

impl WriteBuffer {
    /// What lies in the cell with this number. A card answers with what lies where it will write, even if that is not where
    /// it says.
    fn found_at(
        &self,
        medium: &mut impl Medium,
        layout: &Layout,
        number: u32,
        bytes: &mut CellBytes,
    ) -> Found {
        let Area {
            range,
            content,
            journal,
        } = self.area;
        let header = match read_cell(medium, range.cell(number), bytes) {
            Ok(header) => header,
            Err(Unread::Damaged) if !bytes.starts_with(b"CJ") => return Found::Foreign,
            // What is refused is either part of the round before, or passed over when the end is looked for.
            Err(_) => return Found::Free,
        };
        let is_ours = match (layout.cleared(header.journal), layout.cleared(journal)) {
            (None, _) => return Found::Free,
            (Some(_), _) if matches!(header.content, Content::Layout | Content::Settings) => {
                return Found::Taken(Trouble::Wraps);
            }
            (found, ours) if found > ours => return Found::Taken(Trouble::OtherCard),
            (found, ours) => found == ours,
        };
        if !is_ours {
            return Found::Free;
        }
        if header.content != content || range.cell(header.number) != range.cell(number) {
            return Found::Taken(Trouble::Wraps);
        }
        match header.number.cmp(&number) {
            _ if header.used == 0 => Found::Free,
            Ordering::Less => Found::Free,
            Ordering::Equal if self.was_written_as(&header, payload(&header, bytes)) => Found::Free,
            _ => Found::Taken(Trouble::OtherCard),
        }
    }
}

impl<M: Medium> Journal<M> {
    /// Writes a buffer, unless it is empty, into the next cell that accepts it.
    pub(super) fn flush(&mut self, content: Content) -> Result<(), StoreError> {
        let (buffer, end) = match content {
            Content::Retained => {
                let end = self.layout.retained().cells.min(self.retained.erased_to);
                (&mut self.retained, end)
            }
            _ => {
                let end = self.log.erased_to;
                (&mut self.log, end)
            }
        };
        if buffer.is_empty() {
            return Ok(());
        }
        let (mut tries, mut number) = (0, buffer.next.saturating_add(buffer.refused));
        let last = number.saturating_add(MAX_SPOILED).min(end);
        while number < last && tries < TRIES {
            self.cache.clear();
            if !M::MUST_ERASE {
                let bytes = &mut self.cache.bytes;
                match buffer.found_at(&mut self.medium, &self.layout, number, bytes) {
                    Found::Free => {}
                    Found::Foreign => {
                        number = buffer.skip(number);
                        continue;
                    }
                    Found::Taken(why) => {
                        self.taken = Some(why);
                        return Err(StoreError::Fault);
                    }
                }
            }
            buffer.seal(number, self.beads, self.starts);
            let cell = buffer.area.range.cell(number);
            match self.medium.write(cell, &buffer.cell) {
                Ok(()) => {
                    let stored = buffer.written(number);
                    if content == Content::Log {
                        self.stored = self.stored.max(stored);
                    }
                    return Ok(());
                }
                Err(MediumError::NotBlank) => number = buffer.skip(number),
                Err(MediumError::Fault) => {
                    tries += 1;
                    number = buffer.refuse(number, end);
                }
            }
        }
        if content == Content::Retained && self.is_full() {
            return Err(StoreError::Full);
        }
        if number >= last && tries == 0 && number < end {
            // So much that no journal wrote is no torn cell.
            self.taken = Some(Trouble::Wraps);
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

    /// Writes the settings if they changed.
    pub(super) fn store_settings(&mut self) -> Result<(), StoreError> {
        if !self.settings.is_pending() {
            return Ok(());
        }
        self.cache.clear();
        let written = self.settings.write(&mut self.medium, &self.layout);
        written.map_err(|_| StoreError::Fault)
    }

    /// Writes the settings again where they do not stand.
    pub(super) fn repair_settings(&mut self) {
        self.cache.clear();
        self.settings.repair(&mut self.medium, &self.layout);
    }

    /// Makes all cells written so far count as those of another journal.
    pub(super) fn clear_settings(&mut self) -> Result<(), StoreError> {
        self.cache.clear();
        let cleared = self.settings.clear(&mut self.medium, &self.layout);
        cleared.map_err(|_| StoreError::Fault)
    }

    /// Erases the next segment of the ring, before it is needed. Its old records can no longer be read.
    pub(super) fn erase_ahead(&mut self) -> Result<(), MediumError> {
        let cell = self.log.area.range.cell(self.log.erased_to);
        self.log.erased_to = self.log.erased_to.saturating_add(self.layout.segment);
        self.cache.clear();
        self.medium.erase(cell)
    }

    /// Erases the next segment of the retained log, before it is needed, unless it holds retained records: if cells could
    /// not be read when the end was searched, it is skipped.
    pub(super) fn erase_ahead_retained(&mut self) -> Result<(), MediumError> {
        let WriteBuffer {
            area, erased_to, ..
        } = &self.retained;
        let begin = area.range.cell(*erased_to);
        for cell in begin..begin.saturating_add(self.layout.segment) {
            self.cache.clear();
            let read = read_cell(&mut self.medium, cell, &mut self.cache.bytes);
            if read == Err(Unread::Refused) {
                return Err(MediumError::Fault);
            }
            let ours = read.is_ok_and(|header| {
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
