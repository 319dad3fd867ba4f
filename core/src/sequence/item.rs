//! What an order must know of a weld: the side it is welded from, its place, and what must come before it.

use super::{MAX_WELDS, WeldSet, words};

/// How far apart two welds may be that a welder makes without moving on, mm: the forearm's swing with the elbow at
/// rest. Common practice, no source.
pub const REACH_MM: u64 = 300;

/// The side of the frame from which an item is welded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Side {
    /// From either side: it needs no flip.
    #[default]
    Either,
    /// The side that is up at the beginning.
    Front,
    /// The side on the table at the beginning.
    Back,
}

impl Side {
    /// Whether the frame must be flipped to weld it.
    #[must_use]
    pub const fn needs_flip(self, back_up: bool) -> bool {
        match self {
            Self::Either => false,
            Self::Front => back_up,
            Self::Back => !back_up,
        }
    }
}

/// A weld, or a part of a long one, as an order of up to `64 * WORDS` sees it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Item<const WORDS: usize = { words(MAX_WELDS) }> {
    /// Items that must be finished before it.
    pub before: WeldSet<WORDS>,
    /// The side that must be up.
    pub side: Side,
    /// Where its middle is, mm.
    pub at_mm: [i32; 3],
}

impl<const WORDS: usize> Item<WORDS> {
    /// Distance between the middles, mm, rounded down.
    #[must_use]
    pub fn distance_mm(&self, other: &Self) -> u64 {
        let square = |k: usize| {
            let part = |item: &Self| i64::from(item.at_mm.get(k).copied().unwrap_or(0));
            let apart = part(self).abs_diff(part(other));
            apart.saturating_mul(apart)
        };
        (0..3).map(square).fold(0_u64, u64::saturating_add).isqrt()
    }

    /// Whether a welder reaches both without moving on: from the same side, and no more than [`REACH_MM`] apart.
    /// `distance_mm` is that of [`Item::distance_mm`].
    #[must_use]
    pub fn is_in_reach_of(&self, other: &Self, distance_mm: u64) -> bool {
        let same_side =
            self.side == other.side || self.side == Side::Either || other.side == Side::Either;
        same_side && distance_mm <= REACH_MM
    }
}
