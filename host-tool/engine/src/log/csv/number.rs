//! Numbers and times as instruments write them.

use crate::recording::Decimal;

/// A field of a numeric column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Number {
    /// An ordinary number.
    Value(f64),
    /// Nothing was measured here.
    Missing,
}

/// What instruments write if they have no value, or one beyond their range.
const MISSING: [&str; 24] = [
    "", "nan", "na", "n/a", "#n/a", "null", "none", "-", "--", "---", "?", "*", "ol", "o.l", "-ol",
    "ovld", "overload", "over", "inf", "+inf", "-inf", "infinity", "#value!", "#div/0!",
];

/// Numbers that instruments and databases write in place of none. SCPI-1999, volume 1, 7.2.1.4 and 7.2.1.5: 9.91e37 is
/// not a number, 9.9e37 infinity. -9999 and the like: common practice, no source.
const LARGEST: f64 = 1e30;
const FILLERS: [f64; 4] = [-9999.0, -99_999.0, -999_999.0, -9_999_999.0];

fn is_missing(text: &str) -> bool {
    text.len() <= 9
        && (MISSING
            .iter()
            .any(|missing| text.eq_ignore_ascii_case(missing))
            || text.get(..3).is_some_and(|head| head == "1.#")
            || text.get(..4).is_some_and(|head| head == "-1.#"))
}

/// Reads a number; `None` for anything else.
pub(super) fn number(text: &str, decimal: Decimal) -> Option<Number> {
    let text = text.trim_ascii();
    let value = match decimal {
        Decimal::Point => plain(text),
        Decimal::Comma if text.contains('.') => None,
        Decimal::Comma if text.contains(',') => plain(&text.replacen(',', ".", 1)),
        Decimal::Comma => plain(text),
    };
    match value {
        Some(value) if value.abs() >= LARGEST || FILLERS.contains(&value) => Some(Number::Missing),
        Some(value) => Some(Number::Value(value)),
        None => is_missing(text).then_some(Number::Missing),
    }
}

/// A finite decimal number; words that Rust reads as numbers ("infinity") are refused.
fn plain(text: &str) -> Option<f64> {
    if let Some(value) = short(text.as_bytes()) {
        return Some(value);
    }
    let sound =
        |byte: u8| byte.is_ascii_digit() || matches!(byte, b'+' | b'-' | b'.' | b'e' | b'E');
    if !text.bytes().all(sound) {
        return None;
    }
    text.parse().ok().filter(|value: &f64| value.is_finite())
}

static POWERS_OF_TEN: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// A number of at most fifteen digits without an exponent, as nearly all are. Digits and power of ten are exact, so one
/// division rounds right (W. D. Clinger, How to read floating point numbers accurately, PLDI 1990, section 3).
fn short(text: &[u8]) -> Option<f64> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        _ => (false, text),
    };
    if digits.is_empty() || digits.len() > 16 {
        return None;
    }
    let (mut value, mut count, mut decimals) = (0u64, 0usize, None);
    for &byte in digits {
        match byte {
            b'0'..=b'9' => {
                value = value * 10 + u64::from(byte - b'0');
                count += 1;
                if let Some(decimals) = &mut decimals {
                    *decimals += 1;
                }
            }
            b'.' if decimals.is_none() => decimals = Some(0),
            _ => return None,
        }
    }
    if count == 0 || count > 15 {
        return None;
    }
    let value = value as f64 / POWERS_OF_TEN[decimals.unwrap_or(0)];
    Some(if negative { -value } else { value })
}

