//! What a press does, from first yield on: a bar alone on two blocks, or a member of a frame.

use crate::formulas::bending::{Bar, Press, Pressed, Step};

/// Force, travel and permanent bow of a press that goes deeper and deeper.
///
/// The stress beyond yield rises in proportion to the yield stress, so a curve serves every yield: with a yield `r` times as
/// high, everything is `r` times as far along.
#[derive(Clone, Debug)]
pub struct PressCurve {
    /// Where it is supported and pressed.
    press: Press,
    /// Ascending; the first is at first yield.
    points: Vec<Pressed>,
}

/// Curvatures of the middle that a curve of a bar alone is made at, as multiples of first yield.
const STEPS: usize = 160;
const MAX_TIMES_YIELD: f64 = 60.0;
/// Range of the yield stress that explains what a press left, as multiples of the grade's.
const YIELD_RATIOS: [f64; 2] = [0.6, 1.6];

impl PressCurve {
    /// A bar alone on two blocks.
    #[must_use]
    pub fn of_bar(bar: &Bar, press: Press) -> Self {
        let at = |k: usize| {
            let times = libm::pow(MAX_TIMES_YIELD, k as f64 / STEPS as f64);
            press.at_curvature(bar, times * bar.yield_curvature_per_mm())
        };
        Self::new(press, (0..=STEPS).map(at).collect())
    }

    /// From its points, the first at first yield; those that do not rise end it.
    #[must_use]
    pub fn new(press: Press, mut points: Vec<Pressed>) -> Self {
        let rises = |pair: &[Pressed]| {
            pair[1].travel_mm > pair[0].travel_mm
                && pair[1].kept_over_length_mm > pair[0].kept_over_length_mm
        };
        let end = points.windows(2).position(|pair| !rises(pair));
        points.truncate(end.map_or(points.len(), |last| last + 1));
        Self { press, points }
    }

    /// Where it is supported and pressed.
    #[must_use]
    pub const fn press(&self) -> Press {
        self.press
    }

    /// Its points: force, travel and what stays, for the yield of the grade.
    #[must_use]
    pub fn points(&self) -> &[Pressed] {
        &self.points
    }

    /// The most permanent bow that it reaches, mm, with a yield so many times the grade's.
    #[must_use]
    pub fn greatest_kept_mm(&self, yield_ratio: f64) -> f64 {
        yield_ratio
            * self
                .points
                .last()
                .map_or(0.0, |last| last.kept_over_length_mm)
    }

    /// The press that leaves this permanent bow over the whole length (mm, 0 or more), or the deepest of the curve.
    #[must_use]
    pub fn for_kept(&self, yield_ratio: f64, kept_mm: f64) -> Pressed {
        if kept_mm <= 0.0 {
            return Pressed::default();
        }
        self.where_is(yield_ratio, kept_mm, |point| point.kept_over_length_mm)
    }

    /// The press that goes this far, mm, or the deepest of the curve.
    #[must_use]
    pub fn for_travel(&self, yield_ratio: f64, travel_mm: f64) -> Pressed {
        self.where_is(yield_ratio, travel_mm, |point| point.travel_mm)
    }

    fn where_is(&self, yield_ratio: f64, wanted: f64, of: impl Fn(&Pressed) -> f64) -> Pressed {
        let wanted = wanted / yield_ratio;
        let Some(first) = self.points.first() else {
            return Pressed::default();
        };
        let (before, after) = match self.points.iter().position(|point| of(point) > wanted) {
            // Elastic up to first yield.
            Some(0) => (Pressed::default(), *first),
            Some(k) => (self.points[k - 1], self.points[k]),
            None => {
                let last = self.points[self.points.len() - 1];
                return blend(yield_ratio, last, last, 0.0);
            }
        };
        let rise = of(&after) - of(&before);
        let part = if rise > 0.0 {
            (wanted - of(&before)) / rise
        } else {
            0.0
        };
        blend(yield_ratio, before, after, part)
    }

