//! Summing up the log for a computer, a piece a turn, so that nothing is called whole, or cleared, that was not compared.

use super::{Hardware, Logger};
use crate::store::Store;
use coldsquare_core::link::{CHUNK, Checked, Refusal, Stretch, checksum_of_bytes, checksum_of_log};

/// Pieces in one reply, a turn each: so it comes sooner than a computer asks again.
const PIECES: u8 = 48;

/// How far a log was checked, in order from its first byte.
#[derive(Debug, Default)]
pub(super) struct Checks {
    /// The last reply: its first byte, the sum of everything before it, and the sum with it.
    last: Option<Answered>,
    /// The reply under way.
    open: Option<Open>,
    /// Something could not be read since the check began: what is passed over from then on may be more than was dropped.
    faulted: bool,
}

#[derive(Clone, Copy, Debug)]
struct Answered {
    from: u64,
    before: u32,
    until: u64,
    sum: u32,
    /// Nothing was passed over that could not be read.
    sound: bool,
}

#[derive(Debug)]
struct Open {
    from: u64,
    end: u64,
    pieces: u8,
    sound: bool,
    checked: Checked,
}

impl Checks {
    /// The sum of the whole log, if it was checked from its first byte to this one.
    ///
    /// # Errors
    /// [`Refusal::StoreFault`] when something in it could not be read.
    pub fn sum_to(&self, end: u64) -> Result<Option<u32>, Refusal> {
        match self.last {
            Some(last) if last.until == end && last.sound => Ok(Some(last.sum)),
            Some(last) if last.until == end => Err(Refusal::StoreFault),
            _ => Ok(None),
        }
    }

    /// Takes note of a reply. Only one that follows the others counts; the last may be repeated.
    fn answered(&mut self, open: &Open) {
        let before = match self.last {
            Some(last) if last.until == open.from => Some((last.sum, last.sound)),
            Some(last) if last.from == open.from => Some((last.before, true)),
            _ => (open.from == 0).then_some((0, true)),
        };
        self.last = before.map(|(before, sound)| Answered {
            from: open.from,
            before,
            until: open.checked.until,
            sum: checksum_of_log(before, &open.checked),
            sound: sound && open.sound,
        });
    }
}

impl Open {
    const fn new(from: u64, end: u64) -> Self {
        Self {
            from,
            end,
            pieces: 0,
            sound: true,
            checked: Checked {
                stretches: heapless::Vec::new(),
                sum: 0,
                until: from,
            },
        }
    }

    /// Takes what was read; false when it belongs into the next reply.
    fn take(&mut self, from: u64, bytes: &[u8]) -> bool {
        let checked = &mut self.checked;
        let length = bytes.len() as u16;
        if let Some(last) = checked
            .stretches
            .last_mut()
            .filter(|last| last.end() == from)
        {
            last.length = last.length.saturating_add(length);
        } else if checked.stretches.push(Stretch { from, length }).is_err() {
            return false;
        }
        checked.sum = checksum_of_bytes(checked.sum, bytes);
        checked.until = from.saturating_add(bytes.len() as u64);
        self.pieces = self.pieces.saturating_add(1);
        true
    }
}

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
