//! A value with its standard uncertainty.
//!
//! Source: JCGM 100:2008 (GUM).
//!
//! ```
//! use coldsquare_core::uncertainty::Uncertain;
//!
//! // A rule read to the half millimetre: anywhere within ± 0.5 mm with equal chance.
//! let length = Uncertain::rectangular(250.0, 0.5);
//! assert!((length.expanded() - 0.577).abs() < 0.001);
//! ```

/// Coverage factor of an expanded uncertainty: about 95 % for a near-normal result (GUM 6.3.3).
pub const COVERAGE_FACTOR: f64 = 2.0;

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

    /// Standard uncertainty over the magnitude of the value; `None` when the value is zero.
    #[must_use]
    pub fn relative(self) -> Option<f64> {
        (self.value != 0.0).then(|| self.standard / self.value.abs())
    }

    /// The same quantity in another unit: value and uncertainty times an exact factor.
    #[must_use]
    pub const fn scaled(self, factor: f64) -> Self {
        Self {
            value: self.value * factor,
            standard: (self.standard * factor).abs(),
        }
    }
}

/// Standard uncertainty of a value that lies anywhere within `± half_width` with equal chance: a / √3.
///
/// Source: JCGM 100:2008, 4.3.7. For a tolerance or an accuracy class given without a distribution.
#[must_use]
pub fn rectangular(half_width: f64) -> f64 {
    half_width.abs() / libm::sqrt(3.0)
}
