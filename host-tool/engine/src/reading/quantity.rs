//! Numbers with units as people write them: `1200`, `"47 1/4 in"`, `"1.2 m"`, `"12 in/min"`, `"480 °F"`.
//!
//! A bare number is in the units of the file; text may name another unit. Here everything becomes metric.

use crate::units::{LITRES_PER_CUBIC_FOOT, NEWTONS_PER_POUND_FORCE, Units};
use coldsquare_core::units::{
    Celsius, FAHRENHEIT_AT_ZERO_CELSIUS, FAHRENHEIT_PER_KELVIN, JoulesPerMillimetre,
    MILLIMETRES_PER_INCH, Millimetres, Newtons,
};

/// What a number measures; decides which units it may have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum QuantityKind {
    /// Length, mm.
    Length,
    /// Travel speed, mm/s.
    Speed,
    /// Heat input, J/mm.
    HeatInput,
    /// Temperature, °C.
    Temperature,
    /// Force, N.
    Force,
    /// Voltage, V.
    Voltage,
    /// Current, A.
    Current,
    /// Speed of the wire, m/min.
    WireSpeed,
    /// Flow of gas, l/min.
    Flow,
    /// A bare number.
    Number,
}

/// How a unit is written, and what turns it into the metric one: `value · factor + offset`.
type Unit = (&'static str, f64, f64);

const KELVINS_PER_FAHRENHEIT: f64 = 1.0 / FAHRENHEIT_PER_KELVIN;
const CELSIUS_AT_ZERO_FAHRENHEIT: f64 = -FAHRENHEIT_AT_ZERO_CELSIUS / FAHRENHEIT_PER_KELVIN;

impl QuantityKind {
    /// Units of this kind; the first is the metric one, the second that of US customary files.
    const fn units(self) -> &'static [Unit] {
        match self {
            Self::Length => &[
                ("mm", 1.0, 0.0),
                ("in", MILLIMETRES_PER_INCH, 0.0),
                ("inch", MILLIMETRES_PER_INCH, 0.0),
                ("\"", MILLIMETRES_PER_INCH, 0.0),
                ("cm", 10.0, 0.0),
                ("m", 1000.0, 0.0),
                ("ft", 12.0 * MILLIMETRES_PER_INCH, 0.0),
            ],
            Self::Speed => &[
                ("mm/s", 1.0, 0.0),
                ("in/min", MILLIMETRES_PER_INCH / 60.0, 0.0),
                ("mm/min", 1.0 / 60.0, 0.0),
                ("cm/min", 10.0 / 60.0, 0.0),
                ("m/min", 1000.0 / 60.0, 0.0),
            ],
            Self::HeatInput => &[
                ("kJ/mm", 1000.0, 0.0),
                ("kJ/in", 1000.0 / MILLIMETRES_PER_INCH, 0.0),
                ("J/mm", 1.0, 0.0),
                ("kJ/cm", 100.0, 0.0),
            ],
            Self::Temperature => &[
                ("°C", 1.0, 0.0),
                ("°F", KELVINS_PER_FAHRENHEIT, CELSIUS_AT_ZERO_FAHRENHEIT),
                ("C", 1.0, 0.0),
                ("F", KELVINS_PER_FAHRENHEIT, CELSIUS_AT_ZERO_FAHRENHEIT),
            ],
            Self::Force => &[
                ("N", 1.0, 0.0),
                ("lbf", NEWTONS_PER_POUND_FORCE, 0.0),
                ("kN", 1000.0, 0.0),
            ],
            Self::Voltage => &[("V", 1.0, 0.0), ("V", 1.0, 0.0)],
            Self::Current => &[("A", 1.0, 0.0), ("A", 1.0, 0.0)],
            Self::WireSpeed => &[
                ("m/min", 1.0, 0.0),
                ("in/min", MILLIMETRES_PER_INCH / 1000.0, 0.0),
                ("mm/s", 0.06, 0.0),
            ],
            Self::Flow => &[
                ("l/min", 1.0, 0.0),
                ("cfh", LITRES_PER_CUBIC_FOOT / 60.0, 0.0),
            ],
            Self::Number => &[("", 1.0, 0.0), ("", 1.0, 0.0)],
        }
    }

    /// The unit of a bare number.
    fn unit_of(self, units: Units) -> &'static Unit {
        match units {
            Units::Metric => &self.units()[0],
            Units::UsCustomary => &self.units()[1],
        }
    }

    /// The kind with its article, for messages.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Speed => "a travel speed",
            Self::HeatInput => "a heat input",
            Self::Temperature => "a temperature",
            Self::Force => "a force",
            Self::Voltage => "a voltage",
            Self::Current => "a current",
            Self::WireSpeed => "a wire speed",
            Self::Flow => "a gas flow",
            Self::Number => "a number",
        }
    }

    /// How it may be written, for messages.
    pub(crate) fn examples(self, units: Units) -> String {
        let examples = match self {
            Self::Length => r#""1200 mm" or "47 1/4 in""#,
            Self::Speed => r#""360 mm/min" or "14 in/min""#,
            Self::HeatInput => r#""0.3 kJ/mm" or "8 kJ/in""#,
            Self::Temperature => r#""180 °C" or "350 °F""#,
            Self::Force => r#""2 kN" or "450 lbf""#,
            Self::WireSpeed => r#""5 m/min" or "200 in/min""#,
            Self::Flow => r#""12 l/min" or "25 cfh""#,
            Self::Voltage => return "a number of volts".into(),
            Self::Current => return "a number of amps".into(),
            Self::Number => return "a number".into(),
        };
        let (unit, ..) = *self.unit_of(units);
        format!("a number in {unit}, or text such as {examples}")
    }

    /// A bare number in the metric unit of the kind.
    pub(crate) fn bare(self, value: f64, units: Units) -> f64 {
        let (_, factor, offset) = self.unit_of(units);
        value * factor + offset
    }

    /// Text in the metric unit of the kind; `None` when it is no such quantity.
    pub(crate) fn written(self, text: &str, units: Units) -> Option<f64> {
        let text = text.trim();
        let named = self
            .units()
            .iter()
            .filter(|(unit, ..)| !unit.is_empty())
            .filter_map(|unit| Some((unit, strip_unit(text, unit.0)?)))
            .max_by_key(|((unit, ..), _)| unit.len());
        match named {
            Some(((_, factor, offset), number)) => Some(number_in(number)? * factor + offset),
            None => Some(self.bare(number_in(text)?, units)),
        }
    }
}

