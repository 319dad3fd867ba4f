//! Pressing a bar between two blocks: force, travel, and the bow that stays.

use super::profile::{BENDING, GAUSS};
use super::state::{Bar, root};
use coldsquare_core::formula::{Allowed, FormulaError};

/// A bar on two blocks, pushed half-way between them at one place or at two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Press {
    /// Distance between the blocks, mm.
    pub span_mm: f64,
    /// Distance between two places where it is pushed, or length of the packing under one, mm. Over so much the moment
    /// is even. With nothing, a bar that does not harden kinks in one place and no bow can be asked of it.
    pub apart_mm: f64,
    /// Length of the whole bar, over which its bow was measured; at least the span. The ends beyond the blocks stay
    /// straight and move along.
    pub length_mm: f64,
}

/// What pressing does to a bar that was straight and without stress.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pressed {
    /// Force of the press, both places together, N.
    pub force_n: f64,
    /// How far the middle goes against the blocks, mm.
    pub travel_mm: f64,
    /// How much of it stays between the blocks, mm.
    pub kept_over_span_mm: f64,
    /// What stays at the middle against the ends of the whole bar, mm.
    pub kept_over_length_mm: f64,
    /// Greatest strain of a fibre.
    pub strain: f64,
}

/// One push of several, each followed by a measurement.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Step {
    /// How far the middle is to be pushed from where it stands now, against the blocks, mm.
    pub travel_mm: f64,
    /// How far that is beyond a straight line between the blocks, mm.
    pub past_straight_mm: f64,
    /// Force at the end of the push, N.
    pub force_n: f64,
    /// Bow that is expected to be left over the whole length, mm.
    pub left_mm: f64,
    /// Greatest strain of a fibre so far, from all pushes together.
    pub strain: f64,
}

/// Most that the middle is bent beyond first yield.
const MOST_TIMES_YIELD: f64 = 60.0;

impl Press {
    /// The same, if it can be.
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

    /// What bending the middle to this curvature (1/mm) does, by virtual work over both halves.
    #[must_use]
    pub fn at_curvature(&self, bar: &Bar, middle_per_mm: f64) -> Pressed {
        if middle_per_mm <= 0.0 {
            return Pressed::default();
        }
        let moment = bar.moment_n_mm(middle_per_mm);
        // From a block to the nearer place that is pushed the moment rises in proportion; between places it stays.
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
        // Between the places the curvature is even; there the unit moment goes on rising to the middle.
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

    /// How far to press so that this bow stays over the whole length (mm, 0 or more). What cannot be reached gives the
    /// most that can.
    #[must_use]
    pub fn for_kept(&self, bar: &Bar, kept_mm: f64) -> Pressed {
        if kept_mm <= 0.0 {
            return Pressed::default();
        }
        let first = bar.yield_curvature_per_mm();
        let (mut low, mut high) = (first, 1.5 * first);
        while self.at_curvature(bar, high).kept_over_length_mm < kept_mm
            && high < MOST_TIMES_YIELD * first
        {
            low = high;
            high *= 1.5;
        }
        let curvature = root(low, high, |middle| {
            self.at_curvature(bar, middle).kept_over_length_mm / kept_mm - 1.0
        });
        self.at_curvature(bar, curvature)
    }

    /// The next push on a bar that was bowed `before_mm` at first, stands at `now_mm` after earlier pushes, and is to
    /// come to `aim_mm`; all over the whole length, the bow taken as even.
    ///
    /// Pushing again in the same direction is elastic up to where the last push ended and goes on from there as if it
    /// had never been let go, so the push is that of the sum, less what stayed already.
    #[must_use]
    pub fn step(&self, bar: &Bar, before_mm: f64, now_mm: f64, aim_mm: f64) -> Step {
        let wanted = before_mm - aim_mm;
        let already = (before_mm - now_mm).max(0.0);
        let all = self.for_kept(bar, wanted.max(0.0));
        let so_far = self.for_kept(bar, already);
        let share = self.span_mm / self.length_mm;
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

    /// The yield that explains what stayed after the middle was pushed this far in all (`travel_mm` of the sum, as
    /// [`Pressed::travel_mm`]), within 0.6 to 1.6 times that of the bar; `None` when no yield in this range does.
    ///
    /// # Errors
    /// [`FormulaError`] when a distance is out of range.
    pub fn yield_learned(
        &self,
        bar: &Bar,
        travel_mm: f64,
        kept_mm: f64,
    ) -> Result<Option<f64>, FormulaError> {
        let metal = bar.metal();
        let kept_at = |times: f64| -> Result<f64, FormulaError> {
            let yield_mpa = metal.yield_mpa * times;
            let trial = Bar::new(*bar.profile(), super::BarMetal { yield_mpa, ..metal })?;
            Ok(self.for_travel(&trial, travel_mm).kept_over_length_mm)
        };
        // A higher yield keeps less.
        if kept_at(0.6)? < kept_mm || kept_at(1.6)? > kept_mm {
            return Ok(None);
        }
        let times = root(0.6, 1.6, |times| {
            kept_mm - kept_at(times).unwrap_or(kept_mm)
        });
        Ok(Some(metal.yield_mpa * times))
    }

    /// What pushing the middle this far against the blocks does, mm.
    #[must_use]
    pub fn for_travel(&self, bar: &Bar, travel_mm: f64) -> Pressed {
        let most = MOST_TIMES_YIELD * bar.yield_curvature_per_mm();
        let curvature = root(0.0, most, |middle| {
            self.at_curvature(bar, middle).travel_mm - travel_mm
        });
        self.at_curvature(bar, curvature)
    }
}

/// ∫ M dκ and ∫ M² dκ from first yield to a curvature; nothing below first yield. The moment runs into its limit, so
/// the logarithm of the curvature is the better variable.
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
