//! Lengths as they are written in a shop, each with the unit it was read in.

use super::model::LengthUnit;
use crate::units::Units;

/// The unit of a number without a unit, in a job in these units.
#[must_use]
pub const fn bare_unit(units: Units) -> LengthUnit {
    match units {
        Units::Metric => LengthUnit::Mm,
        Units::UsCustomary => LengthUnit::In,
    }
}

/// A length and the unit it is written in: `4`, `4 mm`, `3/32"`, `1' 2 1/2"`, `47-1/4 in`.
///
/// # Errors
/// What to write instead.
pub fn length(text: &str, bare: LengthUnit) -> Result<(f64, LengthUnit), String> {
    let text = text
        .trim()
        .replace(['″', '”'], "\"")
        .replace(['′', '’'], "'");
    let wrong = || {
        let comma = text
            .contains(',')
            .then_some("; write a decimal point, not a comma");
        format!(
            "'{text}' is not a length; write 4, 4 mm, 3/32\", 47 1/4 in or 1' 2 1/2\"{}",
            comma.unwrap_or("")
        )
    };
    let number = |text: &str| {
        let number = text.trim();
        let digits = number.chars().any(|c| c.is_ascii_digit());
        // A bare number is in mm there, whatever its unit is here.
        let value =
            digits.then(|| crate::units::Units::Metric.parse_length(&format!("{number} mm")));
        value.flatten().map(|length| length.0).ok_or_else(wrong)
    };
    let feet = text.split_once('\'').or_else(|| text.split_once("ft"));
    if let Some((feet, inches)) = feet {
        if inches.trim().is_empty() {
            return Ok((number(feet)?, LengthUnit::Ft));
        }
        let whole = number(feet)?;
        let inches = inches.trim().trim_end_matches('"').trim_end_matches("inch");
        let inches = number(inches.trim_end_matches("in"))?;
        let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
        return Ok((whole * 12.0 + sign * inches, LengthUnit::In));
    }
    let units = [
        ("mm", LengthUnit::Mm),
        ("cm", LengthUnit::Cm),
        ("inch", LengthUnit::In),
        ("in", LengthUnit::In),
        ("\"", LengthUnit::In),
        ("m", LengthUnit::M),
    ];
    let lower = text.to_lowercase();
    for (symbol, unit) in units {
        if let Some(rest) = lower.strip_suffix(symbol) {
            return Ok((number(rest)?, unit));
        }
    }
    Ok((number(&lower)?, bare))
}

/// One or several lengths with commas between, all in the unit of the last one that names a unit.
pub(super) fn lengths(text: &str, bare: LengthUnit) -> Result<(Vec<f64>, LengthUnit), String> {
    let parts: Vec<&str> = text.split(',').collect();
    let unit = parts
        .iter()
        .rev()
        .find_map(|part| unit_named(part))
        .unwrap_or(bare);
    let values: Result<Vec<f64>, String> = parts
        .iter()
        .map(|part| {
            let (value, own) = length(part, unit)?;
            Ok(value * own.in_mm() / unit.in_mm())
        })
        .collect();
    Ok((values?, unit))
}

/// The unit that one or several lengths name: the unit that does not depend on the unit of bare numbers.
pub(super) fn unit_named(text: &str) -> Option<LengthUnit> {
    text.split(',').rev().find_map(|part| {
        let [mm, ft] = [LengthUnit::Mm, LengthUnit::Ft].map(|unit| length(part, unit).ok());
        mm.zip(ft).filter(|(a, b)| a.1 == b.1).map(|(a, _)| a.1)
    })
}
