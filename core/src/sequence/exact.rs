//! The best order there is, for few items and a magnitude that depends on the set done alone.
//!
//! Dynamic programming over subsets, after M. Held and R. M. Karp, *A Dynamic Programming Approach to Sequencing
//! Problems*, J. SIAM 10 (1962) 196-210: the least peak on the way to a set is the least of those of the sets with
//! one item fewer, or the magnitude of the set itself if that is more. With `T` turns allowed each set is entered
//! once for every number of turns so far; the side that is up follows from it. Time grows as `(T+1)·2ⁿ·n`, working
//! space as `(T+1)·2ⁿ` numbers of 8 bytes.

use super::rules::{self, Item, SequenceError, Side};
use super::{Cost, DependsOnSetAlone, Step, cost};

/// Most items that are solved exactly.
pub const MOST_EXACT: usize = 24;

/// Entries of working space needed: `(turns + 1) · 2ⁿ`; `None` when that is beyond [`MOST_EXACT`] or the machine.
#[must_use]
pub fn scratch_needed(items: usize, most_turns: u16) -> Option<usize> {
    if items > MOST_EXACT {
        return None;
    }
    (1_usize << items).checked_mul(usize::from(most_turns) + 1)
}

/// Finds an order with the least peak that at most `most_turns` turns of the frame allow, and of those one with the
/// fewest turns; both are exact. Of the orders that are left the walking is kept short from the end backwards, which
/// is good but not exact.
///
/// # Errors
/// [`SequenceError`]: no order exists, there are too many items, or `scratch` or `order` is too small.
pub fn solve<A: DependsOnSetAlone>(
    assess: &A,
    items: &[Item],
    most_turns: u16,
    scratch: &mut [u64],
    order: &mut [Step],
) -> Result<Cost, SequenceError> {
    let needed_turns = rules::check(items)?;
    let too_many = SequenceError::TooManyWelds {
        given: items.len(),
        most: MOST_EXACT,
    };
    let needed = scratch_needed(items.len(), most_turns).ok_or(too_many)?;
    let table = scratch
        .get_mut(..needed)
        .ok_or(SequenceError::ScratchTooSmall { needed })?;
    let order = order
        .get_mut(..items.len())
        .ok_or(SequenceError::ScratchTooSmall {
            needed: items.len(),
        })?;
    let mut table = Table {
        rules: Rules::new(items),
        least_peak: table,
        stages: usize::from(most_turns) + 1,
    };
    table.fill(assess);
    table
        .trace_back(items, order)
        .ok_or(SequenceError::TooFewTurns {
            needed: needed_turns,
        })?;
    cost(assess, items, most_turns, order).ok_or(SequenceError::Contradiction { weld: 0 })
}

/// The rules of the items as words, bit `i` for item `i`.
struct Rules {
    sides: heapless::Vec<Side, MOST_EXACT>,
    before: heapless::Vec<u32, MOST_EXACT>,
    reaches: heapless::Vec<u32, MOST_EXACT>,
}

impl Rules {
    fn new(items: &[Item]) -> Self {
        let reach = |item: &Item| {
            (0..)
                .zip(items)
                .filter(|(_, other)| item.reach != 0 && other.reach == item.reach)
                .fold(0_u32, |word, (k, _)| word | 1 << k)
        };
        let mut reaches: heapless::Vec<u32, MOST_EXACT> = heapless::Vec::new();
        for word in items.iter().map(reach).filter(|word| *word != 0) {
            if !reaches.contains(&word) {
                let _ = reaches.push(word);
            }
        }
        Self {
            sides: items.iter().map(|item| item.side).collect(),
            before: items.iter().map(|item| item.before.low_word()).collect(),
            reaches,
        }
    }

    /// Whether the rules let `item` come last in `set`.
    fn may_end(&self, set: u32, item: usize) -> bool {
        let without = set & !(1 << item);
        let open = |reach: &u32| reach & without != 0 && reach & !without != 0;
        let waits = self.before.get(item).is_none_or(|b| b & !without != 0);
        !waits
            && self
                .reaches
                .iter()
                .all(|reach| !open(reach) || reach & (1 << item) != 0)
    }

    fn side(&self, item: usize) -> Side {
        self.sides.get(item).copied().unwrap_or_default()
    }
}

struct Table<'a> {
    rules: Rules,
    /// By set, then by turns so far.
    least_peak: &'a mut [u64],
    stages: usize,
}

const NO_WAY: u64 = u64::MAX;

