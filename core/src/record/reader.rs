//! Reads records from a stream of bytes that may be cut, damaged or joined.

#[cfg(test)]
mod tests;

use super::frame::{DecodeError, MAX_FRAME, Opened, open};
use super::model::Record;

/// What is between two boundaries.
#[allow(clippy::large_enum_variant)] // Passed on once; see `Record`.
#[derive(Clone, Debug, PartialEq)]
pub enum Entry {
    /// A whole record.
    Record {
        /// Its sequence number.
        sequence: u32,
        /// The record.
        record: Record,
    },
    /// Bytes that are not a record.
    Damage {
        /// Where they begin, counted from the start of the stream.
        offset: u64,
        /// How many.
        bytes: u64,
        /// What is wrong with them.
        cause: DecodeError,
    },
}

/// Counts of what was read so far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ReadCounts {
    /// Bytes read.
    pub bytes: u64,
    /// Whole records.
    pub records: u64,
    /// Damaged places: runs of skipped bytes, each between two whole records.
    pub damaged_stretches: u64,
    /// Skipped bytes in them.
    pub skipped_bytes: u64,
    /// Records missing before the first, whose sequence number was not 0.
    pub missing_before: u64,
    /// Records missing between the first and the last, by sequence number.
    pub missing: u64,
    /// Records that came twice in a row; the second was dropped.
    pub repeated: u64,
    /// How often the sequence went backwards: two logs in one file, or a logger that lost count.
    pub restarted: u64,
    /// Bytes at the end that are not a whole record. They count as skipped too.
    pub torn_tail: u64,
}

impl ReadCounts {
    /// True if every byte belongs to a record and no record is missing.
    #[must_use]
    pub const fn is_whole(&self) -> bool {
        self.skipped_bytes == 0
            && self.missing_before == 0
            && self.missing == 0
            && self.restarted == 0
    }
}

/// Boundaries that are passed over in one step.
const SKIPPED_AT_ONCE: usize = 64;

/// Takes bytes in pieces of any size and returns records. Needs memory for one frame only.
///
/// ```
/// use coldsquare_core::record::{Entry, Reader};
///
/// fn count(log: &[u8]) -> u64 {
///     let mut reader = Reader::new();
///     let mut rest = log;
///     while let Some(entry) = reader.next(&mut rest) {
///         if let Entry::Damage { offset, cause, .. } = entry {
///             // report "at byte {offset}: {cause}"
///             # let _ = (offset, cause);
///         }
///     }
///     reader.finish();
///     reader.counts().records
/// }
/// # assert_eq!(count(b"\0\0\0"), 0);
/// ```
#[derive(Clone, Debug)]
pub struct Reader {
    frame: [u8; MAX_FRAME],
    /// Bytes since the last boundary; those past the buffer are only counted.
    length: usize,
    counts: ReadCounts,
    /// Sequence number and checksum of the last whole record.
    last: Option<(u32, u32)>,
    in_damage: bool,
}

impl Default for Reader {
    fn default() -> Self {
        Self::new()
    }
}