    /// The next press on a member with an initial bow `before_mm`, a bow `now_mm` after earlier presses and a target
    /// `aim_mm`, all over the whole length, with an even bow.
    ///
    /// Pressing again in the same direction is elastic up to where the last press ended, and continues from there as if it
    /// had never been released. So the press is that of the total, less the permanent bow so far.
    #[must_use]
    pub fn step(&self, yield_ratio: f64, before_mm: f64, now_mm: f64, aim_mm: f64) -> Step {
        let wanted = before_mm - aim_mm;
        let already = (before_mm - now_mm).max(0.0);
        let all = self.for_kept(yield_ratio, wanted.max(0.0));
        let so_far = self.for_kept(yield_ratio, already);
        let share = self.press.span_mm / self.press.length_mm;
        let in_span = before_mm * share * share - so_far.kept_over_span_mm;
        let travel_mm = (all.travel_mm - so_far.kept_over_span_mm).max(0.0);
        Step {
            travel_mm,
            past_straight_mm: travel_mm - in_span,
            force_n: all.force_n,
            left_mm: before_mm - all.kept_over_length_mm,
            strain: all.strain,
        }
    }

    /// The yield, as a multiple of the grade's, that explains the permanent bow after a press that went this far in total
    /// (as [`Pressed::travel_mm`]); `None` if none from 0.6 to 1.6 does.
    #[must_use]
    pub fn yield_learned(&self, travel_mm: f64, kept_mm: f64) -> Option<f64> {
        let [mut low, mut high] = YIELD_RATIOS;
        let kept = |ratio: f64| self.for_travel(ratio, travel_mm).kept_over_length_mm;
        // A higher yield leaves less.
        if kept(low) < kept_mm || kept(high) > kept_mm {
            return None;
        }
        for _ in 0..50 {
            let middle = f64::midpoint(low, high);
            if kept(middle) > kept_mm {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(f64::midpoint(low, high))
    }
}

/// A point part of the way from one to another, for a yield so many times the grade's.
fn blend(yield_ratio: f64, from: Pressed, to: Pressed, part: f64) -> Pressed {
    let one = |of: fn(&Pressed) -> f64| yield_ratio * (of(&from) + part * (of(&to) - of(&from)));
    Pressed {
        force_n: one(|p| p.force_n),
        travel_mm: one(|p| p.travel_mm),
        kept_over_span_mm: one(|p| p.kept_over_span_mm),
        kept_over_length_mm: one(|p| p.kept_over_length_mm),
        strain: one(|p| p.strain),
    }
}

#[cfg(test)]
mod tests {
    use super::PressCurve;
    use crate::formulas::bending::{Bar, BarMetal, Press, Profile};

    const PRESS: Press = Press {
        span_mm: 800.0,
        apart_mm: 60.0,
        length_mm: 1160.0,
    };

    fn tube(yield_mpa: f64) -> Bar {
        let steel = BarMetal {
            modulus_mpa: 210_000.0,
            yield_mpa,
            hardening: 0.01,
        };
        Bar::new(
            Profile::tube(40.0, 40.0, 3.0, [6.0, 3.0]).expect("a tube"),
            steel,
        )
        .expect("a bar")
    }

    #[test]
    fn a_step_goes_on_where_the_last_one_ended() {
        let curve = PressCurve::of_bar(&tube(235.0), PRESS);
        let first = curve.step(1.0, 4.0, 4.0, 1.0);
        let second = curve.step(1.0, 4.0, 1.0, 0.0);
        let at_once = curve.step(1.0, 4.0, 4.0, 0.0);
        assert!(
            (first.left_mm - 1.0).abs() < 1e-3 && second.left_mm.abs() < 1e-3,
            "{first:?} {second:?} {at_once:?}"
        );
        assert!(second.travel_mm < at_once.travel_mm && at_once.past_straight_mm > 0.0);
        assert!((second.force_n - at_once.force_n).abs() < 1e-6 * at_once.force_n);
    }

    #[test]
    fn the_yield_is_found_again_from_what_stayed() {
        let weaker = PRESS.for_kept(&tube(235.0), 3.0);
        let learned = PressCurve::of_bar(&tube(260.0), PRESS).yield_learned(weaker.travel_mm, 3.0);
        let ratio = learned.expect("in range");
        assert!((260.0 * ratio - 235.0).abs() < 0.5, "{ratio}");
    }

    /// One curve serves every yield: that of a stronger bar is the same, so much further along.
    #[test]
    fn a_stronger_bar_follows_the_same_curve() {
        let weak = PressCurve::of_bar(&tube(235.0), PRESS);
        for kept in [0.5, 2.0, 6.0] {
            let strong = PRESS.for_kept(&tube(329.0), kept);
            let told = weak.for_kept(1.4, kept);
            assert!(
                (told.travel_mm / strong.travel_mm - 1.0).abs() < 2e-3,
                "{told:?} {strong:?}"
            );
            assert!(
                (told.force_n / strong.force_n - 1.0).abs() < 2e-3,
                "{told:?} {strong:?}"
            );
        }
    }
}
