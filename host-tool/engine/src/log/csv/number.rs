//! Numbers and times as instruments write them.

use super::options::Decimal;

/// A field of a numeric column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Number {
    /// An ordinary number.
    Value(f64),
    /// Nothing was measured here.
    Missing,
}

/// What instruments write if they have no value.
const MISSING: [&str; 8] = ["", "nan", "na", "n/a", "null", "none", "-", "--"];

fn is_missing(text: &str) -> bool {
    MISSING
        .iter()
        .any(|missing| text.eq_ignore_ascii_case(missing))
}

/// Reads a number; `None` for anything else.
pub(super) fn number(text: &str, decimal: Decimal) -> Option<Number> {
    let text = text.trim();
    if is_missing(text) {
        return Some(Number::Missing);
    }
    let value = match decimal {
        Decimal::Point => plain(text),
        Decimal::Comma if text.contains('.') => None,
        Decimal::Comma => plain(&text.replacen(',', ".", 1)),
    };
    value.map(Number::Value)
}

/// A finite decimal number; words that Rust reads as numbers ("infinity") are refused.
fn plain(text: &str) -> Option<f64> {
    let sound =
        |byte: u8| byte.is_ascii_digit() || matches!(byte, b'+' | b'-' | b'.' | b'e' | b'E');
    if !text.bytes().all(sound) {
        return None;
    }
    text.parse().ok().filter(|value: &f64| value.is_finite())
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
    /// Nothing was written here.
    Missing,
}

/// Reads a time: a number, a date and time (ISO 8601, a space for the T allowed) or a time of day. `None` for
/// anything else.
pub(super) fn moment(text: &str, decimal: Decimal) -> Option<Moment> {
    match number(text, decimal) {
        Some(Number::Value(value)) => return Some(Moment::Numeric(value)),
        Some(Number::Missing) => return Some(Moment::Missing),
        None => {}
    }
    let text = text.trim();
    if !text.contains(':') {
        return None;
    }
    if let Ok(timestamp) = text.parse::<jiff::Timestamp>() {
        return Some(Moment::Absolute(seconds(timestamp.as_nanosecond())));
    }
    if let Ok(date_time) = text.parse::<jiff::civil::DateTime>() {
        let timestamp = jiff::tz::Offset::UTC.to_timestamp(date_time).ok()?;
        return Some(Moment::Local(seconds(timestamp.as_nanosecond())));
    }
    let time: jiff::civil::Time = text.parse().ok()?;
    let since_midnight = time.duration_since(jiff::civil::Time::midnight());
    Some(Moment::OfDay(since_midnight.as_secs_f64()))
}

fn seconds(nanoseconds: i128) -> f64 {
    nanoseconds as f64 / 1e9
}
