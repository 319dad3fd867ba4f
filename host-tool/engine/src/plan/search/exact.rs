//! The best order there is, for few items and a score that depends on the set done alone.
//!
//! Dynamic programming over subsets, after M. Held and R. M. Karp, *A Dynamic Programming Approach to Sequencing
//! Problems*, J. SIAM 10 (1962) 196-210: the smallest peak on the way to a set is the smallest of those of the sets
//! with one item fewer, or the score of the set itself if that is more. With `F` flips allowed each set is entered
//! once for every number of flips so far; the side that is up follows from it. Time grows as `(F+1)·2ⁿ·n`, memory
//! as `(F+1)·2ⁿ` numbers of 8 bytes.

use super::{DependsOnSetAlone, SequenceError, check, cost};
use coldsquare_core::sequence::{Cost, Item, Side, Step};
use std::cmp::Reverse;

/// Most items that are solved exactly.
pub const MAX_EXACT: usize = 24;

/// Entries of the table: `(flips + 1) · 2ⁿ`; `None` when that is beyond [`MAX_EXACT`] or the machine.
#[must_use]
pub fn entries(items: usize, max_flips: u16) -> Option<usize> {
    if items > MAX_EXACT {
        return None;
    }
    (1_usize << items).checked_mul(usize::from(max_flips) + 1)
}

/// Finds an order with the smallest peak that at most `max_flips` flips of the frame allow, and of those one with the
/// fewest flips; both are exact. Among the orders left it keeps the walking short from the end backwards, which
/// is good but not exact.
///
/// # Errors
/// [`SequenceError`]: no order exists, or there are too many items.
pub fn solve<O: DependsOnSetAlone>(
    objective: &O,
    items: &[Item],
    max_flips: u16,
) -> Result<(Vec<Step>, Cost), SequenceError> {
    let needed = check(items)?;
    let entries = entries(items.len(), max_flips).ok_or(SequenceError::TooManyWelds {
        given: items.len(),
        most: MAX_EXACT,
    })?;
    let mut table = Table {
        items,
        before: before_words(items),
        least_peak: vec![0; entries],
        stages: usize::from(max_flips) + 1,
    };
    table.fill(objective);
    let order = table
        .trace_back()
        .ok_or(SequenceError::TooFewFlips { needed })?;
    let cost = cost(objective, items, max_flips, &order);
    let cost = cost.ok_or(SequenceError::Contradiction { weld: 0 })?;
    Ok((order, cost))
}

/// What must come before each item, as words: bit `i` for item `i`.
fn before_words(items: &[Item]) -> Vec<u32> {
    let word = |item: &Item| {
        let before = (0..items.len() as u16).filter(|k| item.before.contains(*k));
        before.fold(0_u32, |word, k| word | 1 << k)
    };
    items.iter().map(word).collect()
}

struct Table<'a> {
    items: &'a [Item],
    before: Vec<u32>,
    /// By set, then by flips so far.
    least_peak: Vec<u64>,
    stages: usize,
}

const NO_WAY: u64 = u64::MAX;

impl Table<'_> {
    fn at(&self, set: u32, flips: usize) -> u64 {
        self.least_peak[set as usize * self.stages + flips]
    }

    /// Whether the rules let `item` come last in `set`.
    fn may_end(&self, set: u32, item: usize) -> bool {
        let without = set & !(1 << item);
        self.before[item] & !without == 0
    }

    /// The smallest peak on the way to `set` less `item` from where `item` can be welded after `flips` flips.
    fn peak_before(&self, set: u32, item: usize, flips: usize) -> u64 {
        let without = set & !(1 << item);
        let side = self.items[item].side;
        if side.needs_flip(flips % 2 == 1) {
            return NO_WAY;
        }
        let stayed = self.at(without, flips);
        match flips.checked_sub(1) {
            Some(fewer) if side != Side::Either => stayed.min(self.at(without, fewer)),
            _ => stayed,
        }
    }

    fn fill<O: DependsOnSetAlone>(&mut self, objective: &O) {
        // Sets are counted up in binary. `states` holds the sums over the members of the set from the highest bit
        // down, so that the next set costs one addition.
        let mut states: Vec<(u32, O::State)> = Vec::with_capacity(MAX_EXACT + 1);
        let sets = self.least_peak.len() / self.stages;
        for set in 0..sets as u32 {
            while states.last().is_some_and(|(of, _)| of & !set != 0) {
                states.pop();
            }
            let (of, mut state) = match states.last() {
                Some((of, state)) => (*of, state.clone()),
                None => (0, objective.start()),
            };
            let added = set & !of;
            if added != 0 {
                objective.apply(&mut state, Step::forward(added.trailing_zeros() as u16));
                let score = objective.score(&state);
                states.push((set, state));
                self.fill_set(set, score);
            } else {
                self.fill_empty();
            }
        }
    }

    fn fill_empty(&mut self) {
        for (flips, peak) in self.least_peak[..self.stages].iter_mut().enumerate() {
            *peak = if flips == 0 { 0 } else { NO_WAY };
        }
    }

    fn fill_set(&mut self, set: u32, score: u64) {
        for flips in 0..self.stages {
            let least = members(set)
                .filter(|&item| self.may_end(set, item))
                .map(|item| self.peak_before(set, item, flips))
                .min()
                .unwrap_or(NO_WAY);
            self.least_peak[set as usize * self.stages + flips] = least.max(score);
        }
    }

    /// An order of the smallest peak; `None` when there is none.
    fn trace_back(&self) -> Option<Vec<Step>> {
        let items = self.items;
        let mut set = (1_u64 << items.len()).wrapping_sub(1) as u32;
        let (peak, mut flips) = (0..self.stages).map(|f| (self.at(set, f), f)).min()?;
        if peak == NO_WAY {
            return None;
        }
        let mut after: Option<&Item> = None;
        let mut order = vec![Step::default(); items.len()];
        for step in order.iter_mut().rev() {
            // Of all items that can come last without a higher peak: no flip if possible, then the nearest to the
            // one after it, then the last in file order.
            let (_, _, Reverse(item), fewer) = members(set)
                .filter(|&item| self.may_end(set, item))
                .filter_map(|item| {
                    let walk_mm = after.map_or(0, |after| after.distance_mm(&items[item]));
                    let fewer = self.stage_before(set, item, flips, peak)?;
                    Some((flips - fewer, walk_mm, Reverse(item), fewer))
                })
                .min()?;
            *step = Step::forward(item as u16);
            after = Some(&items[item]);
            set &= !(1 << item);
            flips = fewer;
        }
        Some(order)
    }

    /// The most flips that can have been made before `item` ends `set`, with a peak of no more than `peak` up to then.
    fn stage_before(&self, set: u32, item: usize, flips: usize, peak: u64) -> Option<usize> {
        let side = self.items[item].side;
        if side.needs_flip(flips % 2 == 1) {
            return None;
        }
        let without = set & !(1 << item);
        let fewer = flips.checked_sub(1).filter(|_| side != Side::Either);
        std::iter::once(flips)
            .chain(fewer)
            .find(|&stage| self.at(without, stage) <= peak)
    }
}

fn members(mut set: u32) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let item = set.trailing_zeros();
        set &= set.wrapping_sub(1);
        (item < 32).then_some(item as usize)
    })
}
