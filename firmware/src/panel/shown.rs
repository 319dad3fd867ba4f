//! A single light, and a display of two lines of 16 characters.

use super::Shown;
use coldsquare_core::link::Advice;
use coldsquare_core::trouble::Trouble;
use core::fmt::Write;
use heapless::String;

impl Shown {
    /// Whether a single light is on at this time, ms. Five blinks a second: nothing can be stored. Steady: the arc burns.
    /// One blink a second: go. Three quick blinks: look at the display or the computer (flip the frame, or there was an
    /// alarm). Flickering: a computer asks, hold both buttons to agree. Long on, short off: wait. Off: nothing to do.
    #[must_use]
    pub const fn light(&self, now_ms: u32) -> bool {
        let at = now_ms % 1000;
        if self.asked {
            return at % 100 < 50;
        }
        if self.stores_nothing() {
            return at % 200 < 100;
        }
        if self.arc_on {
            return true;
        }
        if self.attention {
            return at < 100 || (at >= 200 && at < 300) || (at >= 400 && at < 500);
        }
        match self.advice {
            Advice::Flip => at < 100 || (at >= 200 && at < 300) || (at >= 400 && at < 500),
            Advice::Wait(_) => at < 900,
            Advice::Go | Advice::Replanning => at < 100,
            Advice::NoPlan | Advice::Finished => false,
        }
    }

    /// Whatever is measured is stored nowhere.
    const fn stores_nothing(&self) -> bool {
        matches!(self.trouble, Some(trouble) if !trouble.stores())
    }

    /// Two lines of 16 characters: the current weld, or what is wrong with the store, and what to do.
    #[must_use]
    pub fn lines(&self) -> [String<16>; 2] {
        let (mut first, mut second) = (String::new(), String::new());
        let weld = Number(self.weld);
        let arc = if self.arc_on { " ARC" } else { "" };
        let look = match self.trouble {
            Some(Trouble::Slow) => " SLOW",
            _ if self.attention => " LOOK",
            _ => "",
        };
        // Cut off where it does not fit; numbers of five digits still fit.
        let _ = match self.trouble {
            Some(trouble) if !trouble.stores() && !self.arc_on => first.write_str(trouble.word()),
            _ => write!(first, "WELD {weld}{arc}{look}"),
        };
        let next = Number(self.next);
        if self.asked {
            let _ = second.push_str("OK? HOLD BOTH");
            return [first, second];
        }
        let _ = match self.advice {
            Advice::NoPlan => write!(second, "BEADS {}", self.beads),
            Advice::Go | Advice::Replanning => write!(second, "GO {next}  {} LEFT", self.left),
            Advice::Wait(seconds) => write!(second, "WAIT {seconds}s  {next}"),
            Advice::Flip => write!(second, "FLIP FRAME  {next}"),
            Advice::Finished => write!(second, "ALL DONE"),
        };
        [first, second]
    }
}

struct Number(Option<u16>);

impl core::fmt::Display for Number {
    fn fmt(&self, out: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self.0 {
            Some(number) => write!(out, "{number}"),
            None => out.write_str("-"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_text_fits_the_display() {
        let all = [
            Advice::NoPlan,
            Advice::Go,
            Advice::Wait(1801),
            Advice::Flip,
            Advice::Replanning,
            Advice::Finished,
        ];
        for advice in all {
            let shown = Shown {
                advice,
                weld: Some(999),
                next: Some(999),
                left: 63,
                beads: 99_999,
                attention: true,
                ..Shown::default()
            };
            let [first, second] = shown.lines();
            assert_eq!(first, "WELD 999 LOOK");
            assert!(!second.is_empty() && second.len() <= 16, "{second}");
            assert!((0..1000).any(|ms| shown.light(ms)) && (0..1000).any(|ms| !shown.light(ms)));
        }
    }
}
