//! Numbers records, frames them, and hands them to the store.

use crate::console::log;
use crate::store::{Store, StoreError};
use coldsquare_core::record::{Event, EventKind, MAX_FRAME, Record, encode};

/// Room that is left for saying that there is no more: the last cell of a journal, and a record.
const LEFT_FOR_THE_END: u64 = 800;

/// The writing end of a log.
#[derive(Debug)]
pub struct Recorder<S> {
    store: S,
    /// Number of the next record. It goes on when a record is lost, so that a reader sees the hole.
    sequence: u32,
    /// Records lost since the last one that was stored.
    lost: u32,
    /// Some were lost, lately or long ago.
    ever_lost: bool,
    full: bool,
    /// That the store is full was written, and nothing is written after it.
    ended: bool,
}

impl<S: Store> Recorder<S> {
    /// Goes on with record number `sequence`: 0 in an empty store.
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

    /// Records were lost since it was switched on.
    pub const fn ever_lost(&self) -> bool {
        self.ever_lost
    }

    /// The store had no room for the last record.
    pub const fn is_full(&self) -> bool {
        self.full
    }

    /// There is no arc, so the store has time.
    pub fn idle(&mut self) {
        self.store.idle();
    }

    /// What is stored, to be read.
    pub const fn store(&mut self) -> &mut S {
        &mut self.store
    }

    /// Lets go of the log and begins a new one, with record number 0.
    ///
    /// # Errors
    /// [`StoreError`]; then the log goes on.
    pub fn clear(&mut self) -> Result<(), StoreError> {
        self.store.clear()?;
        self.sequence = 0;
        self.lost = 0;
        self.ever_lost = false;
        self.full = false;
        self.ended = false;
        Ok(())
    }

    /// Gives the store back.
    pub fn into_store(self) -> S {
        self.store
    }

    /// Writes one record, first what was lost before it. `position` is where the log stands.
    pub fn write(&mut self, position: u64, record: &Record) {
        if self.ended || self.must_end(position) {
            self.lose_one();
            return;
        }
        if self.lost > 0 && !self.full {
            let kind = EventKind::StoreFault;
            let told = Record::Event(Event {
                position,
                kind,
                value: self.lost.into(),
            });
            if self.put(&told) {
                self.lost = 0;
            }
        }
        if !self.put(record) {
            self.lose_one();
        }
    }

    /// Makes sure that what was written survives a loss of power.
    pub fn sync(&mut self) {
        if self.store.sync().is_err() {
            self.lose_one();
        }
    }

    fn lose_one(&mut self) {
        self.lost = self.lost.saturating_add(1);
        self.ever_lost = true;
    }

    /// When hardly any room is left, the last record says so.
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

    /// Appends without looking back; false when the record is lost.
    fn put(&mut self, record: &Record) -> bool {
        let mut frame = [0; MAX_FRAME];
        let sequence = self.sequence;
        self.sequence = sequence.wrapping_add(1);
        // A value that a log cannot hold is lost like one that the store refused: the logger must not stop for it.
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