/// The plain number at the beginning of a row, and where it ends; `None` for anything that needs a closer look, fillers
/// among them.
#[inline]
pub(super) fn quick(text: &[u8], point: u8) -> Option<(f64, usize)> {
    let start = text.iter().position(|&byte| byte != b' ').unwrap_or(0);
    let negative = text.get(start) == Some(&b'-');
    let first = start + usize::from(negative);
    let (mut value, mut at, mut after_point) = (0u64, first, usize::MAX);
    while let Some(&byte) = text.get(at) {
        let digit = byte.wrapping_sub(b'0');
        if digit < 10 {
            value = value.wrapping_mul(10).wrapping_add(u64::from(digit));
        } else if byte == point && after_point == usize::MAX {
            after_point = at + 1;
        } else {
            break;
        }
        at += 1;
    }
    let (decimals, digits) = match after_point {
        usize::MAX => (0, at - first),
        after => (at - after, at - first - 1),
    };
    // A filler such as -9999 has four digits before the point; so may a number, which then only takes longer.
    if digits == 0 || digits > 15 || negative && digits - decimals >= 4 {
        return None;
    }
    let value = value as f64 / POWERS_OF_TEN[decimals];
    Some((if negative { -value } else { value }, at))
}

/// Number of decimals that a number or a time was written with; an exponent counts against them.
pub(super) fn decimals(text: &str, decimal: Decimal) -> i32 {
    let text = text.trim();
    let point = match decimal {
        Decimal::Point => '.',
        Decimal::Comma => ',',
    };
    let (mantissa, exponent) = text.split_once(['e', 'E']).unwrap_or((text, "0"));
    let digits = |tail: &str| tail.bytes().take_while(u8::is_ascii_digit).count();
    let written = mantissa
        .split_once(point)
        .map_or(0, |(_, tail)| digits(tail));
    let exponent: i32 = exponent.parse().unwrap_or(0);
    i32::try_from(written)
        .unwrap_or(0)
        .saturating_sub(exponent)
        .clamp(-12, 12)
}

/// A moment, s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Moment {
    /// On a clock of its own.
    Numeric(f64),
    /// Since 1970-01-01T00:00:00Z, of a full date and time with its zone.
    Absolute(f64),
    /// Of a date and time that does not say its zone; counted as if it were UTC.
    Local(f64),
    /// Since midnight.
    OfDay(f64),
    /// Minutes and seconds, since the hour.
    OfHour(f64),
    /// Nothing was written here.
    Missing,
}

/// How a date with dots, slashes or dashes is ordered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum DateOrder {
    /// 25.11.2025
    #[default]
    DayFirst,
    /// 11/25/2025
    MonthFirst,
}

/// Reads a time: a number, a date and time (ISO 8601 or with dots or slashes, a space for the T allowed), a time of day,
/// with AM or PM or without, or minutes and seconds. `None` for anything else.
pub(super) fn moment(text: &str, decimal: Decimal, dates: DateOrder) -> Option<Moment> {
    match number(text, decimal) {
        Some(Number::Value(value)) => return Some(Moment::Numeric(value)),
        Some(Number::Missing) => return Some(Moment::Missing),
        None => {}
    }
    let text = text.trim();
    if !text.contains(':') || text.len() > 64 {
        return None;
    }
    if let Some(time) = clock(text) {
        return Some(time);
    }
    if let Ok(timestamp) = text.parse::<jiff::Timestamp>() {
        return Some(Moment::Absolute(seconds(timestamp.as_nanosecond())));
    }
    let (date, time) = text.split_once([' ', 'T', ','])?;
    let Moment::OfDay(of_day) = clock(time.trim())? else {
        return None;
    };
    let (year, month, day) = date_parts(date.trim_end_matches('.'), dates)?;
    let date = jiff::civil::Date::new(year, month, day).ok()?;
    let midnight = jiff::tz::Offset::UTC
        .to_timestamp(date.at(0, 0, 0, 0))
        .ok()?;
    Some(Moment::Local(seconds(midnight.as_nanosecond()) + of_day))
}

