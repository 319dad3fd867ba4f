//! The log on a card or in flash, so that a pulled plug costs nothing that was said to be stored.
//!
//! ```text
//! append --frames--> log buffer ---full, or sync---> ring: the whole log; its oldest cells make room
//!              '---> kept buffer --full, or sync---> kept area: all but windows, a second time; never overwritten
//! ```
//!
//! A cell is written once, whole, to a place where nothing is that was promised to survive; its checksum stands last. So
//! whatever a loss of power leaves there, everything written before is as it was. What was appended counts as stored
//! when [`Store::sync`] has returned. See `docs/journal.md` for the layout and the figures.

mod boot;
pub mod card;
pub mod flash;
pub mod guarded;
mod medium;
mod search;
mod settings;

use crate::store::{Extent, Store, StoreError};
pub use boot::{MountError, max_reads};
pub use coldsquare_core::journal::fat;
use coldsquare_core::journal::{
    CELL, CellBytes, Content, Head, Layout, MAX_CLEARED, PAYLOAD, PAYLOAD_AT, RETAINED_PREFIX,
    is_window, kept, kind_of, open, payload, payload_mut, put_retained, seal,
};
use coldsquare_core::record::{EventKind, Record, decode};
pub use medium::{Medium, Refusal};
use search::{Desk, Region};
use settings::Settings;

/// Segments of the kept area that are made ready ahead: room for that many times eight presses during one arc.
const RETAINED_AHEAD: u32 = 4;
/// Cells that are tried, one after the other, when the medium refuses a write.
const TRIES: u32 = 4;
/// Cells with something in them that are passed over, where only blank ones can be written, before a write is given up.
const MAX_SPOILED: u32 = 64;

/// A journal that is being written.
#[derive(Debug)]
pub struct Journal<M> {
    medium: M,
    layout: Layout,
    log: Tail,
    kept: Tail,
    /// Place of the next byte of the log.
    place: u64,
    /// Everything before this place is stored, as far as it was not dropped.
    stored: u64,
    beads: u32,
    starts: u32,
    resume: crate::logger::Resume,
    desk: Desk,
    settings: Settings,
    /// Number and place of the cells read last: where the next read looks first.
    near_log: Option<(u32, u64)>,
    near_kept: Option<(u32, u64)>,
}

/// The end of an area: the cell that is being filled.
#[derive(Debug)]
struct Tail {
    region: Region,
    /// Number of the next cell.
    next: u32,
    /// Numbers before this one can be written without erasing.
    ready: u32,
    /// Cells from there on that refused what is in the buffer. The medium may have written it all the same, so it is
    /// tried again at greater numbers only: of two cells with one place the greater number holds.
    refused: u32,
    /// Place of the first byte in the buffer.
    place: u64,
    used: usize,
    buffer: CellBytes,
}

impl Tail {
    const fn new(region: Region, next: u32) -> Self {
        Self {
            region,
            next,
            ready: u32::MAX,
            refused: 0,
            place: 0,
            used: 0,
            buffer: [0; CELL],
        }
    }

    const fn is_empty(&self) -> bool {
        self.used == 0
    }

    /// Adds bytes of the log; false when they do not follow what is there, or do not fit.
    fn add(&mut self, place: u64, frame: &[u8]) -> bool {
        if self.is_empty() {
            self.place = place;
        }
        if self.place.saturating_add(self.used as u64) != place {
            return false;
        }
        let Some(room) = payload_mut(&mut self.buffer).get_mut(self.used..) else {
            return false;
        };
        let Some(to) = room.get_mut(..frame.len()) else {
            return false;
        };
        to.copy_from_slice(frame);
        self.used += frame.len();
        true
    }

    /// Adds a record that stays; false when it does not fit.
    fn add_kept(&mut self, place: u64, frame: &[u8]) -> bool {
        if self.is_empty() {
            self.place = place;
        }
        let room = payload_mut(&mut self.buffer).get_mut(self.used..);
        match room.and_then(|room| put_retained(self.place, place, frame, room)) {
            Some(length) => {
                self.used += length;
                true
            }
            None => false,
        }
    }
}

