//! Duty cycle: how long a power source may weld in any ten minutes, and how much of that a build uses.
//!
//! Source: EN IEC 60974-1 (ten-minute cycle at 40 °C ambient). Between rated points the losses count as I²R, the rule of
//! power-source manuals: X₂ = X₁·(I₁/I₂)². It holds near the rated points; far from them the rating plate and the
//! machine's thermostat decide.
//!
//! ```
//! use coldsquare_core::units::Amperes;
//! use coldsquare_engine::formulas::duty::{DutyWindow, Rating};
//!
//! // 160 A at 35 %.
//! let rating = Rating::new(Amperes(160.0), 0.35)?;
//! let mut window = DutyWindow::default();
//! window.weld(210_000, Amperes(160.0))?;
//! assert!((window.share_of(rating) - 1.0).abs() < 1e-9);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

use coldsquare_core::formula::{Allowed, Formula, FormulaError};
use coldsquare_core::units::{Amperes, Seconds};

const DUTY_CYCLE: Formula = Formula {
    name: "duty cycle",
    clause: "EN IEC 60974-1, ten-minute cycle",
};

/// The cycle over which duty is counted.
pub const CYCLE: Seconds = Seconds(600.0);

/// A rated point of a power source, as its plate gives it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rating {
    current_a: f64,
    duty: f64,
}

impl Rating {
    /// From the rated current, 1 to 3000 A, and the duty cycle at it, a fraction over 0 up to 1.
    ///
    /// # Errors
    /// [`FormulaError`] when a value is out of its range.
    pub fn new(current: Amperes, duty: f64) -> Result<Self, FormulaError> {
        Ok(Self {
            current_a: checked_current(current)?,
            duty: checked_duty(duty)?,
        })
    }

    /// Fraction of ten minutes at this current: X₂ = X₁·(I₁/I₂)², at most 1.
    ///
    /// # Errors
    /// [`FormulaError`] when the current is not 1 to 3000 A.
    pub fn duty_at(self, current: Amperes) -> Result<f64, FormulaError> {
        let ratio = self.current_a / checked_current(current)?;
        Ok((self.duty * ratio * ratio).min(1.0))
    }

    /// Ampere-squared seconds in ten minutes at the rated point.
    fn squared_allowance(self) -> f64 {
        self.current_a * self.current_a * self.duty * CYCLE.0
    }
}

fn checked_current(current: Amperes) -> Result<f64, FormulaError> {
    DUTY_CYCLE.require("current", current.0, "A", Allowed::Between(1.0, 3000.0))
}

/// The lower limit is below any rating plate, and keeps X₁/X₂ finite.
fn checked_duty(duty: f64) -> Result<f64, FormulaError> {
    DUTY_CYCLE.require("duty cycle", duty, "", Allowed::Between(1e-6, 1.0))
}

const SLICE_MS: u64 = 10_000;
/// The slices of ten minutes, plus the one being filled.
const SLICES: usize = 61;

#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Slice {
    arc_ms: u64,
    squared_a2s: f64,
}

/// Arc time and ampere-squared seconds of the last ten minutes, in slices of ten seconds.
///
/// It counts whole slices: never less than the last ten minutes and at most one slice of ten seconds more, 1.7 % of the
/// cycle on the safe side.
#[derive(Clone, Debug, PartialEq)]
pub struct DutyWindow {
    slices: [Slice; SLICES],
    current: usize,
    /// Time already in the current slice, less than [`SLICE_MS`].
    filled_ms: u64,
}

impl Default for DutyWindow {
    fn default() -> Self {
        Self {
            slices: [Slice::default(); SLICES],
            current: 0,
            filled_ms: 0,
        }
    }
}

impl DutyWindow {
    /// Adds `duration_ms` with the arc off.
    pub fn rest(&mut self, duration_ms: u64) {
        self.advance(duration_ms, None);
    }

    /// Adds `duration_ms` with the arc burning at an RMS current.
    ///
    /// # Errors
    /// [`FormulaError`], and nothing is added, when the current is not 0 to 3000 A.
    pub fn weld(&mut self, duration_ms: u64, rms_current: Amperes) -> Result<(), FormulaError> {
        let current = DUTY_CYCLE.require(
            "RMS current",
            rms_current.0,
            "A",
            Allowed::Between(0.0, 3000.0),
        )?;
        self.advance(duration_ms, Some(current));
        Ok(())
    }

    /// Fraction of the last ten minutes in which the arc burned, 0 to 1.
    #[must_use]
    pub fn arc_fraction(&self) -> f64 {
        let arc_ms: u64 = self.slices.iter().map(|slice| slice.arc_ms).sum();
        (arc_ms as f64 / (CYCLE.0 * 1000.0)).min(1.0)
    }

    /// Σ I²·t of the last ten minutes over what the rating allows; above 1 the source will overheat.
    #[must_use]
    pub fn share_of(&self, rating: Rating) -> f64 {
        let squared: f64 = self.slices.iter().map(|slice| slice.squared_a2s).sum();
        squared / rating.squared_allowance()
    }

    fn advance(&mut self, duration_ms: u64, current_a: Option<f64>) {
        // Anything older than the window drops out, so a long time takes no more work than ten minutes.
        let mut left = duration_ms.min(SLICE_MS * SLICES as u64);
        while left > 0 {
            let step = left.min(SLICE_MS - self.filled_ms);
            if let (Some(current), Some(slice)) = (current_a, self.slices.get_mut(self.current)) {
                slice.arc_ms += step;
                slice.squared_a2s += current * current * step as f64 / 1000.0;
            }
            left -= step;
            self.filled_ms += step;
            if self.filled_ms == SLICE_MS {
                self.begin_slice();
            }
        }
    }

    fn begin_slice(&mut self) {
        self.current = (self.current + 1) % SLICES;
        self.filled_ms = 0;
        if let Some(slice) = self.slices.get_mut(self.current) {
            *slice = Slice::default();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::num::f64::ANY;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_input_gives_a_sound_result_or_an_error(
            current in ANY, duty in ANY, other in ANY, ms in any::<u64>(),
        ) {
            if let Ok(rating) = Rating::new(Amperes(current), duty)
                && let Ok(duty) = rating.duty_at(Amperes(other))
            {
                prop_assert!(duty > 0.0 && duty <= 1.0);
            }
            let mut window = DutyWindow::default();
            let _ = window.weld(ms, Amperes(current));
            window.rest(ms);
            window.rest(ms);
            prop_assert!((0.0..=1.0).contains(&window.arc_fraction()));
        }
    }
}
