//! Heat that reaches a joint along the tube from welds on neighbouring joints.
//!
//! At a distance x along the tube the rise of a [`TubeJoint`] is multiplied by exp(−x²/(4at)) (Carslaw and Jaeger,
//! *Conduction of Heat in Solids*, 2nd ed. 1959, 10.3, from memory). It warms the joint most at about t = x²/(2a): for
//! 100 mm of steel after ten minutes. A joint in between conducts some of the heat into another tube; ignoring that is on
//! the safe side.

use super::{HeatPulse, INTERPASS, MAX_WAIT, TubeJoint};
use crate::formula::{Allowed, FormulaError};
use crate::units::{Celsius, Millimetres, Seconds};

/// A weld on the joint or on a neighbour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearby {
    /// The weld.
    pub pulse: HeatPulse,
    /// Distance along the tube from it to the joint, 0 for a weld on the joint itself, up to 100 m.
    pub away: Millimetres,
}

/// The shortest step of the search, s. Steps grow with the time: each is a twentieth of the time so far.
const MIN_STEP_S: f64 = 1.0;

impl TubeJoint {
    /// How long from `now`, with all these welds made, until the weld line is no hotter than the limit; zero if it is no
    /// hotter now. Heat from a neighbour may arrive later, when the joint has already been welded.
    ///
    /// # Errors
    /// As [`TubeJoint::wait_until_below`].
    pub fn wait_with_neighbours(
        &self,
        limit: Celsius,
        welds: &[Nearby],
        now: Seconds,
    ) -> Result<Seconds, FormulaError> {
        self.check_nearby(welds)?;
        INTERPASS.require("time", now.0, "s", Allowed::Between(-1e9, 1e9))?;
        INTERPASS.require(
            "interpass limit",
            limit.0,
            "°C",
            Allowed::Above(self.start.0),
        )?;
        let too_hot = |wait: f64| self.among_unchecked(welds, now.0 + wait) > limit.0;
        if !too_hot(0.0) {
            return Ok(Seconds(0.0));
        }
        let (mut hot, mut cool) = (0.0, MIN_STEP_S);
        while too_hot(cool) {
            if cool >= MAX_WAIT.0 {
                let reached = self.among_unchecked(welds, now.0 + cool);
                INTERPASS.require("interpass limit", limit.0, "°C", Allowed::AtLeast(reached))?;
            }
            hot = cool;
            cool = (cool + MIN_STEP_S.max(cool / 20.0)).min(MAX_WAIT.0);
        }
        for _ in 0..20 {
            let middle = 0.5 * (hot + cool);
            if too_hot(middle) {
                hot = middle;
            } else {
                cool = middle;
            }
        }
        Ok(Seconds(cool))
    }

    /// Temperature at the weld line at a time, °C, from all these welds. Until the heat of a weld has gone through the
    /// wall, the joint counts as hot as it is at that moment.
    fn among_unchecked(&self, welds: &[Nearby], at: f64) -> f64 {
        let diffusivity = self.metal.diffusivity_mm2_s();
        welds.iter().fold(self.start.0, |sum, weld| {
            let elapsed = (at - weld.pulse.ended.0).max(self.soak_time());
            let away = weld.away.0 * weld.away.0 / (4.0 * diffusivity * elapsed);
            sum + self.rise(&weld.pulse, elapsed) * libm::exp(-away)
        })
    }

    fn check_nearby(&self, welds: &[Nearby]) -> Result<(), FormulaError> {
        self.check(&[])?;
        for weld in welds {
            super::check_pulses(core::slice::from_ref(&weld.pulse))?;
            let range = Allowed::Between(0.0, 1e5);
            INTERPASS.require("distance along the tube", weld.away.0, "mm", range)?;
        }
        Ok(())
    }
}
