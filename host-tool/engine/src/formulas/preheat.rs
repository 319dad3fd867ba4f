//! Preheat of un- and low-alloyed steel against cold cracking: EN 1011-2 method B.
//!
//! Structural work follows the qualified procedure and the applicable code; this is only the arithmetic of the standard.
//! Preheat is for fine-grained and thicker steel: light frames of thin S235 need none, and [`advise`] says so.
//!
//! ```
//! use coldsquare_core::units::{Celsius, JoulesPerMillimetre, Millimetres};
//! use coldsquare_engine::formulas::preheat::{PreheatAdvice, PreheatCase, advise};
//!
//! let thin_s235 = PreheatCase {
//!     cet_percent: 0.25,
//!     thickness: Millimetres(3.0),
//!     hydrogen_ml_100g: 5.0,
//!     heat_input: JoulesPerMillimetre(300.0),
//! };
//! let advice = advise(&thin_s235, Celsius(20.0))?;
//! assert!(matches!(advice, PreheatAdvice::NotNeeded { .. }));
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

use coldsquare_core::formula::{Allowed, Formula, FormulaError};
use coldsquare_core::units::{Celsius, JoulesPerMillimetre, Millimetres};

const METHOD_B: Formula = Formula {
    name: "preheat temperature, method B",
    clause: "EN 1011-2:2001, C.3, equation C.8",
};

const CET_RANGE: (f64, f64) = (0.2, 0.5);
const THICKNESS_RANGE_MM: (f64, f64) = (10.0, 90.0);
const HYDROGEN_RANGE: (f64, f64) = (1.0, 20.0);
const HEAT_RANGE_KJ_MM: (f64, f64) = (0.5, 4.0);

/// What decides the preheat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PreheatCase {
    /// Carbon equivalent CET, per cent, 0.2 to 0.5 ([`crate::formulas::carbon::Composition::cet`]).
    pub cet_percent: f64,
    /// Plate thickness, 10 to 90 mm.
    pub thickness: Millimetres,
    /// Diffusible hydrogen of the weld metal, ml per 100 g of deposit, 1 to 20 (ISO 3690).
    pub hydrogen_ml_100g: f64,
    /// Heat input, 0.5 to 4 kJ/mm.
    pub heat_input: JoulesPerMillimetre,
}

/// The terms of the preheat, whose sum is equation C.8; °C. Equations C.3 to C.6 (from memory).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PreheatShares {
    /// C.3: 750·CET − 150.
    pub composition: Celsius,
    /// C.4: 160·tanh(d/35) − 110.
    pub thickness: Celsius,
    /// C.5: 62·HD^0.35 − 100.
    pub hydrogen: Celsius,
    /// C.6: (53·CET − 32)·Q − 53·CET + 32.
    pub heat_input: Celsius,
}

impl PreheatShares {
    /// The preheat temperature.
    #[must_use]
    pub fn sum(self) -> Celsius {
        self.composition + self.thickness + self.hydrogen + self.heat_input
    }
}

/// What to do about preheat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PreheatAdvice {
    /// No preheat: even the most that method B could require is below the temperature of the work.
    NotNeeded {
        /// The most that method B could require.
        at_most: Celsius,
    },
    /// Heat the work to this before each run.
    To(Celsius),
}

impl PreheatCase {
    /// Tp = 697·CET + 160·tanh(d/35) + 62·HD^0.35 + (53·CET − 32)·Q − 328, °C, with d in mm and Q in kJ/mm.
    ///
    /// Source: EN 1011-2, C.8, after Uwer and Höhne. Range (from memory): CET 0.2 to 0.5 %, d 10 to 90 mm, HD 1
    /// to 20 ml/100 g, Q 0.5 to 4.0 kJ/mm; yield strength up to 1000 N/mm².
    ///
    /// # Errors
    /// [`FormulaError`] when a value is out of its range.
    pub fn temperature(&self) -> Result<Celsius, FormulaError> {
        let case = self.checked()?;
        Ok(Celsius(
            697.0 * case.cet
                + 160.0 * libm::tanh(case.thickness / 35.0)
                + 62.0 * libm::pow(case.hydrogen, 0.35)
                + (53.0 * case.cet - 32.0) * case.heat
                - 328.0,
        ))
    }

    /// The same temperature term by term.
    ///
    /// # Errors
    /// [`FormulaError`] when a value is out of its range.
    pub fn shares(&self) -> Result<PreheatShares, FormulaError> {
        let case = self.checked()?;
        Ok(PreheatShares {
            composition: Celsius(750.0 * case.cet - 150.0),
            thickness: Celsius(160.0 * libm::tanh(case.thickness / 35.0) - 110.0),
            hydrogen: Celsius(62.0 * libm::pow(case.hydrogen, 0.35) - 100.0),
            heat_input: Celsius((53.0 * case.cet - 32.0) * case.heat - 53.0 * case.cet + 32.0),
        })
    }