/// Quantities as a user writes them outside a file; a bare number is in these units.
impl Units {
    /// A length: `3`, `"3 mm"`, `"1/8 in"`. `None` when it is not one.
    #[must_use]
    pub fn parse_length(self, text: &str) -> Option<Millimetres> {
        let length = QuantityKind::Length.written(text, self)?;
        length.is_finite().then_some(Millimetres(length))
    }

    /// A force: `"5 kN"`, `"1000 lbf"`; a bare number is in kN or lbf. `None` when it is not one.
    #[must_use]
    pub fn parse_force(self, text: &str) -> Option<Newtons> {
        let force = match (text.trim().parse::<f64>(), self) {
            (Ok(kilonewtons), Units::Metric) => 1000.0 * kilonewtons,
            _ => QuantityKind::Force.written(text, self)?,
        };
        force.is_finite().then_some(Newtons(force))
    }

    /// A heat input: `"0.3 kJ/mm"`. `None` when it is not one, or not greater than zero.
    #[must_use]
    pub fn parse_heat_input(self, text: &str) -> Option<JoulesPerMillimetre> {
        let heat = QuantityKind::HeatInput.written(text, self)?;
        (heat.is_finite() && heat > 0.0).then_some(JoulesPerMillimetre(heat))
    }

    /// A temperature: `"180 °C"`. `None` when it is not one.
    #[must_use]
    pub fn parse_temperature(self, text: &str) -> Option<Celsius> {
        let degrees = QuantityKind::Temperature.written(text, self)?;
        degrees.is_finite().then_some(Celsius(degrees))
    }
}

/// The text before a unit; case does not matter.
fn strip_unit<'t>(text: &'t str, unit: &str) -> Option<&'t str> {
    let at = text.len().checked_sub(unit.len())?;
    let tail = text.get(at..)?;
    tail.eq_ignore_ascii_case(unit).then(|| &text[..at])
}

/// A decimal number, a fraction `1/4`, or a whole and a fraction `47 1/4` or `47-1/4`; a sign in front.
fn number_in(text: &str) -> Option<f64> {
    let text = text.trim();
    let (sign, text) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text),
    };
    let Some((before, below)) = text.split_once('/') else {
        return Some(sign * decimal(text)?);
    };
    let (whole, above) = match before.trim().split_once([' ', '-']) {
        Some((whole, above)) => (decimal(whole)?, above),
        None => (0.0, before),
    };
    let value = whole + decimal(above.trim())? / decimal(below.trim())?;
    value.is_finite().then_some(sign * value)
}

fn decimal(text: &str) -> Option<f64> {
    let digits = text.chars().all(|c| c.is_ascii_digit() || c == '.');
    if digits { text.parse().ok() } else { None }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn metric(kind: QuantityKind, text: &str) -> f64 {
        kind.written(text, Units::Metric)
            .unwrap_or_else(|| panic!("{text} is a quantity"))
    }

    #[test]
    fn lengths_are_read_as_the_trade_writes_them() {
        for (text, mm) in [
            ("1200", 1200.0),
            ("1200mm", 1200.0),
            ("1.2 m", 1200.0),
            ("120 cm", 1200.0),
            ("47 1/4 in", 1200.15),
            ("47-1/4\"", 1200.15),
            ("1/8 IN", 3.175),
            ("4 ft", 1219.2),
            ("-3 mm", -3.0),
        ] {
            assert!(
                (metric(QuantityKind::Length, text) - mm).abs() < 1e-9,
                "{text}"
            );
        }
        assert_eq!(
            QuantityKind::Length.written("2", Units::UsCustomary),
            Some(50.8)
        );
    }

    #[test]
    fn other_quantities_become_metric() {
        for (kind, text, value) in [
            (QuantityKind::Speed, "360 mm/min", 6.0),
            (QuantityKind::Speed, "15 in/min", 6.35),
            (QuantityKind::HeatInput, "0.3 kJ/mm", 300.0),
            (QuantityKind::HeatInput, "7.62 kJ/in", 300.0),
            (QuantityKind::HeatInput, "300 J/mm", 300.0),
            (QuantityKind::Temperature, "482 °F", 250.0),
            (QuantityKind::Temperature, "250 C", 250.0),
            (QuantityKind::Force, "2 kN", 2000.0),
        ] {
            assert!((metric(kind, text) - value).abs() < 1e-9, "{text}");
        }
    }

    #[test]
    fn what_is_no_quantity_is_refused() {
        for text in [
            "", "mm", "1/0 in", "NaN", "inf", "1e9 mm", "12 kg", "1,5", "--3", "°", "5 °",
        ] {
            assert_eq!(
                QuantityKind::Length.written(text, Units::Metric),
                None,
                "{text}"
            );
        }
    }
}
