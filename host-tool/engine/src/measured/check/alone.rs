//! What is wrong with one reading by itself.

use super::unit::unit_that_fits;
use crate::format::Precision;
use crate::job::model::Job;
use crate::measured::model::{Reading, nominal_mm};
use crate::movement::measures::{Measure, MeasureKind};
use crate::units::Units;

/// A size that differs from the drawing by more than this share of itself is not that size.
const MAX_SIZE_SHARE: f64 = 0.05;

/// Largest bow, twist or racking as a share of the length it is over.
const MAX_BOW_SHARE: f64 = 0.05;

/// What is wrong, and whether the reading is impossible.
pub(super) fn alone(job: &Job, measures: &[Measure], reading: &Reading) -> Option<(String, bool)> {
    let (of, read) = (&reading.of, reading.as_read());
    if !reading.values.iter().all(|value| value.is_finite()) {
        return Some((format!("{of}: {read} is not a number"), true));
    }
    let Some(measure) = measures.iter().find(|m| m.name == reading.of) else {
        return gap(job, reading).map(|what| (what, true));
    };
    match measure.kind {
        MeasureKind::Size | MeasureKind::Diagonal | MeasureKind::Standing => {
            let nominal = nominal_mm(job, measures, measure, reading.between);
            size(reading, nominal, job.units).map(|what| (what, true))
        }
        MeasureKind::Bow => {
            let member = measure.member.and_then(|m| job.members.get(m))?;
            let max = MAX_BOW_SHARE * (member.to - member.from).length();
            if reading.values_mm().iter().any(|bow| bow.abs() > max) {
                let max = drawn(max, job.units);
                let what = format!(
                    "{of}: {read} is more than a twentieth of the length ({max}); check the unit, or replace the member"
                );
                return Some((what, true));
            }
            three_points(reading, job.units).map(|what| (what, false))
        }
        _ => {
            let width = measures.iter().find(|m| m.kind == MeasureKind::Size)?;
            let max = MAX_BOW_SHARE * width.nominal_mm;
            ((reading.value_mm() - measure.nominal_mm).abs() > max).then(|| {
                let max = drawn(max, job.units);
                let what = format!(
                    "{of}: {read} is more than a twentieth of the width ({max}); check the unit"
                );
                (what, true)
            })
        }
    }
}

fn drawn(mm: f64, units: Units) -> String {
    units.length_with_unit(mm, Precision::Drawn)
}

fn gap(job: &Job, reading: &Reading) -> Option<String> {
    let gap = reading.value_mm();
    let depths = job.members.iter().map(|m| m.section.properties().depth_mm);
    let max = depths.fold(0.0, f64::max);
    (gap < 0.0 || gap > max).then(|| {
        format!(
            "{}: a gap of {} is not possible; it must be 0 or more and less than the depth of a member",
            reading.of,
            reading.as_read()
        )
    })
}

fn size(reading: &Reading, nominal_mm: f64, units: Units) -> Option<String> {
    let off = (reading.value_mm() - nominal_mm).abs();
    (off > MAX_SIZE_SHARE * nominal_mm).then(|| {
        let fits = |mm: f64| (mm - nominal_mm).abs() <= MAX_SIZE_SHARE * nominal_mm;
        let hint = unit_that_fits(reading, fits).map_or_else(
            || "; was it measured between other points (--between)?".to_string(),
            |unit| {
                format!(
                    "; in {} it would fit: name the unit, as \"{} {}\"",
                    unit.plural(),
                    Reading::number(reading.values[0]),
                    unit.symbol()
                )
            },
        );
        format!(
            "{}: {} is not near the {} drawn{hint}",
            reading.of,
            reading.as_read(),
            drawn(nominal_mm, units)
        )
    })
}

/// A bar that bends evenly bows three quarters as much at its quarters as in the middle, one with a kink half as much, one
/// with fixed ends half or less; an S differs from side to side. So the mean of the quarters is between a third of the
/// middle and a little more than the middle.
fn three_points(reading: &Reading, units: Units) -> Option<String> {
    let [first, middle, last] = reading.values_mm()[..] else {
        return None;
    };
    let uncertainty = 1.5 * reading.plus_minus_mm();
    let quarters = f64::midpoint(first, last) * middle.signum();
    let (low, high) = (
        middle.abs() / 3.0 - uncertainty,
        middle.abs() * 1.1 + uncertainty,
    );
    (!(low..=high).contains(&quarters)).then(|| {
        format!(
            "{}: {} do not belong to one bow; with {} in the middle, the quarters are {} to {} on average. Was one misread, \
             or on the other side (write it negative)?",
            reading.of,
            reading.as_read(),
            drawn(middle.abs(), units),
            drawn(middle.abs() / 3.0, units),
            drawn(middle.abs() * 1.1, units)
        )
    })
}
