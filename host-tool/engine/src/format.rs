//! Quantities in the user's units, counts, lists and dates, as every message, table and page prints them.
//!
//! This is the only place that decides how many digits a quantity gets. Text from others goes through
//! [`crate::sanitise`].
//!
//! ```
//! use coldsquare_engine::format::{Precision, count};
//! use coldsquare_engine::units::Units;
//!
//! assert_eq!(Units::Metric.signed_length(-0.003, Precision::Calculated), "0.00");
//! assert_eq!(Units::Metric.length_with_unit(1160.0, Precision::Drawn), "1160.0 mm");
//! assert_eq!(count(1, "joint"), "1 joint");
//! assert_eq!(count(9, "joint"), "9 joints");
//! ```

use crate::units::{
    KILOGRAMS_PER_POUND, LITRES_PER_CUBIC_FOOT, MEGAPASCALS_PER_KSI, NEWTONS_PER_POUND_FORCE, Units,
};
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::{
    Celsius, JoulesPerMillimetre, Kilograms, Litres, MILLIMETRES_PER_INCH, Millimetres,
    MillimetresPerSecond,
};

/// How finely a length is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Precision {
    /// 1 mm or 0.1 in: a chalk mark, the length of a weld.
    Mark,
    /// 0.1 mm or 0.01 in: what a tape reads.
    Tape,
    /// 0.1 mm or 0.001 in: a size as drawn (eighths of an inch need three decimals), what a feeler gauge reads.
    Drawn,
    /// 0.01 mm or 0.001 in: what is calculated, finer than it is measured.
    Calculated,
}

impl Precision {
    pub(crate) const fn decimals(self, units: Units) -> usize {
        let [metric, inches] = match self {
            Self::Mark => [0, 1],
            Self::Tape => [1, 2],
            Self::Drawn => [1, 3],
            Self::Calculated => [2, 3],
        };
        match units {
            Units::Metric => metric,
            Units::UsCustomary => inches,
        }
    }
}

