//! Readings and presses as bytes, for a logger whose welding machine is elsewhere: an emulated board, or a test bench.
//!
//! ```text
//! 00 v v v i i i   a pair, counts in 24 bits, little-endian      02 p             a press, before the pair it precedes
//! 01 n n n n       number of lost pairs, little-endian          03               no more readings
//! ```
//!
//! The sender waits for the logger, so nothing is lost and the same bytes always give the same log.

use crate::front_end::{FrontEnd, Reading};
use crate::panel::{Input, Panel, Shown};
use coldsquare_core::samples::RawPair;
use core::cell::Cell;

/// The longest message.
pub const MAX_MESSAGE: usize = 7;

/// One message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fed {
    /// Both channels.
    Pair(RawPair),
    /// This many pairs were due and were lost.
    Dropped(u32),
    /// The welder pressed.
    Press(Input),
    /// No more readings.
    End,
}

impl Fed {
    /// The message as bytes, and how many of them to send.
    #[must_use]
    pub const fn to_bytes(self) -> ([u8; MAX_MESSAGE], usize) {
        match self {
            Self::Pair(pair) => {
                let [v0, v1, v2, _] = pair.voltage().to_le_bytes();
                let [i0, i1, i2, _] = pair.current().to_le_bytes();
                ([0, v0, v1, v2, i0, i1, i2], 7)
            }
            Self::Dropped(count) => {
                let [n0, n1, n2, n3] = count.to_le_bytes();
                ([1, n0, n1, n2, n3, 0, 0], 5)
            }
            Self::Press(input) => ([2, code(input), 0, 0, 0, 0, 0], 2),
            Self::End => ([3, 0, 0, 0, 0, 0, 0], 1),
        }
    }

    /// Bytes of the message that begins with this one.
    #[must_use]
    pub const fn length(first: u8) -> usize {
        match first {
            0 => 7,
            1 => 5,
            2 => 2,
            _ => 1,
        }
    }

    /// Reads the next message byte by byte. Anything that is not a message ends the feed.
    pub fn from_bytes(next: &mut impl FnMut() -> u8) -> Self {
        match next() {
            0 => {
                let voltage = count(next);
                Self::Pair(RawPair::new(voltage, count(next)))
            }
            1 => Self::Dropped(u32::from_le_bytes([next(), next(), next(), next()])),
            2 => input(next()).map_or(Self::End, Self::Press),
            _ => Self::End,
        }
    }
}

const fn code(input: Input) -> u8 {
    match input {
        Input::Next => 1,
        Input::Skip => 2,
        Input::Redo => 3,
        Input::Mark => 4,
        Input::Tare => 5,
    }
}

const fn input(code: u8) -> Option<Input> {
    match code {
        1 => Some(Input::Next),
        2 => Some(Input::Skip),
        3 => Some(Input::Redo),
        4 => Some(Input::Mark),
        5 => Some(Input::Tare),
        _ => None,
    }
}

/// A count of 24 bits, sign-extended by shifting it down from the top of 32.
fn count(next: &mut impl FnMut() -> u8) -> i32 {
    i32::from_le_bytes([0, next(), next(), next()]) >> 8
}

/// A press that waits for the panel.
pub type Pressed = Cell<Option<Input>>;

/// The front end at the logger's end of a feed.
#[derive(Debug)]
pub struct FedFrontEnd<'a, R> {
    next: R,
    pressed: &'a Pressed,
    ended: bool,
}

impl<'a, R: FnMut() -> u8> FedFrontEnd<'a, R> {
    /// Reads from `next`, which blocks until there is a byte.
    pub const fn new(next: R, pressed: &'a Pressed) -> Self {
        Self {
            next,
            pressed,
            ended: false,
        }
    }
}

impl<R: FnMut() -> u8> FrontEnd for FedFrontEnd<'_, R> {
    fn next(&mut self) -> Reading {
        while !self.ended {
            match Fed::from_bytes(&mut self.next) {
                Fed::Pair(pair) => return Reading::Pair(pair),
                Fed::Dropped(count) => return Reading::Dropped(count),
                Fed::Press(input) => self.pressed.set(Some(input)),
                Fed::End => self.ended = true,
            }
        }
        Reading::Waiting
    }
}

/// A panel whose presses come through the feed. It has no display.
#[derive(Debug)]
pub struct FedPanel<'a>(
    /// The press that waits.
    pub &'a Pressed,
);

impl Panel for FedPanel<'_> {
    fn input(&mut self) -> Option<Input> {
        self.0.take()
    }

    fn show(&mut self, _shown: Shown) {}
}

#[cfg(test)]
mod tests {
    use super::*;
    use coldsquare_core::samples::MAX_COUNT;

    #[test]
    fn every_message_decodes_to_what_was_sent() {
        let pairs =
            [0, 1, -1, 12_345, MAX_COUNT, -MAX_COUNT].map(|v| Fed::Pair(RawPair::new(v, -v / 3)));
        let presses = [
            Input::Next,
            Input::Skip,
            Input::Redo,
            Input::Mark,
            Input::Tare,
        ]
        .map(Fed::Press);
        let others = [Fed::Dropped(0x0102_0304), Fed::End];
        for message in pairs.into_iter().chain(presses).chain(others) {
            let (bytes, length) = message.to_bytes();
            assert_eq!(Fed::length(bytes[0]), length);
            let mut sent = bytes[..length].iter().copied();
            let back = Fed::from_bytes(&mut || sent.next().unwrap());
            assert_eq!((back, sent.next()), (message, None));
        }
    }
}
