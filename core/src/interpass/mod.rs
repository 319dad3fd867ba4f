//! The temperature of a joint of thin tube after welding, and how long to wait before the next weld.
//!
//! The model is the instantaneous line source of heat conduction in a thin wall (Rosenthal's thin plate; Carslaw and
//! Jaeger, *Conduction of Heat in Solids*, 2nd ed. 1959, 10.3, from memory), closed round the tube and cooled by air:
//!
//! ```text
//! T − T0 = Σ  2·Q / (n·s·ρc·√(4πat)) · g(t) · exp(−t·h/(ρc·s))        t = time since that weld
//! ```
//!
//! n walls of thickness s conduct the heat away from the weld line (two for a butt, three for a T). g is the share of the
//! tube's girth that is as hot as the weld line: 1 at first, weld length over girth once the heat has gone all the way
//! round. The result is the temperature of the weld itself, the hottest place, so a wait calculated from it is on the safe
//! side; a crayon or probe beside the weld reads less. Not modelled: contact with the table and clamps (cools), tube ends
//! nearer than the heat has travelled, √(4at) (warms), and the change of λ and ρc with temperature. [`neighbours`] adds
//! welds on neighbouring joints.
//!
//! ```
//! use coldsquare_core::interpass::{Conduction, HeatPulse, STILL_AIR_W_M2K, TubeJoint};
//! use coldsquare_core::units::{Celsius, JoulesPerMillimetre, Millimetres, Seconds};
//!
//! // A corner of 40 mm square tube with 2 mm wall, welded with 172 J/mm over 40 mm.
//! let corner = TubeJoint {
//!     metal: Conduction::MILD_STEEL,
//!     wall: Millimetres(2.0),
//!     girth: Millimetres(160.0),
//!     walls: 2,
//!     start: Celsius(20.0),
//!     loss_w_m2k: STILL_AIR_W_M2K,
//! };
//! let weld = HeatPulse {
//!     heat_input: JoulesPerMillimetre(172.0),
//!     length: Millimetres(40.0),
//!     ended: Seconds(0.0),
//! };
//! let wait = corner.wait_until_below(Celsius(100.0), &[weld])?;
//! assert!(wait.0 > 30.0 && wait.0 < 300.0);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

pub mod neighbours;
#[cfg(test)]
mod tests;

use crate::formula::{Allowed, Formula, FormulaError};
use crate::units::{Celsius, JoulesPerMillimetre, Millimetres, Seconds};
use core::f64::consts::PI;

const INTERPASS: Formula = Formula {
    name: "temperature of a joint after a weld",
    clause: "line source in a thin wall, Carslaw and Jaeger 1959, 10.3",
};

/// Heat loss from the outside of dull steel in still air between 50 °C and 250 °C, radiation and convection together,
/// W/(m²·K). Common practice, no source.
pub const STILL_AIR_W_M2K: f64 = 15.0;

/// The longest wait that is considered.
pub const MAX_WAIT: Seconds = Seconds(24.0 * 3600.0);

/// Thermal properties of a metal: means for heat flow under an arc, not room-temperature values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conduction {
    /// Thermal conductivity λ, W/(m·K), 1 to 500.
    pub conductivity_w_mk: f64,
    /// Heat capacity per volume ρc, J/(mm³·K), 0.0005 to 0.01.
    pub volumetric_heat_j_mm3k: f64,
}

impl Conduction {
    /// Carbon steel. Source: Grong, *Metallurgical Modelling of Welding*, 2nd ed. 1997, table 1.1 (from memory).
    pub const MILD_STEEL: Self = Self {
        conductivity_w_mk: 40.0,
        volumetric_heat_j_mm3k: 5.0e-3,
    };

    fn diffusivity_mm2_s(self) -> f64 {
        self.conductivity_w_mk * 1e-3 / self.volumetric_heat_j_mm3k
    }
}

/// The tube at a joint and what surrounds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TubeJoint {
    /// The metal.
    pub metal: Conduction,
    /// Wall thickness, 0.5 to 20 mm.
    pub wall: Millimetres,
    /// Girth of the tube, 10 to 2000 mm.
    pub girth: Millimetres,
    /// Walls that conduct the heat away from the weld line: 2 for a butt or corner, 3 for a T, up to 4.
    pub walls: u8,
    /// Temperature of the work before the first weld, −20 °C to 300 °C.
    pub start: Celsius,
    /// Heat loss from the outside of the wall, W/(m²·K), 0 to 1000: [`STILL_AIR_W_M2K`] on the bench.
    pub loss_w_m2k: f64,
}

/// A weld that has put heat into the joint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatPulse {
    /// Net heat per length, 1 to 10 000 J/mm.
    pub heat_input: JoulesPerMillimetre,
    /// Length of the weld; no more than the girth counts.
    pub length: Millimetres,
    /// When the arc went out, on any clock, within ± 10⁹ s.
    pub ended: Seconds,
}

impl TubeJoint {
    /// Temperature at the weld line at a time, from all welds that ended before it.
    ///
    /// Valid once the heat of the last weld has gone through the wall, t ≥ s²/a (1 s in 3 mm of steel).
    ///
    /// # Errors
    /// [`FormulaError`] when a value is out of its range, or the time is too soon after a weld.
    pub fn temperature(&self, pulses: &[HeatPulse], at: Seconds) -> Result<Celsius, FormulaError> {
        self.check(pulses)?;
        let soonest = latest(pulses).map_or(at.0, |ended| ended + self.soak_time());
        INTERPASS.require("time", at.0, "s", Allowed::AtLeast(soonest))?;
        Ok(Celsius(self.temperature_unchecked(pulses, at.0)))
    }