impl Reader {
    /// A reader at the start of a stream.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            frame: [0; MAX_FRAME],
            length: 0,
            counts: ReadCounts {
                bytes: 0,
                records: 0,
                damaged_stretches: 0,
                skipped_bytes: 0,
                missing_before: 0,
                missing: 0,
                repeated: 0,
                restarted: 0,
                torn_tail: 0,
            },
            last: None,
            in_damage: false,
        }
    }

    /// What was read so far.
    #[must_use]
    pub const fn counts(&self) -> &ReadCounts {
        &self.counts
    }

    /// Takes bytes from the front of `bytes` until an entry is complete; `None` once all are taken.
    pub fn next(&mut self, bytes: &mut &[u8]) -> Option<Entry> {
        while !bytes.is_empty() {
            self.skip_boundaries(bytes);
            let Some(at) = bytes.iter().position(|&byte| byte == 0) else {
                self.collect(bytes);
                *bytes = &[];
                return None;
            };
            let (piece, rest) = bytes.split_at_checked(at).unwrap_or((bytes, &[]));
            self.collect(piece);
            *bytes = rest.get(1..).unwrap_or(&[]);
            let boundary = self.counts.bytes;
            self.counts.bytes = boundary.saturating_add(1);
            if let Some(entry) = self.close(boundary) {
                return Some(entry);
            }
        }
        None
    }

    /// Ends the stream: what remains is a record without its last boundary, a torn tail, or nothing.
    pub fn finish(&mut self) -> Option<Entry> {
        let entry = self.close(self.counts.bytes);
        if let Some(Entry::Damage { bytes, .. }) = entry {
            self.counts.torn_tail = bytes;
        }
        entry
    }

    /// Passes over boundaries between frames. Where a log was dropped there are nothing else, up to gigabytes of them.
    fn skip_boundaries(&mut self, bytes: &mut &[u8]) {
        if self.length > 0 {
            return;
        }
        // All of a piece at once, which is what processors are fast at.
        let is_empty = |piece: &&[u8]| piece.iter().fold(0, |any, byte| any | byte) == 0;
        let pieces = bytes.chunks_exact(SKIPPED_AT_ONCE).take_while(is_empty);
        let skipped = pieces.count().saturating_mul(SKIPPED_AT_ONCE);
        *bytes = bytes.get(skipped..).unwrap_or(&[]);
        self.counts.bytes = self.counts.bytes.saturating_add(skipped as u64);
    }

    fn collect(&mut self, piece: &[u8]) {
        if let Some(room) = self.frame.get_mut(self.length..) {
            let taken = piece.len().min(room.len());
            if let (Some(to), Some(from)) = (room.get_mut(..taken), piece.get(..taken)) {
                to.copy_from_slice(from);
            }
        }
        self.length = self.length.saturating_add(piece.len());
        self.counts.bytes = self.counts.bytes.saturating_add(piece.len() as u64);
    }

    /// Decodes the bytes since the last boundary, which end before byte `end` of the stream.
    fn close(&mut self, end: u64) -> Option<Entry> {
        let length = core::mem::take(&mut self.length);
        if length == 0 {
            return None;
        }
        match self
            .frame
            .get_mut(..length)
            .ok_or(DecodeError::TooLong)
            .and_then(open)
        {
            Ok(Opened {
                sequence,
                checksum,
                record,
            }) => self
                .accept(sequence, checksum)
                .then_some(Entry::Record { sequence, record }),
            Err(cause) => Some(self.reject(end, length as u64, cause)),
        }
    }

    /// Counts a whole record; false if it repeats the one before.
    fn accept(&mut self, sequence: u32, checksum: u32) -> bool {
        self.in_damage = false;
        let counts = &mut self.counts;
        match self.last {
            None => counts.missing_before = u64::from(sequence),
            Some(last) if last == (sequence, checksum) => {
                counts.repeated = counts.repeated.saturating_add(1);
                return false;
            }
            Some((last, _)) => match sequence.wrapping_sub(last.wrapping_add(1)) {
                ahead @ 0..0x8000_0000 => {
                    counts.missing = counts.missing.saturating_add(u64::from(ahead));
                }
                _ => counts.restarted = counts.restarted.saturating_add(1),
            },
        }
        self.last = Some((sequence, checksum));
        counts.records = counts.records.saturating_add(1);
        true
    }

    fn reject(&mut self, end: u64, bytes: u64, cause: DecodeError) -> Entry {
        let counts = &mut self.counts;
        counts.skipped_bytes = counts.skipped_bytes.saturating_add(bytes);
        if !self.in_damage {
            counts.damaged_stretches = counts.damaged_stretches.saturating_add(1);
        }
        self.in_damage = true;
        Entry::Damage {
            offset: end.saturating_sub(bytes),
            bytes,
            cause,
        }
    }
}