/// Quantities as text.
impl Units {
    /// Symbol of the unit of length: "mm" or "in".
    #[must_use]
    pub const fn length_symbol(self) -> &'static str {
        match self {
            Self::Metric => "mm",
            Self::UsCustomary => "in",
        }
    }

    /// Name of the unit of length, as in "All in inches".
    #[must_use]
    pub const fn length_name(self) -> &'static str {
        match self {
            Self::Metric => "mm",
            Self::UsCustomary => "inches",
        }
    }

    /// What one millimetre is in the unit of length.
    const fn per_millimetre(self) -> f64 {
        match self {
            Self::Metric => 1.0,
            Self::UsCustomary => 1.0 / MILLIMETRES_PER_INCH,
        }
    }

    fn of_millimetres(self, mm: f64) -> f64 {
        match self {
            Self::Metric => mm,
            Self::UsCustomary => mm / MILLIMETRES_PER_INCH,
        }
    }

    /// A length in mm as a number in the unit of length: "1160.0".
    #[must_use]
    pub fn length(self, mm: f64, precision: Precision) -> String {
        number(self.of_millimetres(mm), precision.decimals(self))
    }

    /// A length in mm with its unit: "1160.0 mm".
    #[must_use]
    pub fn length_with_unit(self, mm: f64, precision: Precision) -> String {
        format!("{} {}", self.length(mm, precision), self.length_symbol())
    }

    /// A change of a length in mm with its sign: "+0.30"; zero has none.
    #[must_use]
    pub fn signed_length(self, mm: f64, precision: Precision) -> String {
        signed(self.of_millimetres(mm), precision.decimals(self))
    }

    /// A calculated change in mm with its expanded uncertainty (k = 2), without unit: "-0.30 ± 0.50".
    #[must_use]
    pub fn change(self, change: Uncertain) -> String {
        let change = change.scaled(self.per_millimetre());
        let decimals = Precision::Calculated.decimals(self);
        format!(
            "{} ± {}",
            signed(change.value, decimals),
            number(change.expanded(), decimals)
        )
    }

    /// As [`Units::change`], with its unit.
    #[must_use]
    pub fn change_with_unit(self, change: Uncertain) -> String {
        format!("{} {}", self.change(change), self.length_symbol())
    }

    /// A length of stock or of all welds: "11.58 m" or "38.00 ft".
    #[must_use]
    pub fn total_length(self, length: Millimetres) -> String {
        match self {
            Self::Metric => format!("{:.2} m", length.0 / 1000.0),
            Self::UsCustomary => format!("{:.2} ft", length.inches() / 12.0),
        }
    }

    /// A force in N: "812 N", "3.2 kN", or in lbf to the ten from 100 up: a clamp is known no better.
    #[must_use]
    pub fn force(self, newtons: f64) -> String {
        match self {
            Self::Metric if newtons.abs() < 1000.0 => format!("{} N", number(newtons, 0)),
            Self::Metric => format!("{} kN", number(newtons / 1000.0, 1)),
            Self::UsCustomary => {
                let pounds = newtons / NEWTONS_PER_POUND_FORCE;
                let step = if pounds.abs() < 100.0 { 1.0 } else { 10.0 };
                format!("{} lbf", number((pounds / step).round() * step, 0))
            }
        }
    }

    /// A calculated force in N with its expanded uncertainty (k = 2): "812 ± 160 N", "3.2 ± 0.6 kN" or "182 ± 36 lbf".
    #[must_use]
    pub fn uncertain_force(self, force: Uncertain) -> String {
        let (per_newton, decimals, symbol) = match self {
            Self::Metric if force.value.abs().max(force.expanded()) < 1000.0 => (1.0, 0, "N"),
            Self::Metric => (1e-3, 1, "kN"),
            Self::UsCustomary => (1.0 / NEWTONS_PER_POUND_FORCE, 0, "lbf"),
        };
        let force = force.scaled(per_newton);
        format!(
            "{} ± {} {symbol}",
            number(force.value, decimals),
            number(force.expanded(), decimals)
        )
    }

    /// A stress in MPa: "235 MPa" or "34 ksi".
    #[must_use]
    pub fn stress(self, mpa: f64) -> String {
        match self {
            Self::Metric => format!("{} MPa", number(mpa, 0)),
            Self::UsCustomary => format!("{} ksi", number(mpa / MEGAPASCALS_PER_KSI, 0)),
        }
    }

    /// "150 °C" or "302 °F".
    #[must_use]
    pub fn temperature(self, temperature: Celsius) -> String {
        match self {
            Self::Metric => format!("{} °C", number(temperature.0, 0)),
            Self::UsCustomary => format!("{} °F", number(temperature.fahrenheit(), 0)),
        }
    }

    /// A temperature in both scales, the user's first: temperature crayons are sold in either.
    #[must_use]
    pub fn both_temperatures(self, temperature: Celsius) -> String {
        let other = match self {
            Self::Metric => Self::UsCustomary,
            Self::UsCustomary => Self::Metric,
        };
        format!(
            "{} ({})",
            self.temperature(temperature),
            other.temperature(temperature)
        )
    }

    /// The mass of a member or of a frame: "4.12 kg" or "9.08 lb".
    #[must_use]
    pub fn mass(self, mass: Kilograms) -> String {
        match self {
            Self::Metric => format!("{:.2} kg", mass.0),
            Self::UsCustomary => format!("{:.2} lb", mass.0 / KILOGRAMS_PER_POUND),
        }
    }

    /// The wire of one weld: "3.4 g" or "0.12 oz".
    #[must_use]
    pub fn weld_wire(self, mass: Kilograms) -> String {
        match self {
            Self::Metric => format!("{:.1} g", 1000.0 * mass.0),
            Self::UsCustomary => format!("{:.2} oz", 16.0 * mass.0 / KILOGRAMS_PER_POUND),
        }
    }

    /// The wire of a whole frame: "0.112 kg" or "0.247 lb".
    #[must_use]
    pub fn total_wire(self, mass: Kilograms) -> String {
        match self {
            Self::Metric => format!("{:.3} kg", mass.0),
            Self::UsCustomary => format!("{:.3} lb", mass.0 / KILOGRAMS_PER_POUND),
        }
    }

    /// A volume of gas: "86.4 l" or "3.05 cu ft".
    #[must_use]
    pub fn gas(self, gas: Litres) -> String {
        match self {
            Self::Metric => format!("{:.1} l", gas.0),
            Self::UsCustomary => format!("{:.2} cu ft", gas.0 / LITRES_PER_CUBIC_FOOT),
        }
    }
}

/// A number with so many decimals; never "-0.0".
#[must_use]
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if is_zero(digits) => digits.to_owned(),
        _ => text,
    }
}

/// A number with its sign, "+0.30"; what rounds to zero has none.
#[must_use]
pub fn signed(value: f64, decimals: usize) -> String {
    let text = format!("{value:+.decimals$}");
    match text.get(1..) {
        Some(digits) if is_zero(digits) => digits.to_owned(),
        _ => text,
    }
}

fn is_zero(digits: &str) -> bool {
    digits.bytes().all(|digit| matches!(digit, b'0' | b'.'))
}

/// "1 joint", "2 joints", "0 inches", "3 batteries": a count with its noun, given as one of them.
#[must_use]
pub fn count(count: usize, one: &str) -> String {
    format!("{count} {}", noun(count, one))
}

/// The noun alone, given as one of them, in the number that a count asks for.
#[must_use]
pub fn noun(count: usize, one: &str) -> String {
    if count == 1 {
        return one.to_owned();
    }
    match one.strip_suffix('y') {
        Some(stem) if !stem.ends_with(['a', 'e', 'i', 'o', 'u']) => format!("{stem}ies"),
        _ if one.ends_with(['s', 'x']) || one.ends_with("ch") || one.ends_with("sh") => {
            format!("{one}es")
        }
        _ => format!("{one}s"),
    }
}

