//! A value with its doubt, and how doubts combine.
//!
//! Source: JCGM 100:2008 (GUM). All inputs are taken as uncorrelated; where volts and amps move together, as in a
//! pulsed arc, propagate the doubt of the measured energy instead of the doubts of two means.

use crate::formula::{Allowed, Formula, FormulaError};

/// Coverage factor of an expanded uncertainty: about 95 % for a near-normal result (GUM 6.3.3).
pub const COVERAGE_FACTOR: f64 = 2.0;

const COMBINATION: Formula = Formula {
    name: "combined standard uncertainty",
    clause: "JCGM 100:2008, 5.1",
};

/// A value and its standard uncertainty (k = 1), both in the unit of the value.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Uncertain {
    /// The estimate.
    pub value: f64,
    /// Its standard uncertainty, 0 or more.
    pub standard: f64,
}

impl Uncertain {
    /// A value that is known exactly, such as a definition.
    #[must_use]
    pub const fn exact(value: f64) -> Self {
        Self {
            value,
            standard: 0.0,
        }
    }

    /// A value with a relative standard uncertainty: 0.025 for 2.5 %.
    #[must_use]
    pub const fn from_relative(value: f64, relative: f64) -> Self {
        Self {
            value,
            standard: (value * relative).abs(),
        }
    }

    /// A value that lies anywhere within `± half_width` of the estimate with equal chance.
    #[must_use]
    pub fn rectangular(value: f64, half_width: f64) -> Self {
        Self {
            value,
            standard: rectangular(half_width),
        }
    }

    /// Expanded uncertainty U = k · u, with k = [`COVERAGE_FACTOR`].
    #[must_use]
    pub const fn expanded(self) -> f64 {
        COVERAGE_FACTOR * self.standard
    }

    /// Standard uncertainty over the magnitude of the value; nothing at value zero.
    #[must_use]
    pub fn relative(self) -> Option<f64> {
        (self.value != 0.0).then(|| self.standard / self.value.abs())
    }

    /// The same quantity in another unit: value and doubt times an exact factor.
    #[must_use]
    pub const fn scaled(self, factor: f64) -> Self {
        Self {
            value: self.value * factor,
            standard: (self.standard * factor).abs(),
        }
    }

    fn checked(self) -> Result<Self, FormulaError> {
        COMBINATION.require("the value", self.value, "", Allowed::Finite)?;
        COMBINATION.require(
            "the standard uncertainty",
            self.standard,
            "",
            Allowed::AtLeast(0.0),
        )?;
        Ok(self)
    }
}

/// Standard uncertainty of a value that lies anywhere within `± half_width` with equal chance: a / √3.
///
/// Source: JCGM 100:2008, 4.3.7. For a tolerance or an accuracy class given without a distribution.
#[must_use]
pub fn rectangular(half_width: f64) -> f64 {
    half_width.abs() / libm::sqrt(3.0)
}

/// y = Σ cᵢ · xᵢ, from pairs (cᵢ, xᵢ): u²(y) = Σ (cᵢ · u(xᵢ))².
///
/// Source: JCGM 100:2008, 5.1.3, eq. 11. An empty sum is exactly zero.
///
/// # Errors
/// [`FormulaError`] when a value or the result is not finite, or a standard uncertainty is negative.
pub fn weighted_sum(terms: &[(f64, Uncertain)]) -> Result<Uncertain, FormulaError> {
    let mut sum = Uncertain::exact(0.0);
    for &(coefficient, term) in terms {
        let term = term.checked()?;
        sum.value += coefficient * term.value;
        sum.standard = libm::hypot(sum.standard, coefficient * term.standard);
    }
    sum.checked()
}

/// y = Π xᵢ^pᵢ, from pairs (xᵢ, pᵢ): (u(y)/y)² = Σ (pᵢ · u(xᵢ)/xᵢ)².
///
/// Source: JCGM 100:2008, 5.1.6, eq. 12. It is worked out as u²(y) = Σ (∂y/∂xᵢ · u(xᵢ))² (5.1.2, eq. 10), which
/// is the same where no value is zero and still holds where one is: zero amperes give zero heat with a doubt of
/// its own. An empty product is exactly one.
///
/// # Errors
/// [`FormulaError`] when a value or the result is not finite (zero to a negative power, a negative value to a broken
/// one), or a standard uncertainty is negative.
pub fn product_of_powers(factors: &[(Uncertain, f64)]) -> Result<Uncertain, FormulaError> {
    let mut product = Uncertain::exact(1.0);
    for &(factor, power) in factors {
        let factor = factor.checked()?;
        COMBINATION.require("the power", power, "", Allowed::Finite)?;
        let raised = libm::pow(factor.value, power);
        // x^0 is 1 whatever x is, so it adds no doubt; the general slope would be 0 · 0^-1 at x = 0.
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
    product.checked()
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
            let results = [
                product_of_powers(&[(x, power), (x, 1.0)]),
                weighted_sum(&[(power, x), (1.0, x)]),
            ];
            for y in results.into_iter().flatten() {
                prop_assert!(y.value.is_finite() && y.standard >= 0.0 && y.standard.is_finite());
            }
        }
    }
}
