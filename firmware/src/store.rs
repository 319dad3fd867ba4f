//! Where records go to stay.

/// Why a record was not stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StoreError {
    /// There is no room for it.
    Full,
    /// The medium refused it, or reported that it may be soiled.
    Fault,
}

/// What of a log is in a store. Bytes are counted from the beginning of the log; the place of a byte never changes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Extent {
    /// The first byte that is still there.
    pub first: u64,
    /// The byte after the last that can be read.
    pub end: u64,
    /// Bytes for which there is still room, where that is known.
    pub room: Option<u64>,
}

/// An append-only store for whole records.
pub trait Store {
    /// Adds one record, framed. It may sit in a buffer until [`Store::sync`].
    ///
    /// # Errors
    /// [`StoreError`]; the record then counts as lost, and later ones may still succeed.
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError>;

    /// Returns once everything appended before survives a loss of power.
    ///
    /// # Errors
    /// [`StoreError`] when that cannot be promised.
    fn sync(&mut self) -> Result<(), StoreError>;

    /// There is no arc: time for what takes long, such as erasing flash. At most one such thing is done at a time.
    fn idle(&mut self) {}

    /// Whether [`Store::clear`] does something.
    fn can_clear(&self) -> bool {
        false
    }

    /// Lets go of everything that was appended; the next record is the first. A loss of power meanwhile leaves all of it
    /// or nothing. Only while no arc burns: flash is erased.
    ///
    /// # Errors
    /// [`StoreError`] when it cannot be told that the old log is gone; then it goes on.
    fn clear(&mut self) -> Result<(), StoreError> {
        Err(StoreError::Fault)
    }

    /// What can be read back; `None` for a store that only takes.
    fn extent(&self) -> Option<Extent> {
        None
    }

    /// Reads some of the log from a byte on. Gives the place of the first byte read, `from` or a later one where what
    /// stood there was dropped to make room, and how many bytes; 0 at the end. It takes no longer than an append may.
    ///
    /// # Errors
    /// [`StoreError::Fault`] when it cannot be read.
    fn read(&mut self, from: u64, into: &mut [u8]) -> Result<(u64, usize), StoreError> {
        let _ = (from, into);
        Err(StoreError::Fault)
    }
}
