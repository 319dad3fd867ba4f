//! Power that goes at a chosen instant, for media that exist only in memory.

use super::random::Random;

/// Lets so many bytes be written or erased, and then nothing any more.
#[derive(Clone, Debug)]
pub struct Power {
    /// Bytes until it goes; `None`: never.
    left: Option<u64>,
    random: Random,
}

impl Power {
    /// Power that never goes; the seed is for what it leaves behind once it does.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self {
            left: None,
            random: Random::new(seed),
        }
    }

    /// It goes after so many bytes.
    pub const fn goes_after(&mut self, bytes: u64) {
        self.left = Some(bytes);
    }

    /// It is back, for good.
    pub const fn comes_back(&mut self) {
        self.left = None;
    }

    /// Whether it is gone.
    #[must_use]
    pub const fn is_gone(&self) -> bool {
        matches!(self.left, Some(0))
    }

    /// Uses it for so many bytes; gives how many were done. Fewer than all: it is gone.
    pub fn spend(&mut self, bytes: usize) -> usize {
        let Some(left) = &mut self.left else {
            return bytes;
        };
        let done = bytes.min(usize::try_from(*left).unwrap_or(usize::MAX));
        *left -= done as u64;
        done
    }

    /// Any byte.
    pub fn any_byte(&mut self) -> u8 {
        self.random.bits() as u8
    }

    /// True once in so many times.
    pub fn once_in(&mut self, times: u32) -> bool {
        self.random.below(times) == 0
    }
}
