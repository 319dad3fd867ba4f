//! How likely what was seen is, under one way of laying beads to welds: costs in nats (minus the natural logarithm).
//!
//! Chances are round numbers for a small shop with a practised welder: common practice, no source. The matching tests
//! show that the result does not hang on their digits.

use std::f64::consts::TAU;

/// A planned weld is left out: 3 %.
pub const LEFT_OUT: f64 = 3.507;
/// The log ends before the build does, and the welds still to come have no beads: 10 %.
pub const UNFINISHED: f64 = 2.303;
/// A planned weld is made: 97 %.
pub const MADE: f64 = 0.030;
/// A weld that a marker opened has no bead after all: 0.2 %.
pub const OPENED_AND_LEFT_OUT: f64 = 6.215;
/// A weld that was passed over is not made: 95 %, or made without a word: 5 %.
pub const SKIPPED_AND_LEFT_OUT: f64 = 0.051;
/// See [`SKIPPED_AND_LEFT_OUT`].
pub const SKIPPED_AND_MADE: f64 = 2.996;
/// A bead fits no weld: 2 %. Its length is anywhere: the logarithm of arc times then spreads over a width of 4.
pub const EXTRA: f64 = 5.298;
/// One more bead than the weld has runs (the arc was stopped and started again): 10 %.
pub const STOPPED: f64 = 2.303;
/// One bead fewer than the weld has runs: 5 %.
pub const RUN_LEFT_OUT: f64 = 2.996;
/// A bead on the wrong side of a marker: 2 %.
pub const MARKER_WRONG: f64 = 3.912;
/// A bead of a length that says nothing (half a weld, a weld made twice as fat): 5 % of welds, spread as in [`EXTRA`].
const ODD: f64 = 4.382;
/// Standard deviation of the logarithm of arc time while nothing is known about the welder's pace.
const LOOSE: f64 = 0.6;
/// Bounds on it once enough welds have been found: nobody welds a frame to better than 8 %.
const TIGHT: (f64, f64) = (0.08, 0.5);
/// From this number of welds on, the welder's own pace and spread are taken from the log.
const ENOUGH: usize = 5;

/// How a welder's arc times follow the expected ones.
#[derive(Clone, Copy, Debug)]
pub struct Pace {
    /// Logarithm of arc time over the one expected: its middle.
    middle: f64,
    /// Its standard deviation.
    spread: f64,
    /// Cost of an arc time just as expected.
    least: f64,
}

impl Pace {
    /// While nothing is known.
    pub fn unknown() -> Self {
        Self::new(0.0, LOOSE)
    }

    fn new(middle: f64, spread: f64) -> Self {
        Self {
            middle,
            spread,
            // The height of a normal law, for the 95 % of welds that are not odd.
            least: 0.051 + (spread * TAU.sqrt()).ln(),
        }
    }

    /// Arc time over the one expected, in the middle.
    pub fn factor(&self) -> f64 {
        self.middle.exp()
    }

    /// From ratios of arc time to expected arc time: median, and median distance from it (scaled by 1.4826, which
    /// makes it the standard deviation of a normal law). Robust: a few wrong pairs do not move it.
    pub fn from_ratios(ratios: impl Iterator<Item = f64>) -> Self {
        let mut logs: Vec<f64> = ratios.map(f64::ln).filter(|log| log.is_finite()).collect();
        if logs.len() < ENOUGH {
            return Self::unknown();
        }
        let middle = median(&mut logs);
        for log in &mut logs {
            *log = (*log - middle).abs();
        }
        Self::new(middle, (1.4826 * median(&mut logs)).clamp(TIGHT.0, TIGHT.1))
    }

    /// An arc time of `seen` where `expected` was to be expected, both as logarithms.
    pub fn cost(&self, seen: f64, expected: f64) -> f64 {
        let distance = (seen - expected - self.middle) / self.spread;
        (self.least + distance * distance / 2.0).min(ODD)
    }
}

/// A pause inside a weld rather than between welds: short pauses speak for it, long ones against it.
///
/// `usual` is the middle pause of the log; a stop inside a weld is taken to last a third of it. Bounded, because
/// pauses prove little.
pub fn pause(length: f64, usual: f64) -> f64 {
    if usual > 0.0 {
        (3.0 * length.max(1e-3) / usual).ln().clamp(-1.5, 1.5)
    } else {
        0.0
    }
}

/// The middle of the values, which are put in order; 0 when there are none.
pub fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    match values.len() {
        0 => 0.0,
        n if n % 2 == 1 => values[n / 2],
        n => (values[n / 2 - 1] + values[n / 2]) / 2.0,
    }
}
