//! Cooling time t8/5: the time from 800 °C to 500 °C, which determines how hard the steel beside the weld becomes.
//!
//! Two limits are known in closed form: a thick plate, where heat flows into the depth (three-dimensional), and a thin one,
//! where it can only flow sideways (two-dimensional). The longer of the two times governs; both agree at the transition
//! thickness.
//!
//! Source: EN 1011-2:2001, Annex D; SEW 088 Beiblatt 2. For un- and low-alloyed steel only, not for stainless steel or
//! aluminium. The ranges of heat and preheat are our own: those of the charts that we could read.
//!
//! ```
//! use coldsquare_core::units::{Celsius, JoulesPerMillimetre, Millimetres};
//! use coldsquare_engine::formulas::cooling::{Cooling, HeatFlow, ShapeFactors};
//!
//! let bead_on_plate = ShapeFactors { thin: 1.0, thick: 1.0 };
//! let cooling = Cooling::new(Celsius(20.0), bead_on_plate)?;
//! let (time, flow) = cooling.time(JoulesPerMillimetre(300.0), Millimetres(3.0))?;
//! assert_eq!(flow, HeatFlow::ThinPlate);
//! assert!(time.0 > 5.0 && time.0 < 30.0);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

use coldsquare_core::formula::{Allowed, Formula, FormulaError};
use coldsquare_core::units::{Celsius, JoulesPerMillimetre, Millimetres, Seconds};

const COOLING_TIME: Formula = Formula {
    name: "cooling time t8/5",
    clause: "EN 1011-2:2001, Annex D",
};

const HEAT_RANGE_KJ_MM: Allowed = Allowed::Between(0.05, 5.0);
const PREHEAT_RANGE_C: Allowed = Allowed::Between(-20.0, 300.0);
const THICKNESS_RANGE_MM: Allowed = Allowed::Between(0.5, 200.0);

/// The effect of the joint's shape on the cooling time, relative to a bead on a plate; each over 0, up to 1.2.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShapeFactors {
    /// F2, for two-dimensional heat flow.
    pub thin: f64,
    /// F3, for three-dimensional heat flow.
    pub thick: f64,
}

/// Joint and run, for the shape factors of the cooling time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JointRun {
    /// A bead on a plate.
    BeadOnPlate,
    /// First or second fillet of a T or cruciform joint.
    TeeFillet,
    /// Third or fourth fillet of a T or cruciform joint.
    CruciformFillet,
    /// Fillet on a corner joint.
    CornerFillet,
    /// Fillet on a lap joint.
    LapFillet,
    /// Root run of a V butt joint.
    VRoot,
    /// Root run of a double-V butt joint.
    DoubleVRoot,
    /// Middle run of a V or double-V butt joint.
    Fill,
    /// Cap run of a V or double-V butt joint.
    Cap,
}

impl JointRun {
    /// Every joint and run.
    pub const ALL: [Self; 9] = [
        Self::BeadOnPlate,
        Self::TeeFillet,
        Self::CruciformFillet,
        Self::CornerFillet,
        Self::LapFillet,
        Self::VRoot,
        Self::DoubleVRoot,
        Self::Fill,
        Self::Cap,
    ];

    /// Least and greatest shape factors; equal where one value is given.
    ///
    /// Source: SEW 088 Beiblatt 2, the table that EN 1011-2 Table D.1 shortens. From memory: the bead on a
    /// plate, F3 of corner and lap fillets and of a double-V root, F2 of butt runs other than the V root.
    #[must_use]
    pub const fn shape_factors(self) -> [ShapeFactors; 2] {
        let (thin, thick) = match self {
            Self::BeadOnPlate => ([1.0, 1.0], [1.0, 1.0]),
            Self::TeeFillet => ([0.45, 0.67], [0.67, 0.67]),
            Self::CruciformFillet => ([0.30, 0.67], [0.67, 0.67]),
            Self::CornerFillet => ([0.9, 0.9], [0.67, 0.67]),
            Self::LapFillet => ([0.7, 0.7], [0.67, 0.67]),
            Self::VRoot => ([1.0, 1.0], [1.0, 1.2]),
            Self::DoubleVRoot => ([1.0, 1.0], [0.7, 0.7]),
            Self::Fill => ([1.0, 1.0], [0.8, 1.0]),
            Self::Cap => ([1.0, 1.0], [0.9, 1.0]),
        };
        let [thin_least, thin_most] = thin;
        let [thick_least, thick_most] = thick;
        [
            ShapeFactors {
                thin: thin_least,
                thick: thick_least,
            },
            ShapeFactors {
                thin: thin_most,
                thick: thick_most,
            },
        ]
    }
}

/// Which of the two limits governs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeatFlow {
    /// Two-dimensional: the plate is thinner than the transition thickness.
    ThinPlate,
    /// Three-dimensional.
    ThickPlate,
}

/// How heat leaves a weld: the temperature of the work, and the shape of the joint. Both are checked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cooling {
    preheat_c: f64,
    shape: ShapeFactors,
}

impl Cooling {
    /// From the temperature of the work before the run, −20 °C to 300 °C, and the shape factors.
    ///
    /// # Errors
    /// [`FormulaError`] when a value is out of its range.
    pub fn new(preheat: Celsius, shape: ShapeFactors) -> Result<Self, FormulaError> {
        let factor_range = Allowed::Between(0.2, 1.2);
        COOLING_TIME.require("shape factor F2", shape.thin, "", factor_range)?;
        COOLING_TIME.require("shape factor F3", shape.thick, "", factor_range)?;
        let preheat_c =
            COOLING_TIME.require("preheat temperature", preheat.0, "°C", PREHEAT_RANGE_C)?;
        Ok(Self { preheat_c, shape })
    }

