//! What an instrument did wrong while it recorded: a zero that drifts, a channel that stands still.

use super::side::Side;

/// A zero of the clamp beside one bead that is not the one of the first part of the recording.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drift {
    /// Position at which the bead begins.
    pub bead: u64,
    /// What is read without an arc beside it, A; taken off.
    pub zero_a: f64,
    /// Its standard uncertainty, A.
    pub standard_a: f64,
}

/// A time for which one channel gave the very same value while the arc burned and the other went on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stuck {
    /// Which.
    pub side: Side,
    /// Position of the first sample.
    pub from: u64,
    /// Position after the last.
    pub until: u64,
}
