//! How uncertainties combine.
//!
//! Source: JCGM 100:2008 (GUM). All inputs count as uncorrelated. Where volts and amps move together, as in a pulsed arc,
//! propagate the uncertainty of the measured energy instead of those of two means.
//!
//! ```
//! use coldsquare_core::uncertainty::Uncertain;
//! use coldsquare_engine::formulas::uncertainty::product_of_powers;
//!
//! // Travel speed: 300 mm ± 1 % over 40 s ± 2 %.
//! let length = Uncertain::from_relative(300.0, 0.01);
//! let time = Uncertain::from_relative(40.0, 0.02);
//! let speed = product_of_powers(&[(length, 1.0), (time, -1.0)])?;
//! assert_eq!(speed.value, 7.5);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

use coldsquare_core::formula::{Allowed, Formula, FormulaError};
use coldsquare_core::uncertainty::Uncertain;

const COMBINATION: Formula = Formula {
    name: "combined standard uncertainty",
    clause: "JCGM 100:2008, 5.1",
};

/// y = Π xᵢ^pᵢ, from pairs (xᵢ, pᵢ): (u(y)/y)² = Σ (pᵢ · u(xᵢ)/xᵢ)².
///
/// Source: JCGM 100:2008, 5.1.6, eq. 12. It is worked out as u²(y) = Σ (∂y/∂xᵢ · u(xᵢ))² (5.1.2, eq. 10), which
/// is the same where no value is zero and still holds where one is: zero amperes give zero heat with an uncertainty
/// of its own. An empty product is exactly one.
///
/// # Errors
/// [`FormulaError`] when a value or the result is not finite (zero to a negative power, a negative value to a
/// fractional one), or a standard uncertainty is negative.
pub fn product_of_powers(factors: &[(Uncertain, f64)]) -> Result<Uncertain, FormulaError> {
    let mut product = Uncertain::exact(1.0);
    for &(factor, power) in factors {
        let factor = checked(factor)?;
        COMBINATION.require("the power", power, "", Allowed::Finite)?;
        let raised = libm::pow(factor.value, power);
        // x^0 is 1 whatever x is, so it adds no uncertainty; the general slope would be 0 · 0^-1 at x = 0.
        let slope = if power == 0.0 {
            0.0
        } else {
            power * libm::pow(factor.value, power - 1.0)
        };
        product = Uncertain {
            value: product.value * raised,
            standard: libm::hypot(
                raised * product.standard,
                product.value * slope * factor.standard,
            ),
        };
    }
    checked(product)
}

fn checked(term: Uncertain) -> Result<Uncertain, FormulaError> {
    COMBINATION.require("the value", term.value, "", Allowed::Finite)?;
    COMBINATION.not_negative("the standard uncertainty", term.standard, "")?;
    Ok(term)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::num::f64::ANY;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_input_gives_a_sound_result_or_an_error(
            value in ANY,
            standard in ANY,
            power in ANY,
        ) {
            let x = Uncertain { value, standard };
            if let Ok(y) = product_of_powers(&[(x, power), (x, 1.0)]) {
                prop_assert!(y.value.is_finite() && y.standard >= 0.0 && y.standard.is_finite());
            }
        }
    }
}