impl<M: Medium> Journal<M> {
    /// Where the log goes on, for the logger's setup.
    #[must_use]
    pub const fn resume(&self) -> crate::logger::Resume {
        self.resume
    }

    /// What lies where.
    #[must_use]
    pub const fn layout(&self) -> &Layout {
        &self.layout
    }

    /// How often it was emptied.
    #[must_use]
    pub const fn cleared(&self) -> u32 {
        self.settings.cleared()
    }

    /// What it is written on.
    pub const fn medium(&mut self) -> &mut M {
        &mut self.medium
    }

    /// Gives the medium back. What was not synced is lost.
    pub fn into_medium(self) -> M {
        self.medium
    }

    /// The oldest number of the ring that can still be read.
    fn oldest(&self) -> u32 {
        let taken = if M::MUST_ERASE {
            self.log.ready
        } else {
            self.log.next.saturating_add(TRIES)
        };
        taken.saturating_sub(self.log.region.area.cells)
    }

    /// Writes what is in a buffer, if anything, into the next cell that takes it.
    fn write_out(&mut self, content: Content) -> Result<(), StoreError> {
        let (tail, end) = match content {
            Content::Kept => {
                let end = self.layout.kept().cells.min(self.kept.ready);
                (&mut self.kept, end)
            }
            _ => {
                let end = self.log.ready;
                (&mut self.log, end)
            }
        };
        if tail.is_empty() {
            return Ok(());
        }
        let (mut tries, mut number) = (0, tail.next.saturating_add(tail.refused));
        let last = number.saturating_add(MAX_SPOILED).min(end);
        while number < last && tries < TRIES {
            let head = Head {
                content,
                journal: tail.region.journal,
                number,
                place: tail.place,
                used: tail.used as u16,
                beads: self.beads,
                starts: self.starts,
            };
            seal(&head, &mut tail.buffer);
            self.desk.clear();
            match self
                .medium
                .write(tail.region.area.cell(number), &tail.buffer)
            {
                Ok(()) => {
                    tail.next = number.saturating_add(1);
                    tail.refused = 0;
                    if content == Content::Log {
                        let end = tail.place.saturating_add(tail.used as u64);
                        self.stored = self.stored.max(end);
                    }
                    tail.used = 0;
                    return Ok(());
                }
                // It stays so until it is erased.
                Err(Refusal::NotBlank) => {
                    number = number.saturating_add(1);
                    tail.next = number;
                    tail.refused = 0;
                }
                // The last of those that are tried is tried again and again.
                Err(Refusal::Fault) => {
                    tries += 1;
                    if tail.refused + 1 < TRIES && number.saturating_add(1) < end {
                        tail.refused += 1;
                        number = number.saturating_add(1);
                    }
                }
            }
        }
        if content == Content::Kept && self.is_full() {
            return Err(StoreError::Full);
        }
        Err(StoreError::Fault)
    }

    /// Writes both buffers, the kept one first: whatever the ring holds for a while and is not a window, the kept area
    /// has for good.
    fn write_both(&mut self) -> Result<(), StoreError> {
        self.write_out(Content::Kept)?;
        let log = self.write_out(Content::Log);
        // What is kept can be read even where the log's own cell could not be written; that one may come later.
        let end = if log.is_ok() {
            self.place
        } else {
            self.log.place
        };
        self.stored = self.stored.max(end);
        log
    }

    /// Erases the segment of the ring that comes next; what was in it can no longer be read.
    fn ready_log(&mut self) -> Result<(), Refusal> {
        let cell = self.log.region.area.cell(self.log.ready);
        self.log.ready = self.log.ready.saturating_add(self.layout.segment);
        self.desk.clear();
        self.medium.erase(cell)
    }

    /// Erases the segment of the kept area that comes next, unless something is in it that must stay: where the end was
    /// not found because cells could not be read, they are passed over.
    fn ready_kept(&mut self) -> Result<(), Refusal> {
        let Tail { region, ready, .. } = &self.kept;
        let begin = region.area.cell(*ready);
        for cell in begin..begin.saturating_add(self.layout.segment) {
            self.desk.clear();
            self.medium.read(cell, &mut self.desk.bytes)?;
            let ours = open(&self.desk.bytes)
                .is_ok_and(|head| head.content == Content::Kept && head.journal == region.journal);
            if ours {
                self.kept.ready = ready.saturating_add(self.layout.segment);
                return Ok(());
            }
        }
        self.kept.ready = ready.saturating_add(self.layout.segment);
        self.medium.erase(begin)
    }

