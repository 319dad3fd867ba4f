//! Where a log is downloaded from.

use coldsquare_core::link::{Checked, Consent, Stretch, checksum_of_bytes};
use coldsquare_engine::failure::Failure;

/// A source of a log, read in chunks.
pub trait Source {
    /// First byte available, and one past the last.
    ///
    /// # Errors
    /// [`Failure`] if that cannot be read.
    fn extent(&mut self) -> Result<(u64, u64), Failure>;

    /// Bytes from an offset on, and the offset of the first: the one requested, or a later one if the logger has dropped
    /// what was there. No bytes at the end.
    ///
    /// # Errors
    /// [`Failure`] when they cannot be read.
    fn read(&mut self, from: u64) -> Result<(u64, Vec<u8>), Failure>;

    /// What it holds of its log from a byte on and before another, with the checksum: at least the first piece.
    ///
    /// # Errors
    /// [`Failure`] when it cannot be read.
    fn check(&mut self, from: u64, until: u64) -> Result<Checked, Failure> {
        check_by_reading(self, from, until)
    }

    /// Whether somebody at the logger must agree before its log is cleared.
    ///
    /// # Errors
    /// [`Failure`] says why it cannot be cleared.
    fn check_clear(&mut self) -> Result<bool, Failure> {
        Err(Failure::Usage(
            "only a logger's memory can be cleared; prepare a card again with `coldsquare card new`"
                .into(),
        ))
    }

    /// Clears the log that ends before this byte; false if it has grown since or is another log.
    ///
    /// # Errors
    /// [`Failure`] if it cannot be done now.
    fn clear(&mut self, end: u64, consent: Consent) -> Result<bool, Failure> {
        let _ = (end, consent);
        self.check_clear().map(|_| false)
    }
}

/// What a source holds, by reading it.
pub(super) fn check_by_reading(
    source: &mut (impl Source + ?Sized),
    from: u64,
    until: u64,
) -> Result<Checked, Failure> {
    let (at, mut bytes) = source.read(from)?;
    if at < from || bytes.is_empty() {
        return Ok(Checked::default());
    }
    let left = usize::try_from(until.saturating_sub(at)).unwrap_or(usize::MAX);
    bytes.truncate(left.min(1 << 15));
    let stretch = Stretch {
        from: at.min(until),
        length: bytes.len() as u16,
    };
    Ok(Checked {
        stretches: [stretch].into_iter().collect(),
        sum: checksum_of_bytes(0, &bytes),
        until: stretch.end(),
    })
}
