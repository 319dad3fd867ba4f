//! What the instrument did wrong, from the first part of a recording: zeros that are off, values at a limit, and how
//! often it repeats itself.

use super::evidence::quantile;
use super::still::Habit;
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
pub(super) const LEAST_ZERO_A: f64 = 0.5;
/// The same for volts, and what no power source holds without an arc: more is a voltage that is there.
const LEAST_ZERO_V: f64 = 0.25;
const MOST_ZERO_V: f64 = 6.0;
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
            .filter(|(volts, amps)| amps.abs() < burning && is_dark(*volts))
            .map(|(_, amps)| amps)
            .collect();
        clear_zero(&dark, LEAST_ZERO_A, 3.0)
    }

    /// The volts that are read with the power source off, and their standard uncertainty, V; `None` unless it is clear:
    /// there is no current, and the volts stand still near nought and not at it.
    pub(super) fn zero_v(&self) -> Option<(f64, f64)> {
        let burning = self.burning()?;
        let off: Vec<f64> = self
            .rows()
            .filter(|(volts, amps)| amps.abs() < burning && volts.abs() < MOST_ZERO_V)
            .map(|(volts, _)| volts)
            .collect();
        let (zero, standard) = clear_zero(&off, LEAST_ZERO_V, 0.0)?;
        (zero.abs() < 0.8 * MOST_ZERO_V).then_some((zero, standard))
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

    /// How often rows with the arc on repeat the row before: as pairs, and volts and amps alone.
    pub(super) fn habits(&self) -> (Habit, [Habit; 2]) {
        let Some(burning) = self.burning() else {
            return Default::default();
        };
        let rows = || {
            self.rows()
                .map(|row| (row.1.abs() >= burning).then_some(row))
        };
        (
            Habit::of(rows()),
            [
                Habit::of(rows().map(|row| row.map(|(volts, _)| volts))),
                Habit::of(rows().map(|row| row.map(|(_, amps)| amps))),
            ],
        )
    }
}

/// The level of values without an arc and its standard uncertainty, if it is one level and not nought. They may scatter
/// by as much as the zero itself, or by `scatter`.
fn clear_zero(values: &[f64], least: f64, scatter: f64) -> Option<(f64, f64)> {
    let middle = |values: &[f64]| quantile(values.iter().copied(), 0.5);
    let zero = middle(values)?;
    let [low, high] = [0.16, 0.84].map(|share| quantile(values.iter().copied(), share));
    let spread = (high? - low?) / 2.0;
    let (early, late) = values.split_at(values.len() / 2);
    let drift = middle(early)? - middle(late)?;
    let noise = spread / (values.len() as f64).sqrt();
    let is_clear = values.len() >= MIN_ROWS
        && zero.abs() >= least
        && zero.abs() > 3.0 * noise
        && drift.abs() < 0.5 * zero.abs() + 0.4 * least
        && spread < zero.abs().max(scatter);
    // The drift may go on as far again before and after what was looked at.
    is_clear.then(|| (zero, rectangular(drift).abs().hypot(noise)))
}

/// True for the volts of a power source without an arc.
pub(super) fn is_dark(volts: f64) -> bool {
    volts.abs() > OPEN_V || volts.abs() < OFF_V
}