    /// True when the kept area should be made ready further.
    const fn kept_runs_short(&self) -> bool {
        let segment = self.layout.segment;
        let wanted = self
            .kept
            .next
            .saturating_add(segment.saturating_mul(RETAINED_AHEAD));
        self.kept.ready < wanted && self.kept.ready < self.layout.kept().cells
    }

    /// Begins at the beginning, with cells of the number that is in force.
    fn begin(&mut self) {
        let journal = self.layout.journal.wrapping_add(self.settings.cleared());
        for tail in [&mut self.log, &mut self.kept] {
            let region = Region {
                journal,
                ..tail.region
            };
            *tail = Tail::new(region, 0);
        }
        self.place = 0;
        self.stored = 0;
        self.beads = 0;
        self.starts = 0;
        self.resume = crate::logger::Resume::default();
        self.desk.clear();
        self.near_log = None;
        self.near_kept = None;
        if M::MUST_ERASE {
            self.log.ready = 0;
            self.kept.ready = 0;
            // Cells that stay as they were are passed over when it is their turn.
            let _ = self.ready_log();
            let _ = self.ready_kept();
        }
    }

    /// Nothing more is taken once the kept area is full: a bead is never dropped for a later one.
    fn is_full(&self) -> bool {
        self.kept.next >= self.layout.kept().cells
    }

    fn count(&mut self, frame: &[u8]) {
        if !matches!(kind_of(frame), Some(1 | 2 | 5)) {
            return;
        }
        match read(frame) {
            // A header is written while no arc burns, so now is the time to erase for it; a sync may come at any time.
            Some((_, Record::Header(header))) => {
                self.settings.note(header);
                let _ = self.write_settings();
            }
            Some((_, Record::Bead(bead))) => self.beads = bead.number,
            Some((_, Record::Event(event))) if event.kind == EventKind::PowerOn => {
                self.starts = u32::try_from(event.value).unwrap_or(u32::MAX);
            }
            _ => {}
        }
    }

    /// Where the log's cells have something at or after a place: its place, and where in the desk it lies.
    fn in_log(&mut self, from: u64) -> Option<(u64, Head)> {
        let range = (self.oldest(), self.log.next);
        let Self { medium, desk, .. } = self;
        let region = self.log.region;
        let near = self.near_log;
        if let Some((number, place)) = near
            && place <= from
            && number >= range.0
            && let Some(head) = region.numbered(medium, desk, number)
            && from < end_of(&head)
        {
            return Some((from, head));
        }
        let before = region.at_or_before(medium, desk, range, from, near);
        self.near_log = before.map(|head| (head.number, head.place));
        if let Some(head) = before
            && from < end_of(&head)
        {
            // The search may have looked at others since.
            return region
                .numbered(medium, desk, head.number)
                .map(|head| (from, head));
        }
        let after = before.map_or(range.0, |head| head.number.saturating_add(1));
        let next = region.next_after(medium, desk, after, range.1)?;
        self.near_log = Some((next.number, next.place));
        Some((next.place.max(from), next))
    }

    /// The first kept record that ends after a place: its place, and where in the desk it lies.
    fn in_kept(&mut self, from: u64) -> Option<(u64, usize, usize)> {
        let Self { medium, desk, .. } = self;
        let region = self.kept.region;
        let range = (0, self.kept.next);
        let before = region.at_or_before(medium, desk, range, from, self.near_kept);
        self.near_kept = before.map(|head| (head.number, head.place));
        let mut number = before.map_or(0, |head| head.number);
        // Its records may all end before, and then the next cell's first is the one.
        for _ in 0..2 {
            let head = region.next_after(medium, desk, number, range.1)?;
            let bytes = payload(&head, &desk.bytes);
            let mut at = 0;
            for (place, frame) in kept(head.place, bytes) {
                at += RETAINED_PREFIX;
                if place.saturating_add(frame.len() as u64) > from {
                    return Some((place, at, frame.len()));
                }
                at += frame.len();
            }
            number = head.number.saturating_add(1);
        }
        None
    }
}

