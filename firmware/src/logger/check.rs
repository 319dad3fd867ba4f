//! Summing up the log for a computer, a piece a turn, so that nothing is called whole, or cleared, that was not compared.

use super::check_progress::Open;
use super::{Hardware, Logger};
use crate::store::Store;
use coldsquare_core::link::{CHUNK, Checked, Refusal};

/// Pieces in one reply, a turn each: so it comes sooner than a computer asks again.
const PIECES: u8 = 48;

impl<H: Hardware> Logger<H> {
    /// Reads one more piece; the reply once there are enough.
    pub(super) fn check(&mut self, from: u64, until: u64) -> Option<Result<Checked, Refusal>> {
        if self
            .checks
            .open
            .as_ref()
            .is_none_or(|open| (open.from, open.end) != (from, until))
        {
            self.checks.open = Some(Open::new(from, until));
            self.checks.faulted &= from > 0;
        }
        let step = self.check_step();
        if step != Ok(false) {
            let open = self.checks.open.take()?;
            if step.is_ok() {
                self.checks.answered(&open);
            }
            return Some(step.map(|_| open.checked));
        }
        None
    }

    /// True when the reply is complete.
    fn check_step(&mut self) -> Result<bool, Refusal> {
        let store = self.log.recorder.store();
        let extent = store.extent().ok_or(Refusal::CannotDo)?;
        let checks = &mut self.checks;
        let Some(open) = &mut checks.open else {
            return Ok(true);
        };
        if open.end > extent.end {
            return Err(Refusal::PastTheEnd);
        }
        let at = open.checked.until;
        if at >= open.end || open.pieces >= PIECES {
            return Ok(true);
        }
        let mut bytes = [0; CHUNK];
        let left = usize::try_from(open.end - at).unwrap_or(CHUNK).min(CHUNK);
        let room = bytes.get_mut(..left).unwrap_or_default();
        let Ok((offset, length)) = store.read(at, room) else {
            if open.pieces > 0 {
                // The next question begins there, and is asked until there is an answer.
                return Ok(true);
            }
            checks.faulted = true;
            return Err(Refusal::StoreFault);
        };
        open.sound &= offset == at || !checks.faulted;
        let taken = usize::try_from(open.end.saturating_sub(offset)).unwrap_or(usize::MAX);
        let bytes = bytes.get(..length.min(taken)).unwrap_or_default();
        if bytes.is_empty() {
            // The rest, to its end, was dropped to make room.
            open.checked.until = open.end;
            return Ok(true);
        }
        Ok(!open.take(offset, bytes))
    }
}
