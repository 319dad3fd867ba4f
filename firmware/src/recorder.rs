//! Numbers records, frames them and passes them to the store.

use crate::console::log;
#[cfg(feature = "seal")]
use crate::seal::Sealer;
use crate::store::{Store, StoreError};
use coldsquare_core::record::{Event, EventKind, MAX_FRAME, Record, encode};
#[cfg(feature = "seal")]
use coldsquare_core::seal::SealNote;
use coldsquare_core::trouble::Trouble;

/// Room to keep for the record that says the store is full: the last cell of a journal, and that record.
const LEFT_FOR_THE_END: u64 = 800;
/// The same for a seal over it: another cell.
#[cfg(feature = "seal")]
const LEFT_FOR_A_SEAL: u64 = 600;

/// The writing end of a log.
#[derive(Debug)]
pub struct Recorder<S> {
    store: S,
    /// Number of the next record. Lost records have a number too, so that a reader sees the gap.
    sequence: u32,
    /// Records lost since the last one that was stored.
    lost: u32,
    /// The store could make sure of everything the last time that it was to.
    synced: bool,
    /// Records were lost since the start.
    ever_lost: bool,
    full: bool,
    /// The record that the store is full was written; nothing comes after it.
    ended: bool,
    /// Seals the log, if the logger has a key.
    #[cfg(feature = "seal")]
    sealer: Option<Sealer>,
}

impl<S: Store> Recorder<S> {
    /// Continues with record number `sequence`: 0 in an empty store.
    pub const fn new(store: S, sequence: u32) -> Self {
        Self {
            store,
            sequence,
            lost: 0,
            synced: true,
            ever_lost: false,
            full: false,
            ended: false,
            #[cfg(feature = "seal")]
            sealer: None,
        }
    }

    /// Seals the log from the next record on.
    #[cfg(feature = "seal")]
    pub fn seal_with(&mut self, sealer: Sealer) {
        self.sealer = Some(sealer);
    }

    /// Writes a seal over everything since the one before, if there is anything, and nothing but idle time for a while; or
    /// if `is_last`, because the log is handed out.
    #[cfg(feature = "seal")]
    #[inline]
    pub fn seal(&mut self, position: u64, is_last: bool) {
        let due = |sealer: &Sealer| sealer.is_due(position, is_last);
        if self.sealer.as_ref().is_some_and(due) {
            self.write_seal(position, is_last);
        }
    }

    #[cfg(feature = "seal")]
    #[inline(never)]
    fn write_seal(&mut self, position: u64, is_last: bool) {
        if !self.ended && !self.must_end(position) {
            self.put_seal(position, is_last);
        }
    }

    /// Takes as long as a signature does.
    #[cfg(feature = "seal")]
    fn put_seal(&mut self, position: u64, is_last: bool) {
        let sealer = self.sealer.as_mut();
        let begins = sealer.and_then(|sealer| sealer.seal_begins(is_last));
        for note in begins.iter().flatten() {
            self.put_note(position, note, true);
        }
        let signed = self.sealer.as_mut().and_then(Sealer::sign);
        for half in signed.iter().flatten() {
            if !self.put_note(position, half, false) {
                break;
            }
        }
        self.sync();
    }

    /// Stores a note of the seal; one of a signature is in no sum. False if it was lost.
    #[cfg(feature = "seal")]
    fn put_note(&mut self, position: u64, note: &SealNote, summed: bool) -> bool {
        let record = Record::Marker(note.at(position));
        let mut frame = [0; MAX_FRAME];
        match self.append(&record, &mut frame) {
            Some(frame) if summed => self.sum_up(position, &record, frame),
            Some(_) => {}
            None => {
                self.lose_one();
                return false;
            }
        }
        true
    }

    /// Begins to sum up before the first record of a start, and after one that was lost.
    #[cfg(feature = "seal")]
    fn begin_section(&mut self, position: u64) {
        let Some(sealer) = self.sealer.as_mut().filter(|sealer| !sealer.has_begun()) else {
            return;
        };
        for note in sealer.begin().iter().flatten() {
            if !self.put_note(position, note, true) {
                return;
            }
        }
    }

    #[cfg(feature = "seal")]
    fn sum_up(&mut self, position: u64, record: &Record, frame: &[u8]) {
        if let Some(sealer) = &mut self.sealer {
            sealer.take(position, record, frame);
        }
    }

    /// Records lost since the last one that was stored.
    pub const fn lost(&self) -> u32 {
        self.lost
    }

    /// Whether records were lost since the logger was switched on.
    pub const fn ever_lost(&self) -> bool {
        self.ever_lost
    }

    /// Whether the store had no room for the last record.
    pub const fn is_full(&self) -> bool {
        self.full
    }

