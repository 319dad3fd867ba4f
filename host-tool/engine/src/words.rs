//! Numbers with units, dates, lists and other people's names, as every table prints them.

use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::{
    JoulesPerMillimetre, MILLIMETRES_PER_INCH, Millimetres, MillimetresPerSecond,
};

/// "1, 2 and 3"; "none" when there are none.
#[must_use]
pub fn numbers<T: std::fmt::Display>(numbers: &[T]) -> String {
    match numbers {
        [] => "none".into(),
        [one] => one.to_string(),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(ToString::to_string).collect();
            format!("{} and {last}", first.join(", "))
        }
    }
}

/// Somebody else's text made safe for a terminal and a line of a table: control characters, line breaks and marks
/// that turn the direction of writing are shown as U+FFFD, and nothing else is changed.
#[must_use]
pub fn plain(text: &str) -> String {
    text.chars()
        .map(|c| if harmful(c) { '\u{FFFD}' } else { c })
        .collect()
}

fn harmful(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}')
}

/// As [`plain`], and no longer than `most` characters.
#[must_use]
pub fn short(text: &str, most: usize) -> String {
    let text = plain(text);
    if text.chars().count() <= most {
        return text;
    }
    let kept: String = text.chars().take(most.saturating_sub(1)).collect();
    kept + "…"
}

/// How a quantity is printed in one of the systems of units.
#[derive(Clone, Copy, Debug)]
pub struct Printed {
    /// Symbol of the unit.
    pub symbol: &'static str,
    /// The same as part of a column's name.
    pub column: &'static str,
    /// Digits after the point.
    pub decimals: usize,
}

/// Heat input and arc energy: kJ/mm or kJ/in.
#[must_use]
pub fn heat(units: Units) -> (Printed, fn(JoulesPerMillimetre) -> f64) {
    match units {
        Units::Metric => (
            printed("kJ/mm", "kj_per_mm", 3),
            JoulesPerMillimetre::kilojoules_per_millimetre,
        ),
        Units::UsCustomary => (
            printed("kJ/in", "kj_per_in", 2),
            JoulesPerMillimetre::kilojoules_per_inch,
        ),
    }
}

/// Travel speed: mm/s or in/min.
#[must_use]
pub fn speed(units: Units) -> (Printed, fn(MillimetresPerSecond) -> f64) {
    match units {
        Units::Metric => (printed("mm/s", "mm_per_s", 2), MillimetresPerSecond::value),
        Units::UsCustomary => (
            printed("in/min", "in_per_min", 1),
            MillimetresPerSecond::inches_per_minute,
        ),
    }
}

/// Length: mm or in.
#[must_use]
pub fn length(units: Units) -> (Printed, fn(Millimetres) -> f64) {
    match units {
        Units::Metric => (printed("mm", "mm", 1), Millimetres::value),
        Units::UsCustomary => (printed("in", "in", 2), Millimetres::inches),
    }
}

/// A change with its doubt: "-0.30 ± 0.50" in mm, "-0.012 ± 0.020" in inches; without unit.
#[must_use]
pub fn change(change: Uncertain, units: Units) -> String {
    let (decimals, per_mm) = match units {
        Units::Metric => (2, 1.0),
        Units::UsCustomary => (3, 1.0 / MILLIMETRES_PER_INCH),
    };
    let of_mm = change.scaled(per_mm);
    let value = format!("{:+.decimals$}", of_mm.value);
    // Nothing is neither more nor less.
    let nothing = value.trim_start_matches(['+', '-', '0', '.']).is_empty();
    let value = if nothing {
        value.replace(['+', '-'], "")
    } else {
        value
    };
    format!("{value} ± {:.decimals$}", of_mm.expanded())
}

/// The same with its unit.
#[must_use]
pub fn change_in_units(by: Uncertain, units: Units) -> String {
    format!("{} {}", change(by, units), length(units).0.symbol)
}

const fn printed(symbol: &'static str, column: &'static str, decimals: usize) -> Printed {
    Printed {
        symbol,
        column,
        decimals,
    }
}

/// "2026-11-25 14:03 UTC" from milliseconds since 1970-01-01T00:00:00Z; "no date" past the year 9999.
#[must_use]
pub fn date_and_time(unix_ms: u64) -> String {
    formatted(unix_ms, "%Y-%m-%d %H:%M UTC")
}

/// "2026-11-25" from seconds since 1970-01-01T00:00:00Z; "no date" past the year 9999.
#[must_use]
pub fn date(unix_s: u64) -> String {
    formatted(unix_s.saturating_mul(1000), "%Y-%m-%d")
}

fn formatted(unix_ms: u64, format: &str) -> String {
    i64::try_from(unix_ms)
        .ok()
        .and_then(|ms| jiff::Timestamp::from_millisecond(ms).ok())
        .map_or("no date".into(), |time| time.strftime(format).to_string())
}
