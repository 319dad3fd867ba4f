//! Straightening over blocks in steps, each told from what the ones before have shown.

use super::bar::with_yield;
use coldsquare_core::bending::{Bar, Press, Step};
use coldsquare_core::formula::FormulaError;

/// The first push reckons with metal this much weaker than its grade says, so that it does not go too far: real yield
/// of mild steel differs from the grade by this and more, mostly upwards. Common practice, no source.
pub const WEAKEST: f64 = 0.85;

/// By how much it is taken as stronger after a push that left nothing.
const STRONGER: f64 = 1.15;

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