/// The place after a cell's last byte.
const fn end_of(head: &Head) -> u64 {
    head.place.saturating_add(head.used as u64)
}

/// Sequence number and record of a frame with its boundaries.
fn read(frame: &[u8]) -> Option<(u32, Record)> {
    let inside = frame.get(1..frame.len().checked_sub(1)?)?;
    decode(inside).ok()
}

impl<M: Medium> Store for Journal<M> {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        if self.is_full() {
            return Err(StoreError::Full);
        }
        if record.len() + RETAINED_PREFIX > PAYLOAD {
            return Err(StoreError::Fault);
        }
        let place = self.place;
        let keep = !is_window(record);
        if keep && !self.kept.add_kept(place, record) {
            let written = self.write_both();
            if self.is_full() {
                return Err(StoreError::Full);
            }
            if !self.kept.add_kept(place, record) {
                return Err(written.err().unwrap_or(StoreError::Fault));
            }
        }
        if !self.log.add(place, record) {
            let written = self.write_both();
            // A record that is kept may be missing in the ring; any other is lost.
            if !self.log.add(place, record) && !keep {
                return Err(written.err().unwrap_or(StoreError::Fault));
            }
        }
        self.place = place.saturating_add(record.len() as u64);
        self.count(record);
        Ok(())
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        self.write_both()?;
        if self.settings.is_new() {
            return Err(StoreError::Fault);
        }
        Ok(())
    }

    fn idle(&mut self) {
        if self.settings.is_new() {
            let _ = self.write_settings();
            return;
        }
        let area = self.log.region.area.cells;
        if !M::MUST_ERASE {
            return;
        }
        // Cells that stay as they were are passed over when it is their turn. A quarter of the ring is made ready, so
        // that the longest bead finds room.
        if self.kept_runs_short() {
            let _ = self.ready_kept();
        } else if self.log.ready < self.log.next.saturating_add(area / 4) {
            let _ = self.ready_log();
        }
    }

    fn can_clear(&self) -> bool {
        self.settings.cleared() < MAX_CLEARED
    }

    fn clear(&mut self) -> Result<(), StoreError> {
        if !self.can_clear() {
            return Err(StoreError::Fault);
        }
        self.clear_settings()?;
        self.begin();
        Ok(())
    }

    fn extent(&self) -> Option<Extent> {
        let left = self.layout.kept().cells.saturating_sub(self.kept.next);
        let room = u64::from(left) * PAYLOAD as u64;
        Some(Extent {
            first: 0,
            end: self.stored,
            room: Some(room.saturating_sub(self.kept.used as u64)),
        })
    }

    fn read(&mut self, from: u64, into: &mut [u8]) -> Result<(u64, usize), StoreError> {
        if from >= self.stored {
            return Ok((from, 0));
        }
        let mut found = self.in_log(from);
        if found.is_none_or(|(place, _)| place != from) {
            let kept = self.in_kept(from);
            if let Some((place, at, length)) = kept
                && found.is_none_or(|(log, _)| place < log)
            {
                let inside = from.saturating_sub(place) as usize;
                let bytes = bytes_of(&self.desk, at + inside, length.saturating_sub(inside));
                return Ok((place.max(from), copy(bytes, into)));
            }
            // The desk holds a cell of the other area now.
            found = self.in_log(from);
        }
        let Some((place, head)) = found else {
            return Ok((self.stored, 0));
        };
        let inside = place.saturating_sub(head.place) as usize;
        let rest = usize::from(head.used).saturating_sub(inside);
        Ok((place, copy(bytes_of(&self.desk, inside, rest), into)))
    }
}

fn bytes_of(desk: &Desk, at: usize, length: usize) -> &[u8] {
    let begin = PAYLOAD_AT.saturating_add(at);
    let end = begin.saturating_add(length);
    desk.bytes.get(begin..end).unwrap_or_default()
}

fn copy(from: &[u8], into: &mut [u8]) -> usize {
    let length = from.len().min(into.len());
    if let (Some(to), Some(from)) = (into.get_mut(..length), from.get(..length)) {
        to.copy_from_slice(from);
    }
    length
}
