//! How likely a log is under one way of matching beads to welds: costs in nats (minus the natural logarithm).
//!
//! The chances are round numbers for a small shop with a practised welder: common practice, no source. The matching
//! tests show that the result does not depend on their digits.

use std::f64::consts::TAU;

/// A planned weld is left out: 3 %.
pub const LEFT_OUT: f64 = 3.507;
/// The log ends before the build does, and the remaining welds have no beads: 10 %.
pub const UNFINISHED: f64 = 2.303;
/// A planned weld is made: 97 %.
pub const MADE: f64 = 0.030;
/// A weld that a marker opened has no bead after all: 0.2 %.
pub const OPENED_AND_LEFT_OUT: f64 = 6.215;
/// A weld that was passed over is not made: 95 %; made without another marker: 5 %.
pub const SKIPPED_AND_LEFT_OUT: f64 = 0.051;
/// See [`SKIPPED_AND_LEFT_OUT`].
pub const SKIPPED_AND_MADE: f64 = 2.996;
/// A bead fits no weld: 2 %. It can have any length: the logarithm of its arc time spreads over a width of 4.
pub const EXTRA: f64 = 5.298;
/// One more bead than the weld has runs (the arc was stopped and started again): 10 %.
pub const STOPPED: f64 = 2.303;
/// One bead fewer than the weld has runs: 5 %.
pub const RUN_LEFT_OUT: f64 = 2.996;
/// A short piece beside a hole of the log is what is left of a tack: 35 %, with the width of [`EXTRA`].
pub const PIECE_OF_A_TACK: f64 = 2.436;
/// Two pieces of a bead that end and begin in the same hole of the log: 50 %, one bead or two.
pub const SAME_HOLE: f64 = 0.693;
/// A run of a weld is missing, and there is a hole in the log beside its others: 50 %.
pub const RUN_IN_A_HOLE: f64 = 0.693;
/// A bead on the wrong side of a marker: 2 %.
pub const MARKER_WRONG: f64 = 3.912;
/// A bead whose length tells nothing (half a weld, a weld made twice as fat): 5 % of welds, spread as in [`EXTRA`].
const ODD: f64 = 4.382;
/// Standard deviation of the logarithm of arc time before anything is known of the welder.
const PRIOR_SPREAD: f64 = 0.6;
/// Its limits once enough welds have been found: nobody welds a frame more evenly than 8 %.
const SPREAD_LIMITS: (f64, f64) = (0.08, 0.5);
/// With this many welds or more, median and spread come from the log.
const MIN_WELDS: usize = 5;

/// How a welder's arc times follow the expected ones.
#[derive(Clone, Copy, Debug)]
pub struct DurationModel {
    /// Median of the logarithm of measured over expected arc time.
    median_log: f64,
    /// Its standard deviation.
    spread: f64,
    /// Cost of an arc time exactly as expected.
    min_cost: f64,
}

impl DurationModel {
    /// Before anything is known.
    pub fn unknown() -> Self {
        Self::new(0.0, PRIOR_SPREAD)
    }

    fn new(median_log: f64, spread: f64) -> Self {
        Self {
            median_log,
            spread,
            // The height of a normal distribution, for the 95 % of welds that are not odd.
            min_cost: 0.051 + (spread * TAU.sqrt()).ln(),
        }
    }

    /// Median of measured over expected arc time.
    pub fn ratio(&self) -> f64 {
        self.median_log.exp()
    }

    /// From ratios of measured to expected arc time: their median, and the median distance from it (times 1.4826, which
    /// makes it the standard deviation of a normal distribution). Robust: a few wrong pairs do not move it.
    pub fn from_ratios(ratios: impl Iterator<Item = f64>) -> Self {
        let mut logs: Vec<f64> = ratios.map(f64::ln).filter(|log| log.is_finite()).collect();
        if logs.len() < MIN_WELDS {
            return Self::unknown();
        }
        let median_log = median(&mut logs);
        for log in &mut logs {
            *log = (*log - median_log).abs();
        }
        Self::new(
            median_log,
            (1.4826 * median(&mut logs)).clamp(SPREAD_LIMITS.0, SPREAD_LIMITS.1),
        )
    }

    /// Cost of an arc time `seen` where `expected` was expected, both as logarithms.
    pub fn cost(&self, seen: f64, expected: f64) -> f64 {
        let distance = (seen - expected - self.median_log) / self.spread;
        (self.min_cost + distance * distance / 2.0).min(ODD)
    }

    /// Cost of beads of which a part is missing: their arc time is between `seen` and `at_most`. Where a bead is cut is a
    /// matter of chance, so what was seen tells nothing but that; it spreads as in [`EXTRA`]. All are logarithms.
    pub fn cost_of_piece(&self, seen: f64, at_most: f64, expected: f64) -> f64 {
        let below = |time: f64| {
            let distance = (time - expected - self.median_log) / self.spread;
            0.5 * libm::erfc(-distance / std::f64::consts::SQRT_2)
        };
        let chance = (below(at_most) - below(seen)).max(f64::MIN_POSITIVE);
        (0.051 + 4f64.ln() - chance.ln()).min(ODD)
    }
}

/// Cost of a pause being inside a weld rather than between welds: short pauses are likely inside, long ones are not.
///
/// `usual` is the median pause of the log; a stop inside a weld is assumed to last a third of it. Limited, because
/// pauses prove little.
pub fn pause(length: f64, usual: f64) -> f64 {
    if usual > 0.0 {
        (3.0 * length.max(1e-3) / usual).ln().clamp(-1.5, 1.5)
    } else {
        0.0
    }
}

/// The median of the values, 0 without any; sorts them.
pub fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    match values.len() {
        0 => 0.0,
        n if n % 2 == 1 => values[n / 2],
        n => (values[n / 2 - 1] + values[n / 2]) / 2.0,
    }
}

#[cfg(test)]
mod tests;
