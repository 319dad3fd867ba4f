//! Whether the rules of the items allow an order at all.

use coldsquare_core::sequence::{Item, MAX_WELDS, WeldSet};

/// Why there is no order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum SequenceError {
    /// More items than can be put in order. Weld the frame in parts.
    TooManyWelds {
        /// Items given.
        given: usize,
        /// The most there may be.
        most: usize,
    },
    /// An item waits for one that does not exist.
    UnknownWeld {
        /// The item that waits.
        weld: u16,
        /// What it waits for.
        before: u16,
    },
    /// An item waits for itself, directly or through others.
    Contradiction {
        /// One of the items concerned. Remove one of the rules around it.
        weld: u16,
    },
    /// The rules need more flips of the frame than are allowed.
    TooFewFlips {
        /// Flips that are enough.
        needed: u16,
    },
}

impl std::fmt::Display for SequenceError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooManyWelds { given, most } => write!(
                out,
                "{given} welds are too many to put in order at once (at most {most}); weld the frame in parts"
            ),
            Self::UnknownWeld { weld, before } => write!(
                out,
                "item {weld} waits for item {before}, which does not exist"
            ),
            Self::Contradiction { weld } => write!(
                out,
                "item {weld} would have to wait for itself; remove one of the rules around it"
            ),
            Self::TooFewFlips { needed: 1 } => {
                out.write_str("the frame must be flipped once; allow for it")
            }
            Self::TooFewFlips { needed } => {
                write!(
                    out,
                    "the frame must be flipped {needed} times; allow for it"
                )
            }
        }
    }
}

impl std::error::Error for SequenceError {}

/// Checks that the rules allow an order, and counts the flips that the frame needs at least.
///
/// # Errors
/// [`SequenceError`] for too many items, an unknown one, or a contradiction.
pub fn check(items: &[Item]) -> Result<u16, SequenceError> {
    if items.len() > MAX_WELDS {
        return Err(SequenceError::TooManyWelds {
            given: items.len(),
            most: MAX_WELDS,
        });
    }
    let all = WeldSet::first(items.len());
    for (weld, item) in (0..).zip(items) {
        if let Some(before) = item.before.without(&all).least() {
            return Err(SequenceError::UnknownWeld { weld, before });
        }
    }
    let (mut done, mut flips, mut back_up) = (WeldSet::EMPTY, 0, false);
    while done != all {
        let mut ready = (0..)
            .zip(items)
            .filter(|(weld, item)| !done.contains(*weld) && item.before.is_subset_of(&done));
        let Some((first, _)) = ready.clone().next() else {
            let weld = all.without(&done).least().unwrap_or(0);
            return Err(SequenceError::Contradiction { weld });
        };
        match ready.find(|(_, item)| !item.side.needs_flip(back_up)) {
            Some((weld, _)) => done.insert(weld),
            None => {
                done.insert(first);
                flips += 1;
                back_up = !back_up;
            }
        }
    }
    Ok(flips)
}
