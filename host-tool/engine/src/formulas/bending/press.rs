//! Pressing a bar between two blocks: force, travel and permanent bow.

use super::profile::{BENDING, GAUSS};
use super::state::{Bar, root};
use coldsquare_core::formula::{Allowed, FormulaError};

/// A bar on two blocks, pushed half-way between them at one place or at two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Press {
    /// Distance between the blocks, mm.
    pub span_mm: f64,
    /// Distance between two places where it is pushed, or length of the packing under one, mm. The moment is constant over
    /// this length. With 0, a bar without hardening forms a single kink and no permanent bow can be set.
    pub apart_mm: f64,
    /// Length of the whole bar, over which its bow was measured, mm; at least the span. The ends beyond the blocks stay
    /// straight.
    pub length_mm: f64,
}

/// The result of pressing a straight bar without residual stress.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pressed {
    /// Force of the press, both places together, N.
    pub force_n: f64,
    /// How far the middle moves relative to the blocks, mm.
    pub travel_mm: f64,
    /// Permanent bow between the blocks, mm.
    pub kept_over_span_mm: f64,
    /// Permanent bow over the whole bar, mm.
    pub kept_over_length_mm: f64,
    /// Greatest fibre strain.
    pub strain: f64,
}

/// One push of several, each followed by a measurement.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Step {
    /// How far to push the middle from where it is now, relative to the blocks, mm.
    pub travel_mm: f64,
    /// How far that goes past the straight line between the blocks, mm.
    pub past_straight_mm: f64,
    /// Force at the end of the push, N.
    pub force_n: f64,
    /// Expected remaining bow over the whole length, mm.
    pub left_mm: f64,
    /// Greatest fibre strain so far, from all pushes together.
    pub strain: f64,
}

/// The greatest curvature at the middle, as a multiple of that at first yield.
const MAX_TIMES_YIELD: f64 = 60.0;

impl Press {
    /// The same press, if its distances are in range.
    ///
    /// # Errors
    /// [`FormulaError`] when a distance is out of range.
    pub fn checked(self) -> Result<Self, FormulaError> {
        BENDING.require("span", self.span_mm, "mm", Allowed::Between(10.0, 20_000.0))?;
        BENDING.require(
            "length",
            self.length_mm,
            "mm",
            Allowed::Between(self.span_mm, 100_000.0),
        )?;
        BENDING.require(
            "distance of the places pushed",
            self.apart_mm,
            "mm",
            Allowed::Between(0.0, 0.9 * self.span_mm),
        )?;
        Ok(self)
    }

    /// The result of bending the middle to this curvature (1/mm), by virtual work over both halves.
    #[must_use]
    pub fn at_curvature(&self, bar: &Bar, middle_per_mm: f64) -> Pressed {
        if middle_per_mm <= 0.0 {
            return Pressed::default();
        }
        let moment = bar.moment_n_mm(middle_per_mm);
        // The moment rises in proportion from a block to the nearer push, and is constant between the pushes.
        let arm = 0.5 * (self.span_mm - self.apart_mm);
        let overhang = 0.5 * (self.length_mm - self.span_mm);
        let (stiffness, yields) = (bar.stiffness_n_mm2(), bar.yield_moment_n_mm().min(moment));
        let stays = middle_per_mm - moment / stiffness;
        // Where the moment is M the distance from the block is arm · M / moment. With the curvature as the variable,
        // ∫ κ_res x dx and ∫ κ_res dx become integrals of M and M² from first yield to the middle, by parts.
        let [of_moment, of_square] = integrals(bar, middle_per_mm);
        let turn = arm
            * (stays - of_moment / moment
                + (moment * moment - yields * yields) / (2.0 * stiffness * moment));
        let kept = 0.5
            * arm
            * arm
            * (stays - of_square / (moment * moment)
                + (moment - yields * yields * yields / (moment * moment)) / (3.0 * stiffness));
        let loaded = kept + moment * arm * arm / (3.0 * stiffness);
        let kept_length = kept + overhang * turn;
        // Between the pushes the curvature is constant; the unit moment rises on to the middle.
        let even = 0.5 * self.apart_mm;
        let mean_arm = arm + 0.5 * even;
        Pressed {
            force_n: 2.0 * moment / arm,
            travel_mm: loaded + middle_per_mm * even * mean_arm,
            kept_over_span_mm: kept + stays * even * mean_arm,
            kept_over_length_mm: kept_length + stays * even * (mean_arm + overhang),
            strain: bar.strain(middle_per_mm),
        }
    }

    /// How far to press for this permanent bow over the whole length (mm, 0 or more), or for the most that can be reached.
    #[must_use]
    pub fn for_kept(&self, bar: &Bar, kept_mm: f64) -> Pressed {
        if kept_mm <= 0.0 {
            return Pressed::default();
        }
        let first = bar.yield_curvature_per_mm();
        let (mut low, mut high) = (first, 1.5 * first);
        while self.at_curvature(bar, high).kept_over_length_mm < kept_mm
            && high < MAX_TIMES_YIELD * first
        {
            low = high;
            high *= 1.5;
        }
        let curvature = root(low, high, |middle| {
            self.at_curvature(bar, middle).kept_over_length_mm / kept_mm - 1.0
        });
        self.at_curvature(bar, curvature)
    }
}

/// ∫ M dκ and ∫ M² dκ from first yield to a curvature; zero below first yield. The moment approaches a limit, so the
/// logarithm of the curvature is the better variable.
fn integrals(bar: &Bar, to_per_mm: f64) -> [f64; 2] {
    let first = bar.yield_curvature_per_mm();
    if to_per_mm <= first {
        return [0.0; 2];
    }
    let half = 0.5 * libm::log(to_per_mm / first);
    let mut sums = [0.0; 2];
    for &(x, weight) in &GAUSS {
        for x in [-x, x] {
            let curvature = first * libm::exp(half * (1.0 + x));
            let moment = bar.moment_n_mm(curvature);
            let share = weight * half * curvature;
            sums = [sums[0] + share * moment, sums[1] + share * moment * moment];
        }
    }
    sums
}
