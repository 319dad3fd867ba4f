//! Bending a bar straight over blocks in steps, each calculated from the result of the steps before.

use super::press_curve::PressCurve;
use crate::formulas::bending::{Bar, Press, Step};

/// Yield assumed for the first push as a share of the grade's, so that it does not go too far: the real yield of mild
/// steel differs from the grade by this and more, mostly upwards. Common practice, no source.
pub const MIN_YIELD_RATIO: f64 = 0.85;

/// Share of the bow that the first press of a member in a frame takes out. Beside thin walls as they are, a frame of tube keeps
/// up to four fifths more at the same travel than its beams say (`tests/evidence/pressed_frame.rs`), and a press that goes past
/// straight is the worse mistake. The next press goes by what this one left.
pub const FIRST_SHARE_IN_FRAME: f64 = 0.5;

/// Factor on the assumed yield after a push without effect.
const YIELD_STEP: f64 = 1.15;

/// Springiness up to which three pushes are enough. Our own: found by bending simulated bars.
pub const MAX_SPRINGINESS: f64 = 2.5;

/// How far a bar springs before it yields, over the permanent bend between the blocks that takes out this bow of the whole
/// length. In a springy bar the start of yielding is uncertain compared with the bend that must stay, and one push tells
/// little about the next.
#[must_use]
pub fn springiness(bar: &Bar, press: &Press, bow_mm: f64) -> f64 {
    springs_per_mm2(bar) * press.span_mm * press.length_mm / bow_mm.max(1e-6)
}

/// Distance between the blocks for this bow over the whole length, mm: nine tenths of the length, less if the bar would be
/// too springy, but no less than a fifth of it or eight depths.
#[must_use]
pub fn usual_span_mm(bar: &Bar, length_mm: f64, bow_mm: f64) -> f64 {
    let (low, high) = bar.profile().edges_mm();
    let max = 0.9 * length_mm;
    let min = (length_mm / 5.0).max(8.0 * (high - low)).min(max);
    let springy = 0.8 * MAX_SPRINGINESS * bow_mm.max(0.0) / (springs_per_mm2(bar) * length_mm);
    springy.clamp(min, max)
}

/// Travel at first yield over the square of the span: pressed at the thirds, the middle moves 23/216 of curvature times span
/// squared (beam tables of any handbook).
fn springs_per_mm2(bar: &Bar) -> f64 {
    23.0 / 216.0 * bar.yield_curvature_per_mm()
}

/// The next press.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Next {
    /// Number of this press, from 1.
    pub number: usize,
    /// The press.
    pub step: Step,
    /// The yield assumed for it, as a multiple of the grade's.
    pub yield_ratio: f64,
}

/// The next press on a bar with the bows `bows_mm` (before the first press, after the first and so on; over the whole length,
/// positive to the side it first bowed to), if each press was done as this function gave it with the same `aim_mm`, the bow
/// that is to be left. The first press takes out `first_share` of what is to go. `None` without a bow, or when the last
/// press went past the aim.
#[must_use]
pub fn next(curve: &PressCurve, bows_mm: &[f64], aim_mm: f64, first_share: f64) -> Option<Next> {
    let (&before, after) = bows_mm.split_first()?;
    let aim_of = |press: usize| match press {
        0 => before - first_share * (before - aim_mm),
        _ => aim_mm,
    };
    let mut yield_ratio = MIN_YIELD_RATIO;
    let mut now = before;
    for (press, &left) in after.iter().enumerate() {
        let step = curve.step(yield_ratio, before, now, aim_of(press));
        let kept_in_span = curve.for_kept(yield_ratio, before - now).kept_over_span_mm;
        let travel = step.travel_mm + kept_in_span;
        let learned = curve.yield_learned(travel, before - left);
        yield_ratio = learned.unwrap_or(if before - left > 0.05 * before {
            yield_ratio
        } else {
            yield_ratio * YIELD_STEP
        });
        now = left;
    }
    (now > aim_mm).then(|| Next {
        number: bows_mm.len(),
        step: curve.step(yield_ratio, before, now, aim_of(after.len())),
        yield_ratio,
    })
}
