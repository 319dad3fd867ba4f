//! Readings that look like another unit.

use crate::format::Precision;
use crate::measured::model::{LengthUnit, Reading};
use crate::movement::measures::MeasureKind;
use crate::movement::predict::Predicted;
use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;

/// What to say of a bow, twist or racking without a unit that is far from the prediction and near it in another unit.
pub(super) fn another_unit(
    predicted: &[Predicted],
    reading: &Reading,
    units: Units,
) -> Option<String> {
    if reading.unit_named {
        return None;
    }
    let expected = predicted.iter().find(|p| p.name == reading.of)?;
    if matches!(
        expected.kind,
        MeasureKind::Size | MeasureKind::Diagonal | MeasureKind::Standing
    ) {
        return None;
    }
    let near = |mm: f64| is_near(expected.released_mm, mm, reading.plus_minus_mm());
    // A reading that is zero within its uncertainty is zero in any unit; one that fits needs no other unit.
    let read = reading.value_mm();
    let fine = reading
        .values
        .iter()
        .any(|&value| is_fraction_of_inch(value));
    let bare = reading.unit == LengthUnit::Mm;
    if bare && fine && read.abs() < reading.plus_minus_mm() {
        return Some(format!(
            "{}: {} is less than the reading uncertainty of ± {}, and a fraction of an inch; write {} in if it is inches",
            reading.of,
            reading.as_read(),
            units.length_with_unit(reading.plus_minus_mm(), Precision::Drawn),
            Reading::number(reading.values[reading.values.len() / 2])
        ));
    }
    if near(read) {
        return None;
    }
    // Only a prediction larger than its uncertainty can tell.
    let clear = expected.released_mm.value.abs() > expected.released_mm.expanded();
    let unit = unit_that_fits(reading, |mm| {
        clear && (mm - expected.released_mm.value).abs() <= expected.released_mm.expanded()
    })?;
    Some(format!(
        "{}: {} is far from the predicted {}; in {} it would fit: name the unit if that is it",
        reading.of,
        reading.as_read(),
        units.change_with_unit(expected.released_mm),
        unit.plural()
    ))
}

fn is_near(expected: Uncertain, mm: f64, plus_minus_mm: f64) -> bool {
    (mm - expected.value).abs() <= 1.5 * expected.expanded() + plus_minus_mm
}

/// 1/8, 3/32, 1/64 and so on: values of an inch rule that a metric rule does not show.
fn is_fraction_of_inch(value: f64) -> bool {
    let of_64 = value.abs() * 64.0;
    let tenths = value.abs() * 10.0;
    value != 0.0
        && value.abs() < 1.0
        && (of_64 - of_64.round()).abs() < 0.05
        && (tenths - tenths.round()).abs() > 1e-6
}

/// The unit in which the number as written would fit.
pub(super) fn unit_that_fits(reading: &Reading, fits: impl Fn(f64) -> bool) -> Option<LengthUnit> {
    let written = reading.values.get(reading.values.len() / 2)?;
    let units = [
        LengthUnit::In,
        LengthUnit::Mm,
        LengthUnit::Cm,
        LengthUnit::Ft,
        LengthUnit::M,
    ];
    units
        .into_iter()
        .find(|unit| *unit != reading.unit && fits(written * unit.in_mm()))
}
