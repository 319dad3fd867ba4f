//! The source of sample pairs.

use coldsquare_core::samples::RawPair;

/// One answer of a front end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// Both channels, sampled at the same time.
    Pair(RawPair),
    /// This many pairs were due since the last one and were lost.
    Dropped(u32),
    /// Nothing yet.
    Waiting,
}

/// A converter for both channels. Pairs come at a steady rate and in order; losses are reported where they occurred.
pub trait FrontEnd {
    /// The next reading; never blocks.
    fn next(&mut self) -> Reading;
}
