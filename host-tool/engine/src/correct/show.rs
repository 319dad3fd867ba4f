//! Numbers in the maker's units, as every sentence of a correction prints them.

use crate::units::Units;
use coldsquare_core::units::{Celsius, MILLIMETRES_PER_INCH};

/// Newtons in a pound-force: 0.453 592 37 kg (exact) under standard gravity, 9.806 65 m/s² (ISO 80000-4:2019).
const NEWTONS_PER_POUND_FORCE: f64 = 4.448_221_615_260_5;

/// Megapascals in a thousand pounds-force per square inch.
const MEGAPASCALS_PER_KSI: f64 =
    1000.0 * NEWTONS_PER_POUND_FORCE / (MILLIMETRES_PER_INCH * MILLIMETRES_PER_INCH);

/// Prints quantities in one system of units.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Show(pub Units);

impl Show {
    const fn metric(self) -> bool {
        matches!(self.0, Units::Metric)
    }

    /// The unit of lengths, after a number.
    pub const fn unit(self) -> &'static str {
        if self.metric() { "mm" } else { "in" }
    }

    /// "All in …".
    pub const fn unit_in_words(self) -> &'static str {
        if self.metric() { "mm" } else { "inches" }
    }

    fn number(self, mm: f64, decimals: [usize; 2]) -> String {
        if self.metric() {
            format!("{mm:.*}", decimals[0])
        } else {
            format!("{:.*}", decimals[1], mm / MILLIMETRES_PER_INCH)
        }
    }

    /// What a straightedge and feeler gauges show: to 0.1 mm or 0.001 in.
    pub fn gap(self, mm: f64) -> String {
        self.number(mm, [1, 3])
    }

    /// The same with its sign.
    pub fn change(self, mm: f64) -> String {
        let sign = if mm < 0.0 { '-' } else { '+' };
        format!("{sign}{}", self.gap(mm.abs()))
    }

    /// What is worked out finer than it is measured: to 0.01 mm or 0.001 in.
    pub fn fine(self, mm: f64) -> String {
        self.number(mm, [2, 3])
    }

    /// The same with its sign.
    pub fn added(self, mm: f64) -> String {
        let sign = if mm < 0.0 { '-' } else { '+' };
        format!("{sign}{}", self.fine(mm.abs()))
    }

    /// A whole size: to 0.1 mm or 0.01 in.
    pub fn size(self, mm: f64) -> String {
        self.number(mm, [1, 2])
    }

    /// A place along a bar, or a width to mark with chalk: to 1 mm or 0.1 in.
    pub fn place(self, mm: f64) -> String {
        self.number(mm, [0, 1])
    }

    /// A force with its unit.
    pub fn force(self, newtons: f64) -> String {
        if self.metric() {
            format!("{:.1} kN", newtons / 1000.0)
        } else {
            // Two figures and a half: a clamp is known no better.
            format!(
                "{:.0} lbf",
                (newtons / NEWTONS_PER_POUND_FORCE / 10.0).round() * 10.0
            )
        }
    }

    /// A stress with its unit.
    pub fn stress(self, mpa: f64) -> String {
        if self.metric() {
            format!("{mpa:.0} MPa")
        } else {
            format!("{:.0} ksi", mpa / MEGAPASCALS_PER_KSI)
        }
    }

    /// A temperature in both scales, the maker's first: temperature crayons are sold in either.
    pub fn temperature(self, celsius: f64) -> String {
        let (c, f) = (
            format!("{celsius:.0} °C"),
            format!("{:.0} °F", Celsius(celsius).fahrenheit()),
        );
        if self.metric() {
            format!("{c} ({f})")
        } else {
            format!("{f} ({c})")
        }
    }
}
