//! A bar bent at several places in a row, so that it takes an even bow and not one kink.

use super::press::{Press, Pressed};
use super::profile::BENDING;
use super::state::{Bar, root};
use coldsquare_core::formula::{Allowed, FormulaError};

/// A straight bar pressed alike at an odd number of places, each in the middle of an equal part of its length, between
/// blocks that move along with the press.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The press at each place, and the length of the bar.
    pub press: Press,
    /// Where: from the start of the bar, mm.
    pub places_mm: Vec<f64>,
    /// What each press does; its `kept_over_length_mm` is what that in the middle leaves by itself.
    pub pressed: Pressed,
    /// Permanent bend of each, rad.
    pub bend_rad: f64,
}

/// Share of its part of the length that the blocks at a place are apart.
const SPAN_OF_PART: f64 = 0.9;
/// The greatest curvature under a press, as a multiple of that at first yield.
const MAX_TIMES_YIELD: f64 = 60.0;

impl Row {
    /// Where to press a bar of a length (mm) at `count` places; `packing_mm` is the least distance between the two places
    /// of a press.
    ///
    /// # Errors
    /// [`FormulaError`] when a distance is out of range.
    pub fn press_at(length_mm: f64, count: usize, packing_mm: f64) -> Result<Press, FormulaError> {
        BENDING.require(
            "number of places",
            count as f64,
            "",
            Allowed::Between(1.0, 99.0),
        )?;
        let span_mm = SPAN_OF_PART * length_mm / count as f64;
        Press {
            span_mm,
            apart_mm: (span_mm / 3.0).max(packing_mm.min(0.9 * span_mm)),
            length_mm,
        }
        .checked()
    }

    /// How far to press at each of `count` places (an odd number) for this bow over the whole length (mm, more than 0), or
    /// for the most that can be reached.
    ///
    /// A bend of θ at x from the nearer end moves the middle by θ·x/2; the bend in the middle is spread, as
    /// [`Press::at_curvature`] has it.
    ///
    /// # Errors
    /// [`FormulaError`] when a distance is out of range.
    pub fn for_bow(
        bar: &Bar,
        press: Press,
        count: usize,
        bow_mm: f64,
    ) -> Result<Self, FormulaError> {
        let press = press.checked()?;
        let length = press.length_mm;
        let part = length / count as f64;
        let places_mm: Vec<f64> = (0..count).map(|k| (k as f64 + 0.5) * part).collect();
        let middle = count / 2;
        let beside: f64 = places_mm
            .iter()
            .enumerate()
            .filter(|(k, _)| *k != middle)
            .map(|(_, at)| 0.5 * at.min(length - at))
            .sum();
        let overhang = 0.5 * (length - press.span_mm);
        let at = |curvature: f64| {
            let pressed = press.at_curvature(bar, curvature);
            let bend = if overhang > 0.0 {
                2.0 * (pressed.kept_over_length_mm - pressed.kept_over_span_mm) / overhang
            } else {
                0.0
            };
            (pressed, bend)
        };
        let bow = |curvature: f64| {
            let (pressed, bend) = at(curvature);
            pressed.kept_over_length_mm + bend * beside
        };
        let first = bar.yield_curvature_per_mm();
        let (mut low, mut high) = (first, 1.2 * first);
        while bow(high) < bow_mm && high < MAX_TIMES_YIELD * first {
            low = high;
            high *= 1.5;
        }
        let (pressed, bend_rad) = at(root(low, high, |curvature| bow(curvature) / bow_mm - 1.0));
        Ok(Self {
            press,
            places_mm,
            pressed,
            bend_rad,
        })
    }

    /// How far the bar stands off the line between its ends at each place, mm.
    #[must_use]
    pub fn heights_mm(&self) -> Vec<f64> {
        let length = self.press.length_mm;
        // What a bend spread between the blocks stays below the point of a sharp one.
        let rounded = self.bend_rad * self.press.span_mm / 4.0 - self.pressed.kept_over_span_mm;
        let height = |&at: &f64| {
            let of_one = |&bend: &f64| {
                let (low, high) = (at.min(bend), at.max(bend));
                self.bend_rad * low * (length - high) / length
            };
            self.places_mm.iter().map(of_one).sum::<f64>() - rounded
        };
        self.places_mm.iter().map(height).collect()
    }
}