/// "bar 1 … bar 9": the first and the last of more than four names; fewer with commas between them.
#[must_use]
pub fn in_short(names: &[String]) -> String {
    match names {
        [first, .., last] if names.len() > 4 => format!("{first} … {last}"),
        few => few.join(", "),
    }
}

/// "1, 2 and 3"; "none" when there are none.
#[must_use]
pub fn list<T: std::fmt::Display>(items: &[T]) -> String {
    match items {
        [] => "none".into(),
        [one] => one.to_string(),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(ToString::to_string).collect();
            format!("{} and {last}", first.join(", "))
        }
    }
}

/// How a column of a table prints a quantity in one of the systems of units.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// Symbol of the unit.
    pub symbol: &'static str,
    /// The unit as part of a column's name in a file.
    pub name: &'static str,
    /// Digits after the point.
    pub decimals: usize,
}

/// Heat input and arc energy: kJ/mm or kJ/in.
#[must_use]
pub fn heat(units: Units) -> (Column, fn(JoulesPerMillimetre) -> f64) {
    match units {
        Units::Metric => (
            column("kJ/mm", "kj_per_mm", 3),
            JoulesPerMillimetre::kilojoules_per_millimetre,
        ),
        Units::UsCustomary => (
            column("kJ/in", "kj_per_in", 2),
            JoulesPerMillimetre::kilojoules_per_inch,
        ),
    }
}

/// Travel speed: mm/s or in/min.
#[must_use]
pub fn speed(units: Units) -> (Column, fn(MillimetresPerSecond) -> f64) {
    match units {
        Units::Metric => (column("mm/s", "mm_per_s", 2), MillimetresPerSecond::value),
        Units::UsCustomary => (
            column("in/min", "in_per_min", 1),
            MillimetresPerSecond::inches_per_minute,
        ),
    }
}

/// Length, as a tape reads it: mm or in.
#[must_use]
pub fn length(units: Units) -> (Column, fn(Millimetres) -> f64) {
    let symbol = units.length_symbol();
    let column = column(symbol, symbol, Precision::Tape.decimals(units));
    match units {
        Units::Metric => (column, Millimetres::value),
        Units::UsCustomary => (column, Millimetres::inches),
    }
}

const fn column(symbol: &'static str, name: &'static str, decimals: usize) -> Column {
    Column {
        symbol,
        name,
        decimals,
    }
}

/// "2026-11-25 14:03 UTC" from milliseconds since 1970-01-01T00:00:00Z; "no date" past the year 9999.
#[must_use]
pub fn date_and_time(unix_ms: u64) -> String {
    time(unix_ms, "%Y-%m-%d %H:%M UTC")
}

/// "2026-11-25" from seconds since 1970-01-01T00:00:00Z; "no date" past the year 9999.
#[must_use]
pub fn date(unix_s: u64) -> String {
    time(unix_s.saturating_mul(1000), "%Y-%m-%d")
}

fn time(unix_ms: u64, format: &str) -> String {
    i64::try_from(unix_ms)
        .ok()
        .and_then(|ms| jiff::Timestamp::from_millisecond(ms).ok())
        .map_or("no date".into(), |time| time.strftime(format).to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zero_has_no_sign_and_a_count_agrees_with_its_noun() {
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(number(-0.05001, 1), "-0.1");
        assert_eq!(signed(-0.004, 2), "0.00");
        assert_eq!(signed(0.3, 2), "+0.30");
        assert_eq!(number(f64::NEG_INFINITY, 1), "-inf");
        for (n, one, text) in [
            (1, "weld", "1 weld"),
            (0, "weld", "0 welds"),
            (2, "inch", "2 inches"),
            (2, "battery", "2 batteries"),
            (2, "day", "2 days"),
        ] {
            assert_eq!(count(n, one), text);
        }
    }

    #[test]
    fn both_systems_of_units_print_the_same_length() {
        for (precision, metric, inches) in [
            (Precision::Mark, "38 mm", "1.5 in"),
            (Precision::Tape, "38.1 mm", "1.50 in"),
            (Precision::Drawn, "38.1 mm", "1.500 in"),
            (Precision::Calculated, "38.10 mm", "1.500 in"),
        ] {
            assert_eq!(Units::Metric.length_with_unit(38.1, precision), metric);
            assert_eq!(Units::UsCustomary.length_with_unit(38.1, precision), inches);
        }
    }

    #[test]
    fn forces_are_as_coarse_as_they_are_known() {
        assert_eq!(Units::Metric.force(812.4), "812 N");
        assert_eq!(Units::Metric.force(3240.0), "3.2 kN");
        assert_eq!(Units::UsCustomary.force(4448.2), "1000 lbf");
        assert_eq!(Units::UsCustomary.force(50.0), "11 lbf");
    }
}
