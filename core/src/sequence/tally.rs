//! Counts an order step by step: the one place that knows the rules, the flips and the walking.

use super::{Item, MAX_WELDS, WeldSet, words};

/// What an order costs. Compared from the first field to the last.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cost {
    /// Flips beyond those allowed.
    pub excess_flips: u16,
    /// The greatest score after any step.
    pub peak: u64,
    /// The score after the last step.
    pub last: u64,
    /// Flips of the frame.
    pub flips: u16,
    /// Times the welder has to move on: the next item is on the other side or out of reach
    /// ([`REACH_MM`](super::REACH_MM)).
    pub moves: u16,
    /// Distance from the middle of one item to the middle of the next, summed, mm.
    pub walk_mm: u64,
}

impl Cost {
    /// Worse than any order.
    pub const WORST: Self = Self {
        excess_flips: u16::MAX,
        peak: u64::MAX,
        last: u64::MAX,
        flips: u16::MAX,
        moves: u16::MAX,
        walk_mm: u64::MAX,
    };

    /// Whether an unfinished order of this cost can no longer end within `bound`, whatever follows.
    #[must_use]
    pub const fn exceeds(&self, bound: &Self) -> bool {
        self.excess_flips > bound.excess_flips
            || (self.excess_flips == bound.excess_flips && self.peak > bound.peak)
    }
}

/// An order so far: what is done, which side is up, and the cost.
#[derive(Clone, Debug)]
pub struct Tally<const WORDS: usize = { words(MAX_WELDS) }> {
    done: WeldSet<WORDS>,
    back_up: bool,
    previous: Option<u16>,
    steps: usize,
    cost: Cost,
}

impl<const WORDS: usize> Tally<WORDS> {
    /// Begins after the items in `done`, of which `previous` was the last. `back_up` says that the frame lies with
    /// its back up.
    #[must_use]
    pub const fn new(done: WeldSet<WORDS>, back_up: bool, previous: Option<u16>) -> Self {
        Self {
            done,
            back_up,
            previous,
            steps: 0,
            cost: Cost {
                excess_flips: 0,
                peak: 0,
                last: 0,
                flips: 0,
                moves: 0,
                walk_mm: 0,
            },
        }
    }

    /// Whether the rules allow an item next: it is not done, and all that must come before it is.
    #[must_use]
    pub fn allows(&self, weld: u16, item: &Item<WORDS>) -> bool {
        !self.done.contains(weld) && item.before.is_subset_of(&self.done)
    }

    /// Adds a step; false, and nothing is added, when there is no such item or the rules forbid it.
    pub fn add(&mut self, items: &[Item<WORDS>], max_flips: u16, weld: u16) -> bool {
        let Some(item) = items.get(usize::from(weld)) else {
            return false;
        };
        if !self.allows(weld, item) {
            return false;
        }
        let cost = &mut self.cost;
        if let Some(previous) = self.previous.and_then(|k| items.get(usize::from(k))) {
            let walk_mm = previous.distance_mm(item);
            cost.walk_mm = cost.walk_mm.saturating_add(walk_mm);
            let moved_on = u16::from(!previous.is_in_reach_of(item, walk_mm));
            cost.moves = cost.moves.saturating_add(moved_on);
        }
        if item.side.needs_flip(self.back_up) {
            self.back_up = !self.back_up;
            cost.flips = cost.flips.saturating_add(1);
            cost.excess_flips = cost.flips.saturating_sub(max_flips);
        }
        self.done.insert(weld);
        self.previous = Some(weld);
        self.steps += 1;
        true
    }

    /// Notes the score of the frame after the step that was added last.
    pub fn note_score(&mut self, score: u64) {
        self.cost.last = score;
        self.cost.peak = self.cost.peak.max(score);
    }

    /// Distance from the item before to this one, mm; 0 for the first.
    #[must_use]
    pub fn walk_to_mm(&self, items: &[Item<WORDS>], item: &Item<WORDS>) -> u64 {
        let previous = self.previous.and_then(|k| items.get(usize::from(k)));
        previous.map_or(0, |previous| previous.distance_mm(item))
    }

    /// What it has cost so far.
    #[must_use]
    pub const fn cost(&self) -> &Cost {
        &self.cost
    }

    /// Steps added.
    #[must_use]
    pub const fn steps(&self) -> usize {
        self.steps
    }

    /// Whether the frame lies with its back up.
    #[must_use]
    pub const fn is_back_up(&self) -> bool {
        self.back_up
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Flips and peak only grow; the score after the last step may still fall, so it decides nothing.
    #[test]
    fn an_order_is_given_up_when_its_flips_or_its_peak_can_no_longer_be_made_good() {
        let bound = Cost {
            excess_flips: 1,
            peak: 100,
            last: 50,
            ..Cost::default()
        };
        let exceeds = |excess_flips, peak| {
            let cost = Cost {
                excess_flips,
                peak,
                last: 90,
                flips: 9,
                moves: 9,
                walk_mm: 9,
            };
            cost.exceeds(&bound)
        };
        assert!(exceeds(2, 0) && exceeds(2, 101) && exceeds(1, 101));
        assert!(!exceeds(1, 100) && !exceeds(0, 101) && !exceeds(0, 0));
    }
}
