//! Quantities with their unit in the type, and conversion between units of one quantity.
//!
//! Every quantity is a transparent `f64` newtype: `Volts(24.0)`. Only the products and quotients that the trade uses exist
//! (`Volts * Amperes = Watts`), so wrong physics does not compile. Names and symbols follow ISO 80000; conversion factors
//! are exact by definition of the inch (25.4 mm, ISO 80000-3:2019).
//!
//! ```
//! use coldsquare_core::units::{Amperes, Joules, Millimetres, Seconds, Volts};
//!
//! let energy: Joules = Volts(20.0) * Amperes(100.0) * Seconds(30.0);
//! assert_eq!(energy / Millimetres(240.0) * Millimetres(240.0), Joules(60_000.0));
//! assert_eq!(Millimetres::from_inches(2.0).value(), 50.8);
//! ```

use core::ops::{Add, Div, Mul, Neg, Sub};
use serde::{Deserialize, Serialize};

/// Millimetres in one inch, exact by definition.
pub const MILLIMETRES_PER_INCH: f64 = 25.4;

/// Degrees Fahrenheit in a kelvin.
pub const FAHRENHEIT_PER_KELVIN: f64 = 1.8;

/// Degrees Fahrenheit at 0 °C.
pub const FAHRENHEIT_AT_ZERO_CELSIUS: f64 = 32.0;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $symbol:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        #[serde(transparent)]
        pub struct $name(pub f64);

        impl $name {
            /// The symbol of the unit, as printed after a number.
            pub const SYMBOL: &'static str = $symbol;

            /// The bare number, in the unit of the type.
            #[must_use]
            pub const fn value(self) -> f64 {
                self.0
            }

            /// True if it is neither infinite nor NaN.
            #[must_use]
            pub const fn is_finite(self) -> bool {
                self.0.is_finite()
            }

            /// The same quantity without its sign.
            #[must_use]
            pub const fn abs(self) -> Self {
                Self(self.0.abs())
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }

        impl Div for $name {
            /// The ratio of two quantities of one kind is a bare number.
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
    };
}

macro_rules! product {
    ($left:ident * $right:ident = $product:ident) => {
        impl Mul<$right> for $left {
            type Output = $product;
            fn mul(self, other: $right) -> $product {
                $product(self.0 * other.0)
            }
        }

        impl Mul<$left> for $right {
            type Output = $product;
            fn mul(self, other: $left) -> $product {
                $product(self.0 * other.0)
            }
        }

        impl Div<$right> for $product {
            type Output = $left;
            fn div(self, other: $right) -> $left {
                $left(self.0 / other.0)
            }
        }

        impl Div<$left> for $product {
            type Output = $right;
            fn div(self, other: $left) -> $right {
                $right(self.0 / other.0)
            }
        }
    };
}

quantity!(
    /// Electrical potential difference, V.
    Volts, "V"
);
quantity!(
    /// Electrical current, A.
    Amperes, "A"
);
quantity!(
    /// Power, W.
    Watts, "W"
);
quantity!(
    /// Energy, J.
    Joules, "J"
);
quantity!(
    /// Time, s.
    Seconds, "s"
);
quantity!(
    /// Length, mm.
    Millimetres, "mm"
);
quantity!(
    /// Area, mm².
    SquareMillimetres, "mm²"
);
quantity!(
    /// Volume of gas at room temperature and pressure, l.
    Litres, "l"
);
quantity!(
    /// Speed, mm/s.
    MillimetresPerSecond, "mm/s"
);
quantity!(
    /// Energy per length of weld, J/mm: arc energy, or heat input once multiplied by thermal efficiency.
    JoulesPerMillimetre, "J/mm"
);
quantity!(
    /// Temperature on the Celsius scale, °C.
    Celsius, "°C"
);
quantity!(
    /// Force, N.
    Newtons, "N"
);
quantity!(
    /// Stress or elastic modulus, N/mm² (= MPa).
    Megapascals, "MPa"
);
quantity!(
    /// Mass, kg.
    Kilograms, "kg"
);

product!(Volts * Amperes = Watts);
product!(Watts * Seconds = Joules);
product!(MillimetresPerSecond * Seconds = Millimetres);
product!(JoulesPerMillimetre * Millimetres = Joules);
product!(JoulesPerMillimetre * MillimetresPerSecond = Watts);

impl Millimetres {
    /// From inches.
    #[must_use]
    pub const fn from_inches(inches: f64) -> Self {
        Self(inches * MILLIMETRES_PER_INCH)
    }

    /// In inches.
    #[must_use]
    pub const fn inches(self) -> f64 {
        self.0 / MILLIMETRES_PER_INCH
    }
}

impl MillimetresPerSecond {
    /// From millimetres per minute.
    #[must_use]
    pub const fn from_millimetres_per_minute(speed: f64) -> Self {
        Self(speed / 60.0)
    }

    /// In millimetres per minute.
    #[must_use]
    pub const fn millimetres_per_minute(self) -> f64 {
        self.0 * 60.0
    }

    /// From inches per minute, as US welding data give travel speed.
    #[must_use]
    pub const fn from_inches_per_minute(speed: f64) -> Self {
        Self(speed * MILLIMETRES_PER_INCH / 60.0)
    }

    /// In inches per minute.
    #[must_use]
    pub const fn inches_per_minute(self) -> f64 {
        self.0 * 60.0 / MILLIMETRES_PER_INCH
    }
}

impl JoulesPerMillimetre {
    /// From kilojoules per millimetre, the unit of EN 1011-1.
    #[must_use]
    pub const fn from_kilojoules_per_millimetre(value: f64) -> Self {
        Self(value * 1000.0)
    }

    /// In kilojoules per millimetre, the unit of EN 1011-1.
    #[must_use]
    pub const fn kilojoules_per_millimetre(self) -> f64 {
        self.0 / 1000.0
    }

    /// In kilojoules per inch, the unit of US practice.
    #[must_use]
    pub const fn kilojoules_per_inch(self) -> f64 {
        self.0 * MILLIMETRES_PER_INCH / 1000.0
    }
}

impl Celsius {
    /// In degrees Fahrenheit.
    #[must_use]
    pub const fn fahrenheit(self) -> f64 {
        self.0 * FAHRENHEIT_PER_KELVIN + FAHRENHEIT_AT_ZERO_CELSIUS
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The inch is 25.4 mm by definition (ISO 80000-3:2019).
    #[test]
    fn speeds_energies_lengths_and_temperatures_convert_there_and_back() {
        let speed = MillimetresPerSecond::from_millimetres_per_minute(300.0);
        assert_eq!((speed.0, speed.millimetres_per_minute()), (5.0, 300.0));
        let speed = MillimetresPerSecond::from_inches_per_minute(60.0);
        assert_eq!((speed.0, speed.inches_per_minute()), (25.4, 60.0));
        let length = Millimetres::from_inches(10.0);
        assert_eq!((length.0, length.inches()), (254.0, 10.0));
        let energy = JoulesPerMillimetre::from_kilojoules_per_millimetre(2.0);
        assert_eq!(
            (energy.0, energy.kilojoules_per_millimetre()),
            (2000.0, 2.0)
        );
        assert_eq!(energy.kilojoules_per_inch(), 50.8);
        let water = [0.0, 100.0].map(|celsius| Celsius(celsius).fahrenheit());
        assert_eq!(water, [32.0, 212.0]);
    }
}
