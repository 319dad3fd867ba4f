//! The user's units, and what turns the units that only the host reads or prints into metric ones.
//!
//! Inside the tool everything is metric; `coldsquare_core::units` has the types and the factors that a logger needs too.
//! A new unit gets its factor here and its spelling in `reading::quantity`; how it is printed is in [`crate::format`].
//!
//! ```
//! use coldsquare_engine::format::Precision;
//! use coldsquare_engine::units::Units;
//!
//! assert_eq!(Units::UsCustomary.length_with_unit(1200.0, Precision::Tape), "47.24 in");
//! ```

use coldsquare_core::units::MILLIMETRES_PER_INCH;

/// Litres in a cubic foot, exact: (304.8 mm)³.
pub const LITRES_PER_CUBIC_FOOT: f64 = 28.316_846_592;

/// Kilograms in an avoirdupois pound, exact by definition.
pub const KILOGRAMS_PER_POUND: f64 = 0.453_592_37;

/// Newtons in a pound-force: a pound (exact) under standard gravity, 9.806 65 m/s² (ISO 80000-4:2019).
pub const NEWTONS_PER_POUND_FORCE: f64 = 4.448_221_615_260_5;

/// Megapascals in a thousand pounds-force per square inch.
pub const MEGAPASCALS_PER_KSI: f64 =
    1000.0 * NEWTONS_PER_POUND_FORCE / (MILLIMETRES_PER_INCH * MILLIMETRES_PER_INCH);

/// The units that a job is written in and its results are printed in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// Millimetres, kJ/mm, mm/s, °C.
    #[default]
    Metric,
    /// Inches, kJ/in, in/min, °F.
    UsCustomary,
}
