//! Straightening over blocks in steps, each told from what the ones before have shown.

use super::bar::with_yield;
use crate::formulas::bending::{Bar, Press, Step};
use coldsquare_core::formula::FormulaError;

/// The first push reckons with metal this much weaker than its grade says, so that it does not go too far: real yield
/// of mild steel differs from the grade by this and more, mostly upwards. Common practice, no source.
pub const WEAKEST: f64 = 0.85;

/// By how much it is taken as stronger after a push that left nothing.
const STRONGER: f64 = 1.15;

/// How springy a pressed bar may be for three pushes to do. Ours: found by bending invented bars.
pub const SPRINGY: f64 = 2.5;

/// How far a bar springs before it yields, in units of what has to stay between the blocks for this bow over the whole
/// length. The springier, the less is known of where yielding begins compared with what has to stay, and the less a push
/// tells of the next.
#[must_use]
pub fn springiness(bar: &Bar, press: &Press, bow_mm: f64) -> f64 {
    springs_per_mm2(bar) * press.span_mm * press.length_mm / bow_mm.max(1e-6)
}

/// Distance of the blocks for this bow over the whole length, mm: nine tenths of the length, closer where the bar would be
/// too springy, and no closer than a fifth or eight depths.
#[must_use]
pub fn usual_span_mm(bar: &Bar, length_mm: f64, bow_mm: f64) -> f64 {
    let (low, high) = bar.profile().edges_mm();
    let most = 0.9 * length_mm;
    let least = (length_mm / 5.0).max(8.0 * (high - low)).min(most);
    let springy = 0.8 * SPRINGY * bow_mm.max(0.0) / (springs_per_mm2(bar) * length_mm);
    springy.clamp(least, most)
}

/// Travel at first yield for each square of the span: pushed at its thirds, the middle goes 23/216 of curvature times
/// span squared (beam tables of any handbook).
fn springs_per_mm2(bar: &Bar) -> f64 {
    23.0 / 216.0 * bar.yield_curvature_per_mm()
}

/// The next push, and what the earlier ones have taught.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Next {
    /// Number of this push, from 1.
    pub number: usize,
    /// The push.
    pub step: Step,
    /// The yield it reckons with, MPa.
    pub yield_mpa: f64,
}

/// The next push on a bar that stood bowed by `bows_mm` (before the first push, after the first, …; over the whole
/// length, the side it first bowed to positive), where each push was done as this function told it. `None` without a
/// bow, or when the last push went beyond straight.
///
/// # Errors
/// [`FormulaError`] when a distance is out of range.
pub fn next(bar: &Bar, press: &Press, bows_mm: &[f64]) -> Result<Option<Next>, FormulaError> {
    let press = press.checked()?;
    let grade_mpa = bar.metal().yield_mpa;
    let Some((&before, after)) = bows_mm.split_first() else {
        return Ok(None);
    };
    let mut yield_mpa = WEAKEST * grade_mpa;
    let mut now = before;
    for &left in after {
        let trial = with_yield(bar, yield_mpa)?;
        let told = press.step(&trial, before, now, 0.0);
        let kept_in_span = press.for_kept(&trial, before - now).kept_over_span_mm;
        let travel = told.travel_mm + kept_in_span;
        yield_mpa = press.yield_learned(bar, travel, before - left)?.unwrap_or(
            if before - left > 0.05 * before {
                yield_mpa
            } else {
                yield_mpa * STRONGER
            },
        );
        now = left;
    }
    if now <= 0.0 {
        return Ok(None);
    }
    Ok(Some(Next {
        number: bows_mm.len(),
        step: press.step(&with_yield(bar, yield_mpa)?, before, now, 0.0),
        yield_mpa,
    }))
}