    /// The arc is off, so the store has time.
    pub fn idle(&mut self) {
        self.store.idle();
    }

    /// What is wrong with the store.
    pub fn trouble(&self) -> Option<Trouble> {
        let losing = (self.lost > 0).then_some(Trouble::Refuses);
        let full = self.full.then_some(Trouble::Full);
        self.store.trouble().or(full).or(losing)
    }

    /// Goes on in another log, of a store that has it only now, with record number `sequence`. Returns how many records
    /// were lost before.
    pub fn go_on_with(&mut self, sequence: u32) -> u32 {
        self.sequence = sequence;
        (self.full, self.ended, self.synced) = (false, false, true);
        #[cfg(feature = "seal")]
        if let Some(sealer) = &mut self.sealer {
            sealer.go_on_in(&mut self.store);
        }
        core::mem::take(&mut self.lost)
    }

    /// The store.
    pub const fn store(&mut self) -> &mut S {
        &mut self.store
    }

    /// Erases the log and begins a new one with record number 0.
    ///
    /// # Errors
    /// [`StoreError`]; then the old log continues.
    pub fn clear(&mut self) -> Result<(), StoreError> {
        self.store.clear()?;
        self.sequence = 0;
        self.lost = 0;
        self.synced = true;
        self.ever_lost = false;
        self.full = false;
        self.ended = false;
        #[cfg(feature = "seal")]
        if let Some(sealer) = &mut self.sealer {
            sealer.cleared();
        }
        Ok(())
    }

    /// Returns the store.
    pub fn into_store(self) -> S {
        self.store
    }

    /// Writes one record, preceded by the number of records lost before it, once the store takes records again: one that
    /// takes them only in part must not be filled with reports. `position` is that of the log.
    pub fn write(&mut self, position: u64, record: &Record) {
        if self.ended || self.must_end(position) {
            self.lose_one();
            return;
        }
        #[cfg(feature = "seal")]
        self.begin_section(position);
        if self.lost > 0 && !self.full && self.synced {
            let kind = EventKind::StoreFault;
            let report = Record::Event(Event {
                position,
                kind,
                value: self.lost.into(),
            });
            if self.put(position, &report) {
                self.lost = 0;
            }
        }
        if !self.put(position, record) {
            self.lose_one();
        }
    }

    /// Makes sure that everything written survives a power failure.
    pub fn sync(&mut self) {
        self.synced = self.store.sync().is_ok();
        if !self.synced {
            self.lose_one();
        }
    }

    fn lose_one(&mut self) {
        self.lost = self.lost.saturating_add(1);
        self.ever_lost = true;
        #[cfg(feature = "seal")]
        if let Some(sealer) = &mut self.sealer {
            sealer.lost();
        }
    }

    /// Room that nothing else may take.
    const fn left_for_the_end(&self) -> u64 {
        #[cfg(feature = "seal")]
        if self.sealer.is_some() {
            return LEFT_FOR_THE_END + LEFT_FOR_A_SEAL;
        }
        LEFT_FOR_THE_END
    }

    /// Writes the last record if hardly any room is left.
    fn must_end(&mut self, position: u64) -> bool {
        let room = self.store.extent().and_then(|extent| extent.room);
        if room.is_none_or(|room| room > self.left_for_the_end()) {
            return false;
        }
        let kind = EventKind::StoreFull;
        let report = Record::Event(Event {
            position,
            kind,
            value: 0,
        });
        self.put(position, &report);
        let _ = self.store.sync();
        log!("store full");
        // Nothing is stored from here on, so the time that a signature takes costs nothing, even under an arc.
        #[cfg(feature = "seal")]
        self.put_seal(position, true);
        self.ended = true;
        self.full = true;
        true
    }

    /// Appends one record; false if it was lost.
    fn put(&mut self, position: u64, record: &Record) -> bool {
        let mut frame = [0; MAX_FRAME];
        let Some(frame) = self.append(record, &mut frame) else {
            return false;
        };
        #[cfg(feature = "seal")]
        self.sum_up(position, record, frame);
        let _ = (position, frame);
        true
    }

    /// Frames one record and passes it to the store; returns the frame unless it was lost.
    fn append<'a>(&mut self, record: &Record, frame: &'a mut [u8; MAX_FRAME]) -> Option<&'a [u8]> {
        let sequence = self.sequence;
        self.sequence = sequence.wrapping_add(1);
        // A record with a value that a log cannot hold counts as lost too: the logger must not stop for it.
        let length = encode(sequence, record, frame).ok()?;
        let frame = frame.get(..length)?;
        let stored = self.store.append(frame);
        self.full = stored == Err(StoreError::Full);
        stored.ok().map(|()| frame)
    }
}
