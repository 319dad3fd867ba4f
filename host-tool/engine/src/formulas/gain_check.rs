//! The gain of a channel from a known value: a current measured with a shunt, or a voltage measured with a meter.
//!
//! A clamp measures the ampere-turns through it: a conductor passed through n times counts as n times its current, so a
//! small supply makes a welding current.
//!
//! ```text
//! gain = n · known / (mean count − zero)
//! ```
//!
//! ```
//! use coldsquare_core::calibration::Channel;
//! use coldsquare_core::uncertainty::Uncertain;
//! use coldsquare_engine::formulas::gain_check::GainCheck;
//! # let clamp = Channel {
//! #     gain_per_count: 0.1,
//! #     zero_in_256ths: 0,
//! #     gain_relative_uncertainty: 0.02,
//! #     zero_uncertainty: 0.5,
//! #     lowest_count: -4000,
//! #     highest_count: 4000,
//! # };
//!
//! // 10 A fifteen times through the clamp, counted as 1480.
//! let check = GainCheck {
//!     known: Uncertain::from_relative(10.0, 0.0025),
//!     turns: 15,
//!     counts: Uncertain { value: 1480.0, standard: 1.5 },
//!     remaining: 0.01,
//! };
//! let checked = check.apply(&clamp)?;
//! assert!((checked.channel.gain_per_count - 150.0 / 1480.0).abs() < 1e-12);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

use crate::formulas::uncertainty::product_of_powers;
use coldsquare_core::calibration::Channel;
use coldsquare_core::formula::{Allowed, Formula, FormulaError};
use coldsquare_core::uncertainty::{Uncertain, rectangular};

const CHECK: Formula = Formula {
    name: "gain from a known value",
    clause: "JCGM 100:2008, 5.1.6",
};

/// A gain that changes by more than this means another fault: number of turns, range switch, lead.
pub const MAX_CHANGE: f64 = 0.25;

/// What was applied, and what was counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GainCheck {
    /// Current or voltage of the reference meter, with its uncertainty, V or A.
    pub known: Uncertain,
    /// How often the conductor passes through the clamp; 1 for a voltage.
    pub turns: u16,
    /// Mean count while it was applied, and the standard uncertainty of that mean.
    pub counts: Uncertain,
    /// ± share that a check at one value cannot reveal: other currents, position in the clamp, temperature. 0 or more.
    pub remaining: f64,
}

/// The result of a check.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CheckedGain {
    /// The channel with its new gain and the uncertainty of it; the zero is unchanged.
    pub channel: Channel,
    /// New gain over old one, minus 1.
    pub change: f64,
    /// Relative standard uncertainty from the known value.
    pub from_known: f64,
    /// The same from the zero.
    pub from_zero: f64,
    /// The same from the noise of the mean.
    pub from_noise: f64,
    /// The same from what the check cannot reveal.
    pub from_remaining: f64,
}

impl GainCheck {
    /// The channel's new gain.
    ///
    /// # Errors
    /// [`FormulaError`] when a value is no ordinary number or zero, or the gain would change by more than
    /// [`MAX_CHANGE`], its sign included.
    pub fn apply(&self, channel: &Channel) -> Result<CheckedGain, FormulaError> {
        let turns = CHECK.positive("turns through the clamp", self.turns.into(), "")?;
        let remaining = CHECK.not_negative("remaining uncertainty", self.remaining, "")?;
        let old = channel.gain_per_count;
        let zero = zero_in_counts(channel);
        let distance = self.counts.value - zero.value;
        CHECK.require("counts from zero", distance.abs(), "", Allowed::Above(0.0))?;
        CHECK.require(
            "the known value",
            self.known.value.abs(),
            "",
            Allowed::Above(0.0),
        )?;
        let share = |standard: f64| (standard / distance).abs();
        let (from_zero, from_noise) = (share(zero.standard), share(self.counts.standard));
        let from_remaining = rectangular(remaining);
        let gain = product_of_powers(&[
            (self.known, 1.0),
            (Uncertain::exact(turns), 1.0),
            (
                Uncertain {
                    value: distance,
                    standard: libm::hypot(zero.standard, self.counts.standard),
                },
                -1.0,
            ),
            (Uncertain::from_relative(1.0, from_remaining), 1.0),
        ])?;
        let change = gain.value / old - 1.0;
        CHECK.require(
            "the change of the gain",
            change,
            "",
            Allowed::Between(-MAX_CHANGE, MAX_CHANGE),
        )?;
        Ok(CheckedGain {
            channel: Channel {
                gain_per_count: gain.value,
                gain_relative_uncertainty: gain.relative().unwrap_or(0.0),
                ..*channel
            },
            change,
            from_known: self.known.relative().unwrap_or(0.0),
            from_zero,
            from_noise,
            from_remaining,
        })
    }
}

