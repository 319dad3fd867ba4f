//! Numbers records, frames them and passes them to the store.

use crate::console::log;
use crate::store::{Store, StoreError};
use coldsquare_core::record::{Event, EventKind, MAX_FRAME, Record, encode};

/// Room to keep for the record that says the store is full: the last cell of a journal, and that record.
const LEFT_FOR_THE_END: u64 = 800;

/// The writing end of a log.
#[derive(Debug)]
pub struct Recorder<S> {
    store: S,
    /// Number of the next record. Lost records have a number too, so that a reader sees the gap.
    sequence: u32,
    /// Records lost since the last one that was stored.
    lost: u32,
    /// Records were lost since the start.
    ever_lost: bool,
    full: bool,
    /// The record that the store is full was written; nothing comes after it.
    ended: bool,
}

impl<S: Store> Recorder<S> {
    /// Continues with record number `sequence`: 0 in an empty store.
    pub const fn new(store: S, sequence: u32) -> Self {
        Self {
            store,
            sequence,
            lost: 0,
            ever_lost: false,
            full: false,
            ended: false,
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
        self.ever_lost = false;
        self.full = false;
        self.ended = false;
        Ok(())
    }

    /// Returns the store.
    pub fn into_store(self) -> S {
        self.store
    }

    /// Writes one record, preceded by the number of records lost before it. `position` is that of the log.
    pub fn write(&mut self, position: u64, record: &Record) {
        if self.ended || self.must_end(position) {
            self.lose_one();
            return;
        }
        if self.lost > 0 && !self.full {
            let kind = EventKind::StoreFault;
            let report = Record::Event(Event {
                position,
                kind,
                value: self.lost.into(),
            });
            if self.put(&report) {
                self.lost = 0;
            }
        }
        if !self.put(record) {
            self.lose_one();
        }
    }

    /// Makes sure that everything written survives a power failure.
    pub fn sync(&mut self) {
        if self.store.sync().is_err() {
            self.lose_one();
        }
    }

    fn lose_one(&mut self) {
        self.lost = self.lost.saturating_add(1);
        self.ever_lost = true;
    }

    /// Writes the last record if hardly any room is left.
    fn must_end(&mut self, position: u64) -> bool {
        let room = self.store.extent().and_then(|extent| extent.room);
        if room.is_none_or(|room| room > LEFT_FOR_THE_END) {
            return false;
        }
        let kind = EventKind::StoreFull;
        self.put(&Record::Event(Event {
            position,
            kind,
            value: 0,
        }));
        let _ = self.store.sync();
        log!("store full");
        self.ended = true;
        self.full = true;
        true
    }

    /// Appends one record; false if it was lost.
    fn put(&mut self, record: &Record) -> bool {
        let mut frame = [0; MAX_FRAME];
        let sequence = self.sequence;
        self.sequence = sequence.wrapping_add(1);
        // A record with a value that a log cannot hold counts as lost too: the logger must not stop for it.
        let Some(frame) = encode(sequence, record, &mut frame)
            .ok()
            .and_then(|length| frame.get(..length))
        else {
            return false;
        };
        let stored = self.store.append(frame);
        self.full = stored == Err(StoreError::Full);
        stored.is_ok()
    }
}