    /// t8/5 and which heat flow governs, for a heat input (0.05 to 5 kJ/mm) and a plate thickness (0.5 to 200 mm).
    ///
    /// # Errors
    /// [`FormulaError`] when a value is out of its range.
    pub fn time(
        self,
        heat_input: JoulesPerMillimetre,
        thickness: Millimetres,
    ) -> Result<(Seconds, HeatFlow), FormulaError> {
        let thin = self.thin_plate_time(heat_input, thickness)?;
        let thick = self.thick_plate_time(heat_input)?;
        Ok(if thin > thick {
            (thin, HeatFlow::ThinPlate)
        } else {
            (thick, HeatFlow::ThickPlate)
        })
    }

    /// t8/5 = (4300 − 4.3·T0)·10⁵ · Q²/d² · [1/(500−T0)² − 1/(800−T0)²] · F2, with Q in kJ/mm.
    ///
    /// # Errors
    /// [`FormulaError`] when a value is out of its range.
    pub fn thin_plate_time(
        self,
        heat_input: JoulesPerMillimetre,
        thickness: Millimetres,
    ) -> Result<Seconds, FormulaError> {
        let heat = checked_heat(heat_input)?;
        let thickness = checked_thickness(thickness)?;
        Ok(Seconds(
            self.thin_coefficient() * heat * heat / (thickness * thickness),
        ))
    }

    /// t8/5 = (6700 − 5·T0) · Q · [1/(500−T0) − 1/(800−T0)] · F3, with Q in kJ/mm.
    ///
    /// # Errors
    /// [`FormulaError`] when the heat input is out of its range.
    pub fn thick_plate_time(
        self,
        heat_input: JoulesPerMillimetre,
    ) -> Result<Seconds, FormulaError> {
        Ok(Seconds(
            self.thick_coefficient() * checked_heat(heat_input)?,
        ))
    }

    /// The thickness at which both heat flows give the same time, from setting the two formulas equal.
    ///
    /// # Errors
    /// [`FormulaError`] when the heat input is out of its range.
    pub fn transition_thickness(
        self,
        heat_input: JoulesPerMillimetre,
    ) -> Result<Millimetres, FormulaError> {
        let heat = checked_heat(heat_input)?;
        Ok(Millimetres(libm::sqrt(
            self.thin_coefficient() / self.thick_coefficient() * heat,
        )))
    }

    /// t8/5 · d² / Q² in thin plate.
    fn thin_coefficient(self) -> f64 {
        let (cool, hot) = self.reciprocal_gaps();
        (4300.0 - 4.3 * self.preheat_c) * 1e5 * (cool * cool - hot * hot) * self.shape.thin
    }

    /// t8/5 / Q in thick plate.
    fn thick_coefficient(self) -> f64 {
        let (cool, hot) = self.reciprocal_gaps();
        (6700.0 - 5.0 * self.preheat_c) * (cool - hot) * self.shape.thick
    }

    fn reciprocal_gaps(self) -> (f64, f64) {
        (
            1.0 / (500.0 - self.preheat_c),
            1.0 / (800.0 - self.preheat_c),
        )
    }
}

fn checked_heat(heat_input: JoulesPerMillimetre) -> Result<f64, FormulaError> {
    COOLING_TIME.require(
        "heat input",
        heat_input.kilojoules_per_millimetre(),
        "kJ/mm",
        HEAT_RANGE_KJ_MM,
    )
}

fn checked_thickness(thickness: Millimetres) -> Result<f64, FormulaError> {
    COOLING_TIME.require("plate thickness", thickness.0, "mm", THICKNESS_RANGE_MM)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::num::f64::ANY;
    use proptest::prelude::*;

    const BEAD_ON_PLATE: ShapeFactors = ShapeFactors {
        thin: 1.0,
        thick: 1.0,
    };

    proptest! {
        #[test]
        fn any_input_gives_a_sound_result_or_an_error(
            preheat in ANY, thin in ANY, thick in ANY,
            heat in ANY, thickness in ANY,
        ) {
            let _ = Cooling::new(Celsius(preheat), ShapeFactors { thin, thick });
            let cooling = Cooling::new(Celsius(20.0), BEAD_ON_PLATE).unwrap();
            let (heat, thickness) = (JoulesPerMillimetre(heat), Millimetres(thickness));
            if let Ok((time, _)) = cooling.time(heat, thickness) {
                prop_assert!(time.0 > 0.0 && time.is_finite());
            }
            let _ = cooling.transition_thickness(heat);
        }

        #[test]
        fn more_preheat_and_more_heat_cool_slower(
            preheat in -20.0..290.0f64, heat in 50.0..4500.0f64, thickness in 0.5..200.0f64,
        ) {
            let time = |preheat, heat| {
                let cooling = Cooling::new(Celsius(preheat), BEAD_ON_PLATE).unwrap();
                cooling.time(JoulesPerMillimetre(heat), Millimetres(thickness)).unwrap().0
            };
            prop_assert!(time(preheat + 10.0, heat) > time(preheat, heat));
            prop_assert!(time(preheat, heat * 1.1) > time(preheat, heat));
        }
    }
}
