//! What the instrument did wrong, from the first part of a recording: a zero that is off, values at a limit, and how often
//! it repeats itself.

use super::evidence::quantile;
use super::ticks::Habit;
use coldsquare_core::uncertainty::rectangular;

/// Volts and amps of the same rows, scaled; not a number where one is missing.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Sample {
    pub volts: Vec<f64>,
    pub amps: Vec<f64>,
}

/// Rows without an arc from which a zero is known.
const MIN_ROWS: usize = 30;
/// A zero nearer than this is left alone, A.
const LEAST_ZERO_A: f64 = 0.5;
/// A power source without an arc: open circuit, or switched off, V.
const OPEN_V: f64 = 40.0;
const OFF_V: f64 = 2.0;

impl Sample {
    fn rows(&self) -> impl Iterator<Item = (f64, f64)> + Clone + '_ {
        let rows = self.volts.iter().copied().zip(self.amps.iter().copied());
        rows.filter(|(volts, amps)| volts.is_finite() && amps.is_finite())
    }

    /// The current above which the arc burns, for a first look: a quarter of its usual height.
    fn burning(&self) -> Option<f64> {
        let amps = || self.rows().map(|(_, amps)| amps.abs());
        let high = quantile(amps(), 0.98)?.max(0.5 * quantile(amps(), 0.999)?);
        Some(0.25 * high)
    }

    /// The current that is read without an arc, and its standard uncertainty, A; `None` unless it is clear: the volts say
    /// that there is no arc, and the current stands still at something else than zero.
    pub(super) fn zero(&self) -> Option<(f64, f64)> {
        let burning = self.burning()?;
        let dark: Vec<f64> = self
            .rows()
            .filter(|(volts, amps)| {
                amps.abs() < burning && (volts.abs() > OPEN_V || volts.abs() < OFF_V)
            })
            .map(|(_, amps)| amps)
            .collect();
        let zero = quantile(dark.iter().copied(), 0.5)?;
        let [low, high] = [0.16, 0.84].map(|share| quantile(dark.iter().copied(), share));
        let scatter = (high? - low?) / 2.0;
        let (early, late) = dark.split_at(dark.len() / 2);
        let drift = quantile(early.iter().copied(), 0.5)? - quantile(late.iter().copied(), 0.5)?;
        let is_clear = dark.len() >= MIN_ROWS
            && zero.abs() >= LEAST_ZERO_A
            && zero.abs() > 3.0 * scatter / (dark.len() as f64).sqrt()
            && drift.abs() < 0.5 * zero.abs() + 0.2
            && scatter < zero.abs().max(3.0);
        // The drift may go on as far again before and after what was looked at.
        is_clear.then(|| {
            (
                zero,
                rectangular(drift).hypot(scatter / (dark.len() as f64).sqrt()),
            )
        })
    }

    /// The lowest and highest value of a channel if values stop there again and again, as at the limit of a sensor.
    pub(super) fn limits(values: &[f64]) -> (Option<f64>, Option<f64>) {
        let find = |sign: f64| {
            let most = quantile(values.iter().map(|value| sign * value), 1.0)?;
            let is_most = |value: &f64| sign * value == most;
            let (mut at, mut in_a_row, mut still, mut moving) = (0usize, 0usize, 0usize, 0usize);
            for pair in values.windows(2) {
                at += usize::from(is_most(&pair[1]));
                in_a_row += usize::from(is_most(&pair[0]) && is_most(&pair[1]));
                if !is_most(&pair[1]) && pair[1].abs() > 0.3 * most.abs() {
                    still += usize::from(pair[0] == pair[1]);
                    moving += 1;
                }
            }
            // A lively signal comes to its highest value once; a clipped one again and again, and stays.
            let lively = moving >= 50 && still * 5 < moving;
            (most.abs() > 5.0 && lively && at >= 20 && in_a_row * 3 > at).then_some(sign * most)
        };
        (find(-1.0), find(1.0))
    }

    /// How often rows with the arc on repeat the row before.
    pub(super) fn habit(&self) -> Habit {
        let Some(burning) = self.burning() else {
            return Habit::default();
        };
        let mut habit = Habit::default();
        let mut before = None;
        let (mut run, mut longest) = (0, 0);
        for row in self.rows() {
            if row.1.abs() < burning {
                before = None;
                continue;
            }
            habit.rows += 1;
            let repeats = before == Some(row);
            habit.repeated += u64::from(repeats);
            run = if repeats { run + 1 } else { 0 };
            longest = longest.max(run);
            before = Some(row);
        }
        // The longest run may be the very one in question.
        Habit {
            rows: habit.rows - longest,
            repeated: habit.repeated - longest,
        }
    }
}
