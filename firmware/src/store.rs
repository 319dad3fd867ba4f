//! Where records go to stay.

/// Why a record was not stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StoreError {
    /// There is no room for it.
    Full,
    /// The medium refused it, or reported that it may be soiled.
    Fault,
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
}
