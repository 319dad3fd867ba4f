//! Work in slices between samples: a better order of the welds left, and cooling times.

use super::NextWeld;
use crate::console::log;
use coldsquare_core::sequence::balance::ShrinkageBalance;
use coldsquare_core::sequence::replan::Situation;

/// Steps of the search in one slice.
pub(super) const STEPS: usize = 4;

impl NextWeld {
    /// Starts a search for a better order of the welds left.
    pub(super) fn search(&mut self) {
        log!("replanning {=usize} welds", self.left.len());
        self.replan.begin(&self.left);
    }

    /// Whether there is work for a slice.
    #[must_use]
    pub fn is_busy(&self) -> bool {
        !self.replan.is_done() || self.cooling.is_busy()
    }

    /// Does one slice of work on the order or on the cooling time. `now_s` is the time since the logger started. Returns
    /// whether there is more to do.
    pub fn slice(&mut self, now_s: f64) -> bool {
        if self.replan.is_done() {
            return self.cool(now_s);
        }
        let balance = ShrinkageBalance::new(&self.moments);
        // The current weld is finished first, whatever order follows.
        let (mut done, mut state, mut back_up, mut flips_left, mut previous) = (
            self.done,
            self.state,
            self.back_up,
            self.flips_left,
            self.previous,
        );
        if let Some(weld) = self.current {
            let index = usize::from(weld);
            if let (Some(moment), Some(item)) = (self.moments.get(index), self.items.get(index)) {
                for (sum, part) in state.iter_mut().zip(moment) {
                    *sum = sum.saturating_add(i64::from(*part));
                }
                if item.side.needs_flip(back_up) {
                    back_up = !back_up;
                    flips_left = flips_left.saturating_sub(1);
                }
                done.insert(weld.into());
                previous = Some(weld.into());
            }
        }
        let situation = Situation {
            objective: &balance,
            items: &self.items,
            done: &done,
            back_up,
            flips_left,
            previous,
        };
        let more = (0..STEPS).all(|_| self.replan.step(&situation, &state));
        if !more {
            self.left.clear();
            // The same number as before.
            let _ = self.left.extend_from_slice(self.replan.order());
        }
        true
    }

    /// One slice of work on how long the joint of the next weld must cool.
    fn cool(&mut self, now_s: f64) -> bool {
        let weld = self.current.or(self.left.first().copied());
        let Some(weld) = weld.filter(|_| self.has_plan()) else {
            return false;
        };
        self.cooling.slice(weld, &self.facts, self.start_c, now_s)
    }
}
