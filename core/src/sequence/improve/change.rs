//! How a trial is made of an order: what is changed in it, and where.

use super::super::{Cost, Step, Unjudged, cost_within};
use super::{Changed, Foresee, Improve};

/// Lengths of a change: the whole order, a half, a quarter and so on.
const SCALES: usize = 6;
/// Changes that the rules forbid, one after the other, that count as a trial.
const FORBIDDEN: usize = 64;
/// A few items that are moved together.
const LONGEST_MOVED: usize = 4;

impl<A: Foresee, const KEPT: usize> Improve<'_, A, KEPT> {
    /// Makes a trial of the current order that the rules allow, changed a little: where, and its turns and walking.
    pub(super) fn change_trial(&mut self) -> Option<(Changed, Cost)> {
        for _ in 0..FORBIDDEN {
            self.trial.copy_from_slice(self.current);
            let peak_after = self.passed.last()?.as_ref()?.peak_after;
            self.change(peak_after);
            let differs = |(a, b): (&Step, &Step)| a != b;
            let first = self.trial.iter().zip(self.current.iter()).position(differs);
            let last = self
                .trial
                .iter()
                .zip(self.current.iter())
                .rposition(differs);
            let (Some(first), Some(last)) = (first, last) else {
                continue;
            };
            let way = cost_within(
                &Unjudged,
                self.items,
                self.most_turns,
                self.trial,
                &Cost::WORST,
            );
            if let Some((way, _)) = way
                && way.excess_turns <= self.standing.excess_turns
            {
                return Some((Changed { first, last }, way));
            }
        }
        None
    }

    /// Changes the trial a little: moves a few items together, swaps two of the same side, turns a stretch around, or
    /// welds one the other way.
    ///
    /// Half of the time across the place where the peak is: nothing else can lower it. What lies close together in the
    /// order is preferred, on every scale.
    fn change(&mut self, peak_after: usize) -> Option<()> {
        let n = self.trial.len();
        let random = &mut self.random;
        let scale = random.below(SCALES);
        let within = |places: usize| (places >> scale).max(1);
        let (a, mut b) = if random.below(2) == 0 && peak_after > 0 && peak_after < n {
            let (before, after) = (within(peak_after), within(n - peak_after));
            (
                peak_after - before + random.below(before),
                peak_after + random.below(after),
            )
        } else {
            let first = random.below(n);
            (first, (first + 1 + random.below(within(n))).min(n - 1))
        };
        let kind = random.below(3 + usize::from(self.any_directed));
        if kind == 1 {
            // Two of different sides would need turns.
            let side = |step: &Step| self.items.get(usize::from(step.weld)).map(|item| item.side);
            let wanted = self.trial.get(a).map(side);
            let like = |step: &Step| Some(side(step)) == wanted;
            b += self.trial.get(b..)?.iter().position(like).unwrap_or(0);
        }
        let stretch = self.trial.get_mut(a..=b)?;
        // Mostly one, sometimes a few, seldom as many as there are.
        let most = match random.below(4) {
            0 | 1 => 1,
            2 => LONGEST_MOVED,
            _ => usize::MAX,
        };
        let moved = 1 + random.below((stretch.len() / 2).clamp(1, most));
        match kind {
            0 if random.below(2) == 0 => stretch.rotate_left(moved),
            0 => stretch.rotate_right(moved),
            1 => {
                let last = stretch.len() - 1;
                stretch.swap(0, last);
            }
            2 => stretch.reverse(),
            _ => {
                if random.below(2) == 0 {
                    stretch.rotate_left(1);
                }
                let turned = if random.below(2) == 0 { a } else { b };
                let step = self.trial.get_mut(turned)?;
                if self.assess.is_directed(step.weld) {
                    step.reversed = !step.reversed;
                }
            }
        }
        Some(())
    }
}