fn zero_in_counts(channel: &Channel) -> Uncertain {
    Uncertain {
        value: f64::from(channel.zero_in_256ths) / 256.0,
        standard: (channel.zero_uncertainty / channel.gain_per_count).abs(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::num::f64::ANY;
    use proptest::prelude::*;

    fn channel() -> Channel {
        Channel {
            gain_per_count: 0.1,
            zero_in_256ths: 256 * 20,
            gain_relative_uncertainty: 0.02,
            zero_uncertainty: 0.5,
            lowest_count: -4000,
            highest_count: 4000,
        }
    }

    fn check(counts: f64) -> GainCheck {
        GainCheck {
            known: Uncertain {
                value: 10.0,
                standard: 0.025,
            },
            turns: 15,
            counts: Uncertain {
                value: counts,
                standard: 1.5,
            },
            remaining: 0.01,
        }
    }

    /// Worked by hand: 150 A of ampere-turns on 1480 counts from zero.
    #[test]
    fn ten_amperes_fifteen_times_are_a_hundred_and_fifty() {
        let found = check(1500.0).apply(&channel()).expect("near enough");
        assert!((found.channel.gain_per_count - 150.0 / 1480.0).abs() < 1e-12);
        assert!((found.change - (1500.0 / 1480.0 - 1.0)).abs() < 1e-12);
        // 0.25 %, 5 counts of zero and 1.5 of noise in 1480, 1 %/√3.
        let parts = [0.0025, 5.0 / 1480.0, 1.5 / 1480.0, 0.01 / 3_f64.sqrt()];
        let wanted = parts.iter().map(|part| part * part).sum::<f64>().sqrt();
        assert!((found.channel.gain_relative_uncertainty - wanted).abs() < 1e-12);
    }

    #[test]
    fn a_forgotten_turn_or_a_reversed_clamp_is_refused() {
        let mut one_less = check(1500.0);
        one_less.turns = 10;
        assert!(one_less.apply(&channel()).is_err());
        assert!(check(-1460.0).apply(&channel()).is_err());
        assert!(check(20.0).apply(&channel()).is_err());
    }

    proptest! {
        #[test]
        fn any_input_gives_a_sound_channel_or_an_error(
            known in ANY, standard in ANY, counts in ANY, noise in ANY, remaining in ANY, turns in 0_u16.., gain in ANY,
        ) {
            let check = GainCheck {
                known: Uncertain { value: known, standard },
                turns,
                counts: Uncertain { value: counts, standard: noise },
                remaining,
            };
            let channel = Channel { gain_per_count: gain, ..channel() };
            if let Ok(found) = check.apply(&channel) {
                prop_assert!(found.channel.gain_per_count.is_finite());
                prop_assert!(found.channel.gain_per_count != 0.0);
                prop_assert!(found.channel.gain_relative_uncertainty >= 0.0);
                prop_assert!(found.change.abs() <= MAX_CHANGE);
            }
        }
    }
}
