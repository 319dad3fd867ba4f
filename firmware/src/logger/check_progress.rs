//! How far a computer's check of the log has come.

use coldsquare_core::link::{Checked, Refusal, Stretch, checksum_of_bytes, checksum_of_log};

/// How far a log was checked, in order from its first byte.
#[derive(Debug, Default)]
pub(super) struct Checks {
    /// The last reply: its first byte, the sum of everything before it, and the sum with it.
    last: Option<Answered>,
    /// The reply under way.
    pub(super) open: Option<Open>,
    /// Something could not be read since the check began: what is passed over from then on may be more than was dropped.
    pub(super) faulted: bool,
}

#[derive(Clone, Copy, Debug)]
struct Answered {
    pub(super) from: u64,
    before: u32,
    until: u64,
    sum: u32,
    /// Nothing was passed over that could not be read.
    pub(super) sound: bool,
}

#[derive(Debug)]
pub(super) struct Open {
    pub(super) from: u64,
    pub(super) end: u64,
    pub(super) pieces: u8,
    pub(super) sound: bool,
    pub(super) checked: Checked,
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
    pub(super) fn answered(&mut self, open: &Open) {
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
    pub(super) const fn new(from: u64, end: u64) -> Self {
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
    pub(super) fn take(&mut self, from: u64, bytes: &[u8]) -> bool {
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