/// A time of day or minutes and seconds: 14:03:59.250, 2:03:59 PM, 14:03:59:250, 03:59.25.
fn clock(text: &str) -> Option<Moment> {
    let upper = |suffix: &str| {
        let at = text.len().checked_sub(suffix.len())?;
        let (head, tail) = (text.get(..at)?, text.get(at..)?);
        tail.eq_ignore_ascii_case(suffix).then(|| head.trim_end())
    };
    let half = [("am", 0.0), ("a.m.", 0.0), ("pm", 12.0), ("p.m.", 12.0)]
        .into_iter()
        .find_map(|(suffix, hours)| Some((upper(suffix)?, hours)));
    let (digits, afternoon) = half.map_or((text, None), |(head, hours)| (head, Some(hours)));
    let mut parts = digits.split(':');
    let (first, second, third, fourth) = (parts.next()?, parts.next()?, parts.next(), parts.next());
    if parts.next().is_some() {
        return None;
    }
    let whole = |text: &str| {
        let digits =
            !text.is_empty() && text.len() <= 4 && text.bytes().all(|byte| byte.is_ascii_digit());
        digits.then(|| text.parse::<f64>().ok()).flatten()
    };
    let fraction = |text: &str| {
        let starts = text
            .bytes()
            .next()
            .is_some_and(|byte| byte.is_ascii_digit());
        let value = plain(&text.replacen(',', ".", 1)).filter(|value| starts && *value < 60.0);
        value.filter(|_| !text.contains(['e', 'E']))
    };
    let minutes = |text: &str| whole(text).filter(|value| *value < 60.0);
    let Some(third) = third else {
        // Nobody records an arc by the minute: two parts are minutes and seconds.
        let of_hour = 60.0 * whole(first)? + fraction(second)?;
        return afternoon.is_none().then_some(Moment::OfHour(of_hour));
    };
    let thousandths = match fourth {
        None => 0.0,
        Some(text) if text.len() == 3 => whole(text)? / 1000.0,
        Some(_) => return None,
    };
    let hours = match afternoon {
        None => whole(first)?,
        Some(afternoon) => {
            whole(first).filter(|hours| (1.0..=12.0).contains(hours))? % 12.0 + afternoon
        }
    };
    Some(Moment::OfDay(
        3600.0 * hours + 60.0 * minutes(second)? + fraction(third)? + thousandths,
    ))
}

/// Year, month and day of 2025-11-25, 2025/11/25, 25.11.2025, 11/25/2025 or 25.11.25.
fn date_parts(text: &str, dates: DateOrder) -> Option<(i16, i8, i8)> {
    let mut parts = text.split(['-', '/', '.']);
    let (a, b, c) = (parts.next()?, parts.next()?, parts.next()?);
    if parts.next().is_some() {
        return None;
    }
    let year = |text: &str| match text.len() {
        4 => text.parse::<i16>().ok(),
        2 => text.parse::<i16>().ok().map(|year| 2000 + year),
        _ => None,
    };
    let small = |text: &str| text.parse::<i8>().ok().filter(|_| text.len() <= 2);
    if a.len() == 4 {
        return Some((year(a)?, small(b)?, small(c)?));
    }
    let (first, second) = (small(a)?, small(b)?);
    let (day, month) = match dates {
        DateOrder::DayFirst => (first, second),
        DateOrder::MonthFirst => (second, first),
    };
    Some((year(c)?, month, day))
}

/// How the dates of a column are ordered: month first if the second number is ever above 12, or the first never is while
/// the separator is a slash and it is said with AM or PM. The second value is true if nothing tells.
pub(super) fn date_order<'a>(texts: impl Iterator<Item = &'a str>) -> (DateOrder, bool) {
    let mut unclear = false;
    let mut by_habit = DateOrder::DayFirst;
    for text in texts {
        let date = text.trim().split([' ', ',']).next().unwrap_or_default();
        let mut parts = date.split(['-', '/', '.']);
        let (Some(a), Some(b)) = (parts.next(), parts.next()) else {
            continue;
        };
        let (Ok(first), Ok(second)) = (a.parse::<u16>(), b.parse::<u16>()) else {
            continue;
        };
        if a.len() == 4 || !text.contains(':') {
            continue;
        }
        if second > 12 {
            return (DateOrder::MonthFirst, false);
        }
        if first > 12 {
            return (DateOrder::DayFirst, false);
        }
        unclear = true;
        let lower = text.to_ascii_lowercase();
        if date.contains('/') && (lower.ends_with("am") || lower.ends_with("pm")) {
            by_habit = DateOrder::MonthFirst;
        }
    }
    (by_habit, unclear)
}

fn seconds(nanoseconds: i128) -> f64 {
    nanoseconds as f64 / 1e9
}
