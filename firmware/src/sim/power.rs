//! Power that fails at a chosen time, for simulated media.

use super::random::Random;

/// Lets a number of bytes be written or erased, and then no more.
#[derive(Clone, Debug)]
pub struct Power {
    /// Bytes until it fails; `None` for never.
    left: Option<u64>,
    random: Random,
}

impl Power {
    /// Power that never fails; the seed is for the bytes that a failure leaves.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self {
            left: None,
            random: Random::new(seed),
        }
    }

    /// Fails after this many bytes.
    pub const fn goes_after(&mut self, bytes: u64) {
        self.left = Some(bytes);
    }

    /// Restores the power for good.
    pub const fn comes_back(&mut self) {
        self.left = None;
    }

    /// Whether it has failed.
    #[must_use]
    pub const fn is_gone(&self) -> bool {
        matches!(self.left, Some(0))
    }

    /// Uses it for this many bytes; returns how many were done, fewer than all if it failed.
    pub fn spend(&mut self, bytes: usize) -> usize {
        let Some(left) = &mut self.left else {
            return bytes;
        };
        let done = bytes.min(usize::try_from(*left).unwrap_or(usize::MAX));
        *left -= done as u64;
        done
    }

    /// A random byte.
    pub fn any_byte(&mut self) -> u8 {
        self.random.bits() as u8
    }

    /// True once in `times` on average.
    pub fn once_in(&mut self, times: u32) -> bool {
        self.random.below(times) == 0
    }
}
