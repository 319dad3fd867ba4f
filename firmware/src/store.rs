//! Storage for records.

use coldsquare_core::record::Header;
use coldsquare_core::trouble::Trouble;

/// Why a record was not stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StoreError {
    /// There is no room for it.
    Full,
    /// The medium refused it or reported a fault.
    Fault,
}

/// The part of a log that a store has. Bytes are counted from the beginning of the log; the offset of a byte never
/// changes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Extent {
    /// The first byte that is still stored.
    pub first: u64,
    /// The byte after the last that can be read.
    pub end: u64,
    /// Bytes of free room, if known.
    pub room: Option<u64>,
}

/// Where a log continues.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Resume {
    /// Position of the next sample.
    pub position: u64,
    /// Number of the next record.
    pub sequence: u32,
    /// Beads so far.
    pub beads: u32,
    /// How often the logger has started in this log.
    pub starts: u32,
}

/// A log that a store has only now.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrival {
    /// Where it continues.
    pub resume: Resume,
    /// Its last header: calibration, process and arc settings.
    pub header: Option<Header>,
}

/// An append-only store for whole records.
pub trait Store {
    /// Adds one framed record. It may stay in a buffer until [`Store::sync`].
    ///
    /// # Errors
    /// [`StoreError`]; the record then counts as lost, and later ones may still succeed.
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError>;

    /// Returns once everything appended so far survives a power failure.
    ///
    /// # Errors
    /// [`StoreError`] when that is not certain.
    fn sync(&mut self) -> Result<(), StoreError>;

    /// Called while the arc is off, for slow work such as erasing flash. Does at most one such thing each time.
    fn idle(&mut self) {}

    /// What is wrong with it, if it knows.
    fn trouble(&self) -> Option<Trouble> {
        None
    }

    /// The log that it has since the last call, and had not before: a card that was put in. Until this is asked for,
    /// nothing is stored in that log. Only after [`Store::idle`] there can be one.
    fn arrived(&mut self) -> Option<Arrival> {
        None
    }

    /// Whether [`Store::clear`] works.
    fn can_clear(&self) -> bool {
        false
    }

    /// Erases everything; the next record is the first. A power failure meanwhile leaves all of the old log or nothing. Call
    /// it only while the arc is off, because flash is erased.
    ///
    /// # Errors
    /// [`StoreError`] when it is not certain that the old log is gone; then it continues.
    fn clear(&mut self) -> Result<(), StoreError> {
        Err(StoreError::Fault)
    }

    /// What can be read back; `None` for a store that cannot be read.
    fn extent(&self) -> Option<Extent> {
        None
    }

    /// Reads some of the log from a byte on. Returns the offset of the first byte read (`from`, or a later one if the bytes
    /// there were dropped to make room) and the number of bytes, 0 at the end. It takes no longer than an append.
    ///
    /// # Errors
    /// [`StoreError::Fault`] when it cannot be read.
    fn read(&mut self, from: u64, into: &mut [u8]) -> Result<(u64, usize), StoreError> {
        let _ = (from, into);
        Err(StoreError::Fault)
    }
}