impl Table<'_> {
    fn at(&self, set: u32, turns: usize) -> u64 {
        let place = set as usize * self.stages + turns;
        self.least_peak.get(place).copied().unwrap_or(NO_WAY)
    }

    /// The least peak on the way to `set` less `item` from where `item` can be welded after `turns` turns, and the
    /// number of turns at that time.
    fn before(&self, set: u32, item: usize, turns: usize) -> (u64, usize) {
        let without = set & !(1 << item);
        let side = self.rules.side(item);
        if side.needs_turn(turns % 2 == 1) {
            return (NO_WAY, turns);
        }
        let stayed = (self.at(without, turns), turns);
        match turns.checked_sub(1) {
            Some(fewer) if side != Side::Either => stayed.min((self.at(without, fewer), fewer)),
            _ => stayed,
        }
    }

    fn fill<A: DependsOnSetAlone>(&mut self, assess: &A) {
        // Sets are counted up in binary. `states` holds the sums over the members of the set from the highest bit
        // down, so that the next set costs one addition.
        let mut states: heapless::Vec<(u32, A::State), { MOST_EXACT + 1 }> = heapless::Vec::new();
        let sets = self.least_peak.len() / self.stages;
        for set in 0..sets as u32 {
            while states.last().is_some_and(|(of, _)| of & !set != 0) {
                states.pop();
            }
            let (of, mut state) = match states.last() {
                Some((of, state)) => (*of, state.clone()),
                None => (0, assess.start()),
            };
            let added = set & !of;
            if added != 0 {
                assess.lay(&mut state, Step::forward(added.trailing_zeros() as u16));
                let magnitude = assess.magnitude(&state);
                let _ = states.push((set, state));
                self.fill_set(set, magnitude);
            } else {
                self.fill_empty();
            }
        }
    }

    fn fill_empty(&mut self) {
        for (turns, peak) in self.least_peak.iter_mut().take(self.stages).enumerate() {
            *peak = if turns == 0 { 0 } else { NO_WAY };
        }
    }

    fn fill_set(&mut self, set: u32, magnitude: u64) {
        for turns in 0..self.stages {
            let least = members(set)
                .filter(|&item| self.rules.may_end(set, item))
                .map(|item| self.before(set, item, turns).0)
                .min()
                .unwrap_or(NO_WAY);
            if let Some(peak) = self.least_peak.get_mut(set as usize * self.stages + turns) {
                *peak = least.max(magnitude);
            }
        }
    }

    /// Writes an order of the least peak; `None` when there is none.
    fn trace_back(&self, items: &[Item], order: &mut [Step]) -> Option<()> {
        let mut set = (1_u64 << items.len()).wrapping_sub(1) as u32;
        let (peak, mut turns) = (0..self.stages).map(|t| (self.at(set, t), t)).min()?;
        if peak == NO_WAY {
            return None;
        }
        let mut after: Option<&Item> = None;
        for step in order.iter_mut().rev() {
            // Of all items that can come last without a higher peak: no turn if possible, then the nearest to the
            // one after it, then the last drawn.
            let (_, _, core::cmp::Reverse(item), fewer) = members(set)
                .filter(|&item| self.rules.may_end(set, item))
                .filter_map(|item| {
                    let way = after
                        .zip(items.get(item))
                        .map_or(0, |(a, b)| a.distance_mm(b));
                    self.stage_before(set, item, turns, peak)
                        .map(|fewer| (turns - fewer, way, core::cmp::Reverse(item), fewer))
                })
                .min()?;
            *step = Step::forward(item as u16);
            after = items.get(item);
            set &= !(1 << item);
            turns = fewer;
        }
        Some(())
    }

    /// The most turns that can have been made before `item` ends `set`, with a peak of no more than `peak` up to then.
    fn stage_before(&self, set: u32, item: usize, turns: usize, peak: u64) -> Option<usize> {
        let side = self.rules.side(item);
        if side.needs_turn(turns % 2 == 1) {
            return None;
        }
        let without = set & !(1 << item);
        let fewer = turns.checked_sub(1).filter(|_| side != Side::Either);
        core::iter::once(turns)
            .chain(fewer)
            .find(|&stage| self.at(without, stage) <= peak)
    }
}

fn members(mut set: u32) -> impl Iterator<Item = usize> {
    core::iter::from_fn(move || {
        let item = set.trailing_zeros();
        set &= set.wrapping_sub(1);
        (item < 32).then_some(item as usize)
    })
}
