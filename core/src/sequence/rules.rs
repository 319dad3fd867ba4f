//! What an order must keep to: what comes before what, what is done in one reach, and the side that must be up.

use super::{MOST_WELDS, WeldSet};

/// How far apart two welds may be that a welder makes without moving on, mm: the forearm's swing with the elbow at
/// rest. Common practice, no source.
pub const REACH_MM: u64 = 300;

/// The side of the frame from which an item is welded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Side {
    /// From either side: no turn for its sake.
    #[default]
    Either,
    /// The side that is up at the beginning.
    Front,
    /// The side on the table at the beginning.
    Back,
}

impl Side {
    /// Whether the frame must be turned over to weld it.
    #[must_use]
    pub const fn needs_turn(self, back_up: bool) -> bool {
        match self {
            Self::Either => false,
            Self::Front => back_up,
            Self::Back => !back_up,
        }
    }
}

/// What the search must know of a weld or a piece of one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Item {
    /// Items that must be finished before it.
    pub before: WeldSet,
    /// Items of the same number are welded one directly after the other; 0 stands alone.
    pub reach: u16,
    /// The side that must be up.
    pub side: Side,
    /// Where its middle is, mm.
    pub at_mm: [i32; 3],
}

impl Item {
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

    /// Whether a welder reaches both without moving on: from the same side, and not too far apart
    /// ([`Item::distance_mm`]).
    #[must_use]
    pub fn is_in_reach_of(&self, other: &Self, distance_mm: u64) -> bool {
        let same_side =
            self.side == other.side || self.side == Side::Either || other.side == Side::Either;
        same_side && distance_mm <= REACH_MM
    }

    /// Whether its reach has been begun (it is done) and something of it is still to do.
    pub(super) fn is_left_open(&self, items: &[Self], done: &WeldSet) -> bool {
        let of_this_reach =
            |(weld, item): (u16, &Self)| item.reach == self.reach && !done.contains(weld);
        self.reach != 0 && (0..).zip(items).any(of_this_reach)
    }

    /// Whether nothing outside its reach is still to come before any part of it.
    pub(super) fn may_begin_reach(&self, items: &[Self], done: &WeldSet) -> bool {
        if self.reach == 0 {
            return true;
        }
        let (mut reach, mut before) = (WeldSet::EMPTY, WeldSet::EMPTY);
        for (weld, item) in (0..).zip(items) {
            if item.reach == self.reach {
                reach.insert(weld);
                before = before.union(&item.before);
            }
        }
        before.without(&reach).is_subset_of(done)
    }
}

/// Why there is no order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SequenceError {
    /// More items than a search can hold. Weld the frame in parts.
    TooManyWelds {
        /// Items given.
        given: usize,
        /// Items that can be held.
        most: usize,
    },
    /// An item waits for one that does not exist.
    UnknownWeld {
        /// The item that waits.
        weld: u16,
        /// What it waits for.
        before: u16,
    },
    /// An item waits for itself, directly, through others, or because its reach cannot be done in one go.
    Contradiction {
        /// One of the items concerned. Remove one of the rules around it.
        weld: u16,
    },
    /// The rules need more turns of the frame than are allowed.
    TooFewTurns {
        /// Turns that are enough.
        needed: u16,
    },
    /// The working space is too small.
    ScratchTooSmall {
        /// Entries needed.
        needed: usize,
    },
}

impl core::fmt::Display for SequenceError {
    fn fmt(&self, out: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::TooManyWelds { given, most } => write!(
                out,
                "{given} welds are more than can be put in order at once ({most}); weld the frame in parts"
            ),
            Self::UnknownWeld { weld, before } => {
                write!(
                    out,
                    "item {weld} waits for item {before}, which does not exist"
                )
            }
            Self::Contradiction { weld } => write!(
                out,
                "item {weld} would have to wait for itself; remove one of the rules around it"
            ),
            Self::TooFewTurns { needed } => {
                write!(
                    out,
                    "the frame must be turned over {needed} times; allow for it"
                )
            }
            Self::ScratchTooSmall { needed } => {
                write!(out, "working space for {needed} entries is needed")
            }
        }
    }
}

impl core::error::Error for SequenceError {}

/// Checks that the rules allow an order, and counts how often the frame must be turned over at the least.
///
/// The count is exact without reaches. With reaches that lie on both sides it may be more than the least.
///
/// # Errors
/// [`SequenceError`] for too many items, an unknown one, or a contradiction.
pub fn check(items: &[Item]) -> Result<u16, SequenceError> {
    if items.len() > MOST_WELDS {
        return Err(SequenceError::TooManyWelds {
            given: items.len(),
            most: MOST_WELDS,
        });
    }
    let all = WeldSet::first(items.len());
    for (weld, item) in (0..).zip(items) {
        if let Some(before) = item.before.without(&all).least() {
            return Err(SequenceError::UnknownWeld { weld, before });
        }
    }
    let (mut done, mut turns, mut back_up) = (WeldSet::EMPTY, 0, false);
    while done != all {
        let before_this_side = done;
        while let Some((after, _)) = next_reach(items, &done, back_up, false) {
            done = after;
        }
        if done != before_this_side {
            continue;
        }
        let Some((after, turned)) = next_reach(items, &done, back_up, true) else {
            let weld = all.without(&done).least().unwrap_or(0);
            return Err(SequenceError::Contradiction { weld });
        };
        done = after;
        turns += turned;
        back_up ^= turned % 2 == 1;
    }
    Ok(turns)
}

/// Does the first reach that can be done in one go, with or without turning; what is then done, and the turns it took.
fn next_reach(
    items: &[Item],
    done: &WeldSet,
    back_up: bool,
    may_turn: bool,
) -> Option<(WeldSet, u16)> {
    (0..).zip(items).find_map(|(weld, item)| {
        if done.contains(weld) {
            return None;
        }
        let (after, turns) = finish_reach(items, *done, weld, item, back_up)?;
        (turns == 0 || may_turn).then_some((after, turns))
    })
}

/// Does the whole reach of an item, each piece as soon as it can be, turning only when nothing else is left.
fn finish_reach(
    items: &[Item],
    mut done: WeldSet,
    weld: u16,
    item: &Item,
    mut back_up: bool,
) -> Option<(WeldSet, u16)> {
    let mut turns = 0;
    loop {
        let belongs = |(other, candidate): &(u16, &Item)| {
            !done.contains(*other)
                && (*other == weld || (item.reach != 0 && candidate.reach == item.reach))
        };
        let mut left = (0..).zip(items).filter(belongs).peekable();
        if left.peek().is_none() {
            return Some((done, turns));
        }
        let mut ready = left.filter(|(_, candidate)| candidate.before.is_subset_of(&done));
        let first = ready.next()?;
        let (next, candidate) = core::iter::once(first)
            .chain(ready)
            .find(|(_, candidate)| !candidate.side.needs_turn(back_up))
            .unwrap_or(first);
        if candidate.side.needs_turn(back_up) {
            back_up = !back_up;
            turns += 1;
        }
        done.insert(next);
    }
}
