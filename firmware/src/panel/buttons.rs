//! Two buttons for gloved hands.
//!
//! | press | one button | the other |
//! |---|---|---|
//! | short | next weld | mark this moment |
//! | long, from [`LONG_MS`] | weld this weld again | leave it for later |
//! | both, held for [`BOTH_MS`] | no current flows: tare the clamp; or agree to what a computer asks | |
//!
//! A press counts when the button is released. If a glove slides onto the other button meanwhile, it becomes a press of
//! both, which does nothing unless it is long.
//!
//! ```
//! use coldsquare_firmware::panel::{Input, TwoButtons};
//!
//! // The first button is down from 10 ms to 200 ms; the contacts are read every 10 ms.
//! let mut buttons = TwoButtons::default();
//! let inputs = (0..300).step_by(10).filter_map(|ms| buttons.take([(10..200).contains(&ms), false], ms));
//! assert_eq!(inputs.collect::<Vec<_>>(), [Input::Next]);
//! ```

use super::Input;

/// Contact changes faster than this are bounce, ms.
const BOUNCE_MS: u32 = 30;
/// A press at least this long is long, ms.
pub const LONG_MS: u32 = 800;
/// Both must be held this long, ms.
pub const BOTH_MS: u32 = 2000;

/// Turns two contacts into inputs.
#[derive(Clone, Copy, Debug, Default)]
pub struct TwoButtons {
    /// As last read, and since when.
    raw: [bool; 2],
    raw_since_ms: u32,
    /// The debounced state.
    down: [bool; 2],
    /// Buttons that were down during this press, and when it began.
    pressed: [bool; 2],
    since_ms: u32,
    /// The input of this press was reported already.
    reported: bool,
}

impl TwoButtons {
    /// Takes the contacts' state at a time of any millisecond clock that wraps; returns an input if there is one. Call it at
    /// least every 20 ms.
    pub fn take(&mut self, contacts: [bool; 2], now_ms: u32) -> Option<Input> {
        if contacts != self.raw {
            self.raw = contacts;
            self.raw_since_ms = now_ms;
        }
        if now_ms.wrapping_sub(self.raw_since_ms) < BOUNCE_MS {
            return None;
        }
        if self.down == [false; 2] && self.raw != [false; 2] {
            *self = Self {
                down: self.raw,
                pressed: [false; 2],
                since_ms: self.raw_since_ms,
                reported: false,
                ..*self
            };
        }
        self.down = self.raw;
        for (pressed, down) in self.pressed.iter_mut().zip(self.down) {
            *pressed |= down;
        }
        let held_ms = now_ms.wrapping_sub(self.since_ms);
        match self.down {
            [true, true] if held_ms >= BOTH_MS && !self.reported => {
                self.reported = true;
                Some(Input::Tare)
            }
            [false, false] => self.release(self.raw_since_ms.wrapping_sub(self.since_ms)),
            _ => None,
        }
    }

    fn release(&mut self, held_ms: u32) -> Option<Input> {
        let long = held_ms >= LONG_MS;
        match core::mem::take(&mut self.pressed) {
            [true, false] => Some(if long { Input::Redo } else { Input::Next }),
            [false, true] => Some(if long { Input::Skip } else { Input::Mark }),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The inputs from contacts that change at these milliseconds, read every 5 ms for 6 s.
    fn inputs(script: &[(u32, [bool; 2])], starts_at: u32) -> Vec<Input> {
        let mut buttons = TwoButtons::default();
        (0..6000)
            .step_by(5)
            .filter_map(|ms| {
                let last = script.iter().rev().find(|(from, _)| *from <= ms);
                let contacts = last.map_or([false; 2], |(_, contacts)| *contacts);
                buttons.take(contacts, starts_at.wrapping_add(ms))
            })
            .collect()
    }

    const UP: [bool; 2] = [false, false];
    const A: [bool; 2] = [true, false];
    const B: [bool; 2] = [false, true];
    const BOTH: [bool; 2] = [true, true];

    #[test]
    fn short_and_long_presses_of_each_button_mean_what_the_table_says() {
        for start in [0, u32::MAX - 600] {
            assert_eq!(inputs(&[(100, A), (300, UP)], start), [Input::Next]);
            assert_eq!(inputs(&[(100, A), (1000, UP)], start), [Input::Redo]);
            assert_eq!(inputs(&[(100, B), (300, UP)], start), [Input::Mark]);
            assert_eq!(inputs(&[(100, B), (4000, UP)], start), [Input::Skip]);
        }
    }

    #[test]
    fn both_held_zero_the_clamp_once_and_a_glove_on_both_does_nothing() {
        let held = [(100, A), (140, BOTH), (5000, B), (5050, UP)];
        assert_eq!(inputs(&held, 0), [Input::Tare]);
        assert_eq!(inputs(&[(100, A), (200, BOTH), (400, A), (500, UP)], 0), []);
    }

    #[test]
    fn bounces_and_sparks_are_no_presses() {
        let bouncing = [
            (100, A),
            (105, UP),
            (110, A),
            (120, UP),
            (125, A),
            (400, UP),
            (405, A),
            (415, UP),
        ];
        assert_eq!(inputs(&bouncing, 0), [Input::Next]);
        assert_eq!(inputs(&[(100, A), (120, UP), (900, B), (925, UP)], 0), []);
    }

    #[test]
    fn presses_one_after_the_other_are_as_many_inputs() {
        let twice = [
            (100, A),
            (250, UP),
            (400, A),
            (550, UP),
            (700, B),
            (900, UP),
        ];
        assert_eq!(inputs(&twice, 0), [Input::Next, Input::Next, Input::Mark]);
    }
}
