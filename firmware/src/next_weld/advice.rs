//! What to do next.

use super::NextWeld;
use coldsquare_core::link::Advice;

impl NextWeld {
    /// What to do next. `begun`: the current weld has had heat already, so the advice is about the next one.
    #[must_use]
    pub fn advice(&self, begun: bool) -> Advice {
        if !self.has_plan() {
            return Advice::NoPlan;
        }
        let Some(weld) = self.advised_index(begun) else {
            return Advice::Finished;
        };
        let flip = self.items.get(usize::from(weld)).is_some_and(|item| {
            let now = self
                .current
                .filter(|_| begun)
                .and_then(|k| self.items.get(usize::from(k)));
            let back_up = match now {
                Some(now) => self.back_up ^ now.side.needs_flip(self.back_up),
                None => self.back_up,
            };
            item.side.needs_flip(back_up)
        });
        if !self.replan.is_done() {
            Advice::Replanning
        } else if flip {
            Advice::Flip
        } else {
            match self.cooling.wait_s() {
                0 => Advice::Go,
                seconds => Advice::Wait(seconds),
            }
        }
    }

    /// Number of the weld that the advice is about.
    #[must_use]
    pub fn advised(&self, begun: bool) -> Option<u16> {
        self.number(self.advised_index(begun)?)
    }

    fn advised_index(&self, begun: bool) -> Option<u8> {
        match self.current {
            Some(weld) if !begun => Some(weld),
            _ => self.left.first().copied(),
        }
    }
}
