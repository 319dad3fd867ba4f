//! A set of welds as bits.

use super::MAX_WELDS;

const WORD: usize = 64;

/// The words of a set that holds this many welds.
#[must_use]
pub const fn words(welds: usize) -> usize {
    welds.div_ceil(WORD)
}

/// A set of weld indices, 0 to `64 * WORDS` − 1; larger ones are never in it. The host has room for [`MAX_WELDS`]; a
/// logger, where memory is dear, for as many as it plans.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct WeldSet<const WORDS: usize = { words(MAX_WELDS) }>([u64; WORDS]);

impl<const WORDS: usize> Default for WeldSet<WORDS> {
    fn default() -> Self {
        Self::EMPTY
    }
}

impl<const WORDS: usize> WeldSet<WORDS> {
    /// The set without members.
    pub const EMPTY: Self = Self([0; WORDS]);

    /// The set of these welds; those out of range are left out.
    #[must_use]
    pub fn of(welds: &[u16]) -> Self {
        let mut set = Self::EMPTY;
        for &weld in welds {
            set.insert(weld);
        }
        set
    }

    /// The set of the first `count` welds.
    #[must_use]
    pub fn first(count: usize) -> Self {
        let mut set = Self::EMPTY;
        for (k, word) in set.0.iter_mut().enumerate() {
            let bits = count.saturating_sub(k * WORD).min(WORD);
            *word = if bits == WORD {
                u64::MAX
            } else {
                (1 << bits) - 1
            };
        }
        set
    }

    /// Puts a weld into the set.
    pub fn insert(&mut self, weld: u16) {
        if let Some(word) = self.0.get_mut(usize::from(weld) / WORD) {
            *word |= bit(weld);
        }
    }

    /// Whether a weld is in the set.
    #[must_use]
    pub fn contains(&self, weld: u16) -> bool {
        let word = self.0.get(usize::from(weld) / WORD);
        word.is_some_and(|word| word & bit(weld) != 0)
    }

    /// Whether every member is also in `other`.
    #[must_use]
    pub fn is_subset_of(&self, other: &Self) -> bool {
        self.0.iter().zip(other.0).all(|(a, b)| a & !b == 0)
    }

    /// The members that are not in `other`.
    #[must_use]
    pub fn without(&self, other: &Self) -> Self {
        let mut set = *self;
        for (a, b) in set.0.iter_mut().zip(other.0) {
            *a &= !b;
        }
        set
    }

    /// The smallest member.
    #[must_use]
    pub fn least(&self) -> Option<u16> {
        let (k, word) = self.0.iter().enumerate().find(|(_, word)| **word != 0)?;
        u16::try_from(k * WORD + word.trailing_zeros() as usize).ok()
    }
}

const fn bit(weld: u16) -> u64 {
    1 << (weld as usize % WORD)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn members_are_those_put_in() {
        let set: WeldSet<4> = WeldSet::of(&[0, 63, 64, 255, 256, 9000]);
        let members = |set: &WeldSet<4>| (0..=u16::MAX).filter(|k| set.contains(*k)).count();
        assert_eq!(members(&set), 4);
        assert!(set.contains(63) && set.contains(255) && !set.contains(256) && !set.contains(1));
        assert_eq!(set.without(&WeldSet::of(&[0])).least(), Some(63));
        assert_eq!(set.without(&WeldSet::of(&[0, 63])).least(), Some(64));
        assert_eq!(WeldSet::<4>::of(&[255]).least(), Some(255));
        assert_eq!(WeldSet::<4>::EMPTY.least(), None);
    }

    #[test]
    fn a_set_has_room_for_as_many_as_its_words_have_bits() {
        assert_eq!([1, 64, 65, MAX_WELDS].map(words), [1, 1, 2, MAX_WELDS / 64]);
        let set: WeldSet = WeldSet::of(&[1023, 1024]);
        assert!(set.contains(1023) && !set.contains(1024));
    }

    #[test]
    fn the_first_ones_are_in_every_word() {
        for count in [0, 1, 63, 64, 65, 255, 256, 300] {
            let set = WeldSet::<4>::first(count);
            let members = (0..=u16::MAX).filter(|k| set.contains(*k)).count();
            assert_eq!(members, count.min(256));
            assert!(count == 0 || set.contains(0));
            assert!(!set.contains(u16::try_from(count).unwrap()));
        }
    }
}
