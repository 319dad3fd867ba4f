//! A store in memory whose power can fail.

use crate::store::{Extent, Store, StoreError};

/// Stores bytes until its power fails.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MemoryStore {
    bytes: Vec<u8>,
    /// Bytes that survive: everything appended before the last sync.
    synced: usize,
    power_fails_after: Option<usize>,
}

impl MemoryStore {
    /// A store whose power never fails.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A store that takes this many bytes, perhaps with part of the last record, and then no more.
    #[must_use]
    pub const fn failing_after(bytes: usize) -> Self {
        Self {
            bytes: Vec::new(),
            synced: 0,
            power_fails_after: Some(bytes),
        }
    }

    /// How many bytes are sure to survive.
    #[must_use]
    pub const fn synced(&self) -> usize {
        self.synced
    }

    /// Its content.
    #[must_use]
    pub fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }
}

impl Store for MemoryStore {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        let room = self
            .power_fails_after
            .map_or(usize::MAX, |max| max.saturating_sub(self.bytes.len()));
        let written = record.get(..record.len().min(room)).unwrap_or(record);
        self.bytes.extend_from_slice(written);
        if written.len() < record.len() {
            Err(StoreError::Fault)
        } else {
            Ok(())
        }
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        if self
            .power_fails_after
            .is_some_and(|max| self.bytes.len() >= max)
        {
            return Err(StoreError::Fault);
        }
        self.synced = self.bytes.len();
        Ok(())
    }

    fn can_clear(&self) -> bool {
        true
    }

    fn clear(&mut self) -> Result<(), StoreError> {
        self.sync()?;
        self.bytes.clear();
        self.synced = 0;
        Ok(())
    }

    fn extent(&self) -> Option<Extent> {
        Some(Extent {
            first: 0,
            end: self.bytes.len() as u64,
            // When the power fails is unknown.
            room: None,
        })
    }

    fn read(&mut self, from: u64, into: &mut [u8]) -> Result<(u64, usize), StoreError> {
        let rest = usize::try_from(from)
            .ok()
            .and_then(|from| self.bytes.get(from..));
        let rest = rest.ok_or(StoreError::Fault)?;
        let length = rest.len().min(into.len());
        if let (Some(to), Some(from)) = (into.get_mut(..length), rest.get(..length)) {
            to.copy_from_slice(from);
        }
        Ok((from, length))
    }
}