    /// How long after the last weld until the weld line is no hotter than the limit; zero if it is below the limit as soon
    /// as the heat has gone through the wall.
    ///
    /// # Errors
    /// [`FormulaError`] when a value is out of its range, when the limit is not above the temperature of the work before
    /// welding, or when it is not reached within [`MAX_WAIT`].
    pub fn wait_until_below(
        &self,
        limit: Celsius,
        pulses: &[HeatPulse],
    ) -> Result<Seconds, FormulaError> {
        self.check(pulses)?;
        INTERPASS.require(
            "interpass limit",
            limit.0,
            "°C",
            Allowed::Above(self.start.0),
        )?;
        let Some(ended) = latest(pulses) else {
            return Ok(Seconds(0.0));
        };
        let too_hot = |wait: f64| self.temperature_unchecked(pulses, ended + wait) > limit.0;
        let (mut hot, mut cool) = (self.soak_time(), MAX_WAIT.0);
        if !too_hot(hot) {
            return Ok(Seconds(0.0));
        }
        if too_hot(cool) {
            let reached = self.temperature_unchecked(pulses, ended + cool);
            INTERPASS.require("interpass limit", limit.0, "°C", Allowed::AtLeast(reached))?;
        }
        // Every term falls with time, so there is one solution; bisection by ratio finds it to a part in a million.
        for _ in 0..40 {
            let middle = libm::sqrt(hot * cool);
            if too_hot(middle) {
                hot = middle;
            } else {
                cool = middle;
            }
        }
        Ok(Seconds(cool))
    }

    /// Time for heat to go through the wall, s.
    fn soak_time(&self) -> f64 {
        self.wall.0 * self.wall.0 / self.metal.diffusivity_mm2_s()
    }

    fn temperature_unchecked(&self, pulses: &[HeatPulse], at: f64) -> f64 {
        pulses.iter().fold(self.start.0, |sum, pulse| {
            sum + self.rise(pulse, at - pulse.ended.0)
        })
    }

    /// Temperature rise from one weld some time after it, K.
    fn rise(&self, pulse: &HeatPulse, elapsed: f64) -> f64 {
        let per_wall = self.metal.volumetric_heat_j_mm3k * self.wall.0;
        let spread = libm::sqrt(4.0 * PI * self.metal.diffusivity_mm2_s() * elapsed);
        let along = 2.0 * pulse.heat_input.0 / (f64::from(self.walls) * per_wall * spread);
        let around = hot_share_of_girth(
            pulse.length.0.min(self.girth.0) / self.girth.0,
            self.metal.diffusivity_mm2_s() * elapsed / (self.girth.0 * self.girth.0),
        );
        along * around * libm::exp(-elapsed * self.loss_w_m2k * 1e-6 / per_wall)
    }

    fn check(&self, pulses: &[HeatPulse]) -> Result<(), FormulaError> {
        let between = Allowed::Between;
        let Conduction {
            conductivity_w_mk,
            volumetric_heat_j_mm3k,
        } = self.metal;
        for (quantity, value, unit, allowed) in [
            (
                "thermal conductivity",
                conductivity_w_mk,
                "W/(m·K)",
                between(1.0, 500.0),
            ),
            (
                "heat capacity per volume",
                volumetric_heat_j_mm3k,
                "J/(mm³·K)",
                between(5e-4, 1e-2),
            ),
            ("wall thickness", self.wall.0, "mm", between(0.5, 20.0)),
            ("girth", self.girth.0, "mm", between(10.0, 2000.0)),
            (
                "number of walls",
                f64::from(self.walls),
                "",
                between(1.0, 4.0),
            ),
            (
                "temperature before welding",
                self.start.0,
                "°C",
                between(-20.0, 300.0),
            ),
            (
                "heat loss to air",
                self.loss_w_m2k,
                "W/(m²·K)",
                between(0.0, 1000.0),
            ),
        ] {
            INTERPASS.require(quantity, value, unit, allowed)?;
        }
        check_pulses(pulses)
    }
}

fn check_pulses(pulses: &[HeatPulse]) -> Result<(), FormulaError> {
    let between = Allowed::Between;
    for pulse in pulses {
        INTERPASS.require("heat input", pulse.heat_input.0, "J/mm", between(1.0, 1e4))?;
        INTERPASS.positive("weld length", pulse.length.0, "mm")?;
        INTERPASS.require("end of the weld", pulse.ended.0, "s", between(-1e9, 1e9))?;
    }
    Ok(())
}

fn latest(pulses: &[HeatPulse]) -> Option<f64> {
    pulses.iter().map(|pulse| pulse.ended.0).reduce(f64::max)
}

/// Temperature at the middle of a heated length of a closed line, relative to its temperature at the start.
///
/// `share` is the heated length over the whole line, 0 to 1; `age` is a·t over the line squared. There are two series for
/// the same sum: mirror images converge quickly until the heat has gone round, Fourier's series after that.
fn hot_share_of_girth(share: f64, age: f64) -> f64 {
    if age < 0.05 {
        let reach = 1.0 / (2.0 * libm::sqrt(age));
        let mut sum = libm::erf(0.5 * share * reach);
        for turn in 1..=3 {
            let turn = f64::from(turn);
            sum +=
                libm::erf((turn + 0.5 * share) * reach) - libm::erf((turn - 0.5 * share) * reach);
        }
        sum
    } else {
        let mut sum = share;
        for n in 1..=4 {
            let n = f64::from(n);
            sum += 2.0 / (PI * n)
                * libm::sin(PI * n * share)
                * libm::exp(-4.0 * PI * PI * n * n * age);
        }
        sum
    }
}
