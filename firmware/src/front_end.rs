//! Where sample pairs come from.

use coldsquare_core::samples::RawPair;

/// What a front end has to say when it is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// Both channels, sampled at the same moment.
    Pair(RawPair),
    /// This many pairs were due since the last one and are lost.
    Dropped(u32),
    /// Nothing yet.
    Waiting,
}

/// A converter for both channels. Pairs come at a steady rate and in order; losses are told where they occurred.
pub trait FrontEnd {
    /// The next reading; never blocks.
    fn next(&mut self) -> Reading;
}