    fn checked(&self) -> Result<Case, FormulaError> {
        let within = |quantity, value, unit, (least, most)| {
            METHOD_B.require(quantity, value, unit, Allowed::Between(least, most))
        };
        Ok(Case {
            cet: within("carbon equivalent CET", self.cet_percent, "%", CET_RANGE)?,
            thickness: within(
                "plate thickness",
                self.thickness.0,
                "mm",
                THICKNESS_RANGE_MM,
            )?,
            hydrogen: within(
                "hydrogen content",
                self.hydrogen_ml_100g,
                "ml/100 g",
                HYDROGEN_RANGE,
            )?,
            heat: within(
                "heat input",
                self.heat_input.kilojoules_per_millimetre(),
                "kJ/mm",
                HEAT_RANGE_KJ_MM,
            )?,
        })
    }
}

struct Case {
    cet: f64,
    thickness: f64,
    hydrogen: f64,
    heat: f64,
}

/// Whether to preheat work that is at `ambient` (−20 to 300 °C), and to what.
///
/// A steel leaner, thinner or lower in hydrogen than the range of method B counts as the edge of the range, which requires
/// more preheat than the case itself. For less heat than the range, the least heat of the range is used plus the 16 °C that
/// C.6 could add down to none at all, because in thin metal the heat leaves only sideways and less of it hardly changes the
/// cooling time. So thin S235 gets a safe answer although it is out of range; any other value out of range is an error.
///
/// # Errors
/// [`FormulaError`] when the bound is above `ambient` and a value is out of its range.
pub fn advise(case: &PreheatCase, ambient: Celsius) -> Result<PreheatAdvice, FormulaError> {
    METHOD_B.require(
        "temperature of the work",
        ambient.0,
        "°C",
        Allowed::Between(-20.0, 300.0),
    )?;
    let at_most = upper_bound(case)?;
    if at_most <= ambient {
        return Ok(PreheatAdvice::NotNeeded { at_most });
    }
    let temperature = case.temperature()?;
    Ok(if temperature <= ambient {
        PreheatAdvice::NotNeeded {
            at_most: temperature,
        }
    } else {
        PreheatAdvice::To(temperature)
    })
}

/// C.8 with every value moved into its range in the direction that can only raise the result.
fn upper_bound(case: &PreheatCase) -> Result<Celsius, FormulaError> {
    METHOD_B.not_negative("carbon equivalent CET", case.cet_percent, "%")?;
    METHOD_B.positive("plate thickness", case.thickness.0, "mm")?;
    METHOD_B.not_negative("hydrogen content", case.hydrogen_ml_100g, "ml/100 g")?;
    let heat = case.heat_input.kilojoules_per_millimetre();
    METHOD_B.positive("heat input", heat, "kJ/mm")?;
    let (least_heat, most_heat) = HEAT_RANGE_KJ_MM;
    let bounded = PreheatCase {
        cet_percent: case.cet_percent.max(CET_RANGE.0),
        thickness: Millimetres(case.thickness.0.max(THICKNESS_RANGE_MM.0)),
        hydrogen_ml_100g: case.hydrogen_ml_100g.max(HYDROGEN_RANGE.0),
        heat_input: JoulesPerMillimetre::from_kilojoules_per_millimetre(
            heat.clamp(least_heat, most_heat),
        ),
    };
    let missing_heat = if heat < least_heat {
        32.0 * least_heat
    } else {
        0.0
    };
    Ok(bounded.temperature()? + Celsius(missing_heat))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::num::f64::ANY;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_input_gives_a_sound_result_or_an_error(
            cet_percent in ANY, thickness in ANY, hydrogen_ml_100g in ANY,
            heat in ANY, ambient in ANY,
        ) {
            let case = PreheatCase {
                cet_percent, thickness: Millimetres(thickness), hydrogen_ml_100g,
                heat_input: JoulesPerMillimetre(heat),
            };
            if let Ok(temperature) = case.temperature() {
                prop_assert!(temperature.is_finite());
            }
            let _ = (case.shares(), advise(&case, Celsius(ambient)));
            let _ = advise(&case, Celsius(20.0));
        }

        #[test]
        fn the_bound_is_never_below_the_formula(
            cet_percent in 0.2..0.5f64, thickness in 10.0..90.0f64, hydrogen_ml_100g in 1.0..20.0f64, heat in 500.0..4000.0f64,
        ) {
            let case = PreheatCase {
                cet_percent, thickness: Millimetres(thickness), hydrogen_ml_100g,
                heat_input: JoulesPerMillimetre(heat),
            };
            prop_assert!(upper_bound(&case).unwrap().0 >= case.temperature().unwrap().0 - 1e-9);
            prop_assert!((case.shares().unwrap().sum().0 - case.temperature().unwrap().0).abs() < 1e-9);
        }
    }
}
