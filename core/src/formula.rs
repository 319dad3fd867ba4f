//! The range of a formula, and the error for a value outside it: quantity, value, range and clause.
//!
//! A published formula holds where it was fitted. Outside, an error that names the range is worth more than a
//! number.
//!
//! ```
//! use coldsquare_core::formula::{Allowed, Formula};
//!
//! const THROAT: Formula = Formula { name: "throat of a fillet", clause: "geometry" };
//!
//! let error = THROAT.require("leg", 80.0, "mm", Allowed::Between(1.0, 50.0)).unwrap_err();
//! assert_eq!(error.to_string(), "throat of a fillet: leg is 80 mm; give 1 to 50 mm (geometry)");
//! ```

/// The values a formula accepts for one quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Allowed {
    /// From the first to the second value, both included.
    Between(f64, f64),
    /// Greater than this value.
    Above(f64),
    /// This value or more.
    AtLeast(f64),
    /// Any ordinary number.
    Finite,
}

impl Allowed {
    /// Whether a value is one of them; never true for infinities and NaN.
    #[must_use]
    pub fn contains(self, value: f64) -> bool {
        value.is_finite()
            && match self {
                Self::Between(least, greatest) => least <= value && value <= greatest,
                Self::Above(bound) => value > bound,
                Self::AtLeast(bound) => value >= bound,
                Self::Finite => true,
            }
    }
}

/// A value, or the result, is outside the range of the formula.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FormulaError {
    /// What the formula calculates.
    pub formula: &'static str,
    /// Standard and clause, or author, year and page, that the formula and its range come from.
    pub clause: &'static str,
    /// The quantity that is out of range.
    pub quantity: &'static str,
    /// Its unit; empty for a bare number.
    pub unit: &'static str,
    /// Its value, in that unit.
    pub value: f64,
    /// The allowed values, in that unit.
    pub allowed: Allowed,
}

impl core::fmt::Display for FormulaError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let Self {
            formula,
            clause,
            quantity,
            unit,
            value,
            allowed,
        } = self;
        let gap = if unit.is_empty() { "" } else { " " };
        let value = as_given(*value);
        write!(f, "{formula}: {quantity} is {value}{gap}{unit}; ")?;
        match allowed {
            Allowed::Between(least, greatest) => {
                write!(f, "give {least} to {greatest}{gap}{unit}")?;
            }
            Allowed::Above(bound) => write!(f, "give more than {bound}{gap}{unit}")?,
            Allowed::AtLeast(bound) => write!(f, "give {bound}{gap}{unit} or more")?,
            Allowed::Finite => write!(f, "give an ordinary number")?,
        }
        write!(f, " ({clause})")
    }
}

/// The value without the digits that only its conversion to millimetres and the like has left: 1.5 inches are 38.1 mm, not
/// 38.099999999999994.
fn as_given(value: f64) -> f64 {
    const SCALE: f64 = 1e9;
    let is_usual = (1e-3..1e6).contains(&libm::fabs(value));
    if is_usual {
        libm::round(value * SCALE) / SCALE
    } else {
        value
    }
}

impl core::error::Error for FormulaError {}

/// A formula's name and source, for its errors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Formula {
    /// What it calculates.
    pub name: &'static str,
    /// Standard and clause, or author, year and page.
    pub clause: &'static str,
}

impl Formula {
    /// The value, if it is allowed.
    ///
    /// # Errors
    /// [`FormulaError`] when it is not.
    pub fn require(
        self,
        quantity: &'static str,
        value: f64,
        unit: &'static str,
        allowed: Allowed,
    ) -> Result<f64, FormulaError> {
        if allowed.contains(value) {
            Ok(value)
        } else {
            Err(FormulaError {
                formula: self.name,
                clause: self.clause,
                quantity,
                unit,
                value,
                allowed,
            })
        }
    }

    /// The value, if it is greater than zero.
    ///
    /// # Errors
    /// [`FormulaError`] when it is not.
    pub fn positive(
        self,
        quantity: &'static str,
        value: f64,
        unit: &'static str,
    ) -> Result<f64, FormulaError> {
        self.require(quantity, value, unit, Allowed::Above(0.0))
    }

    /// The value, if it is zero or more.
    ///
    /// # Errors
    /// [`FormulaError`] when it is not.
    pub fn not_negative(
        self,
        quantity: &'static str,
        value: f64,
        unit: &'static str,
    ) -> Result<f64, FormulaError> {
        self.require(quantity, value, unit, Allowed::AtLeast(0.0))
    }

    /// A result, if it did not overflow.
    ///
    /// # Errors
    /// [`FormulaError`] when it did.
    pub fn result(self, value: f64, unit: &'static str) -> Result<f64, FormulaError> {
        self.require("the result", value, unit, Allowed::Finite)
    }
}
