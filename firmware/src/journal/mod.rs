//! The log on a card or in flash. A power failure loses nothing that was synced.
//!
//! ```text
//! append --frames--> log buffer -------full, or sync---> ring: the whole log; its oldest cells make room
//!              '---> retained buffer --full, or sync---> retained log: all but windows, again; never overwritten
//! ```
//!
//! A cell is written once, whole, where nothing lies that must survive, with its checksum last. Whatever a power failure
//! leaves there, everything written before is intact. A record counts as stored when [`Store::sync`] has returned.
//! `docs/journal.md` has the layout and the figures. To use another medium, implement [`Medium`].

mod boot;
pub mod card;
pub mod flash;
mod frame;
pub mod guarded;
mod medium;
mod read;
mod search;
mod settings;
pub mod slot;
mod write;
mod write_buffer;

use crate::store::{Extent, Resume, Store, StoreError};
pub use boot::MountError;
pub use coldsquare_core::journal::fat;
use coldsquare_core::journal::{Layout, MAX_CLEARED, PAYLOAD, is_window, kind_of};
use coldsquare_core::record::{EventKind, Header, Record};
use coldsquare_core::trouble::Trouble;
use frame::decode_frame;
pub use medium::{Medium, MediumError};
use search::{Area, CellCache};
use settings::Settings;
use write_buffer::WriteBuffer;

/// A journal that is being written.
#[derive(Debug)]
pub struct Journal<M> {
    medium: M,
    layout: Layout,
    log: WriteBuffer,
    retained: WriteBuffer,
    /// Place of the next byte of the log.
    offset: u64,
    /// Everything before this offset is stored or was dropped from the ring.
    stored: u64,
    beads: u32,
    starts: u32,
    resume: Resume,
    cache: CellCache,
    settings: Settings,
    /// Number and offset of the cells that were read last: the next read looks there first.
    last_log_read: Option<(u32, u64)>,
    last_retained_read: Option<(u32, u64)>,
    /// Where reading met cells that are refused, and how often in a row.
    refused_read: (u64, u8),
    /// Where room was left for what could not be read at the start.
    left_from: u64,
    /// What must stay lies where something was to be written.
    taken: Option<Trouble>,
}

impl<M: Medium> Journal<M> {
    /// Where the log continues, for the logger's setup.
    #[must_use]
    pub const fn resume(&self) -> Resume {
        self.resume
    }

    /// The layout.
    #[must_use]
    pub const fn layout(&self) -> &Layout {
        &self.layout
    }

    /// How often it was cleared.
    #[must_use]
    pub const fn cleared(&self) -> u32 {
        self.settings.cleared()
    }

    /// The last header of the log: calibration with its date and uncertainties, and the arc settings. For
    /// [`Setup::restore`](crate::logger::Setup::restore).
    #[must_use]
    pub const fn last_header(&self) -> Option<&Header> {
        self.settings.header()
    }

    /// The medium.
    pub const fn medium(&mut self) -> &mut M {
        &mut self.medium
    }

    /// Returns the medium. Whatever was not synced is lost.
    pub fn into_medium(self) -> M {
        self.medium
    }

    /// Starts an empty log, whose cells have the journal number now in force.
    fn reset(&mut self) {
        let journal = self.layout.journal.wrapping_add(self.settings.cleared());
        for tail in [&mut self.log, &mut self.retained] {
            let area = Area {
                journal,
                ..tail.area
            };
            *tail = WriteBuffer::new(area, 0);
        }
        self.offset = 0;
        self.stored = 0;
        self.beads = 0;
        self.starts = 0;
        self.resume = Resume::default();
        self.cache.clear();
        self.last_log_read = None;
        self.last_retained_read = None;
        self.refused_read = (0, 0);
        self.left_from = u64::MAX;
        self.taken = None;
        if M::MUST_ERASE {
            self.log.erased_to = 0;
            self.retained.erased_to = 0;
            // A segment that cannot be erased is skipped when it is its turn.
            let _ = self.erase_ahead();
            let _ = self.erase_ahead_retained();
        }
    }

    /// Nothing more is stored once the retained log is full: a bead is never dropped for a later one.
    fn is_full(&self) -> bool {
        self.retained.next >= self.layout.retained().cells
    }

    /// Remembers what the next cell headers and the settings need to know of a record.
    fn track(&mut self, frame: &[u8]) {
        if !matches!(kind_of(frame), Some(1 | 2 | 5)) {
            return;
        }
        match decode_frame(frame) {
            // A header is written while the arc is off, so now is the time to erase; a sync may come at any time.
            Some((_, Record::Header(header))) => {
                self.settings.update(header);
                let _ = self.store_settings();
            }
            Some((_, Record::Bead(bead))) => self.beads = bead.number,
            Some((_, Record::Event(event))) if event.kind == EventKind::PowerOn => {
                self.starts = u32::try_from(event.value).unwrap_or(u32::MAX);
            }
            _ => {}
        }
    }
}

impl<M: Medium> Store for Journal<M> {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        if self.is_full() {
            return Err(StoreError::Full);
        }
        let offset = self.offset;
        let retain = !is_window(record);
        if retain && !self.retained.add_retained(offset, record) {
            let written = self.flush_both();
            if self.is_full() {
                return Err(StoreError::Full);
            }
            if !self.retained.add_retained(offset, record) {
                return Err(written.err().unwrap_or(StoreError::Fault));
            }
        }
        if !self.log.add(offset, record) {
            let written = self.flush_both();
            // A retained record may be missing in the ring; any other is lost.
            if !self.log.add(offset, record) && !retain {
                return Err(written.err().unwrap_or(StoreError::Fault));
            }
        }
        self.offset = offset.saturating_add(record.len() as u64);
        self.track(record);
        Ok(())
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        self.flush_both()?;
        if self.settings.is_pending() {
            return Err(StoreError::Fault);
        }
        Ok(())
    }

    fn idle(&mut self) {
        if self.settings.is_pending() {
            let _ = self.store_settings();
            return;
        }
        if self.settings.needs_repair() {
            self.repair_settings();
            return;
        }
        let ring = self.log.area.range.cells;
        if !M::MUST_ERASE {
            return;
        }
        // A segment that cannot be erased is skipped when it is its turn. A quarter of the ring is erased ahead, so that
        // the longest bead finds room.
        if self.retained_needs_erasing() {
            let _ = self.erase_ahead_retained();
        } else if self.log.erased_to < self.log.next.saturating_add(ring / 4) {
            let _ = self.erase_ahead();
        }
    }

    fn trouble(&self) -> Option<Trouble> {
        let full = || self.is_full().then_some(Trouble::Full);
        self.taken.or_else(|| self.medium.trouble()).or_else(full)
    }

    fn can_clear(&self) -> bool {
        self.settings.cleared() < MAX_CLEARED
    }

    fn clear(&mut self) -> Result<(), StoreError> {
        if !self.can_clear() {
            return Err(StoreError::Fault);
        }
        self.clear_settings()?;
        self.reset();
        Ok(())
    }

    fn extent(&self) -> Option<Extent> {
        let left = self
            .layout
            .retained()
            .cells
            .saturating_sub(self.retained.next);
        let room = u64::from(left) * PAYLOAD as u64;
        Some(Extent {
            first: 0,
            end: self.stored,
            room: Some(room.saturating_sub(self.retained.used as u64)),
        })
    }

    fn read(&mut self, from: u64, into: &mut [u8]) -> Result<(u64, usize), StoreError> {
        self.read_log(from, into)
    }
}
