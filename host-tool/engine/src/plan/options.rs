//! What the user may choose for a plan, and what is usual.

use super::order::Effort;
use coldsquare_core::units::Celsius;

/// Flips of the frame while welding, unless the user or the rules say otherwise. More flips balance front and back
/// better, but each costs time and a back. Common practice, no source.
pub const USUAL_FLIPS: u16 = 3;

/// How much less the frame must move for each flip, unless the user says otherwise. Our own judgement, no source: a
/// flip takes two people and two minutes.
pub const USUAL_FLIP_WORTH: f64 = 0.05;

/// Temperature of the frame before welding, unless the user says otherwise.
pub const USUAL_START: Celsius = Celsius(20.0);

/// What the user may choose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Flips allowed while welding; `None` takes [`USUAL_FLIPS`], or more if the rules need them.
    pub max_flips: Option<u16>,
    /// How much less the frame must move for each flip, as a share; otherwise the plan has fewer flips.
    pub flip_worth: f64,
    /// How hard to try.
    pub effort: Effort,
    /// Temperature of the frame before the first weld: what it cools down to.
    pub start: Celsius,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            max_flips: None,
            flip_worth: USUAL_FLIP_WORTH,
            effort: Effort {
                trials: 200_000,
                seed: 1,
            },
            start: USUAL_START,
        }
    }
}
