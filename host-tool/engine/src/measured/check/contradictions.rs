//! Readings that contradict each other.

use crate::format::Precision;
use crate::job::model::Job;
use crate::measured::model::Reading;
use crate::movement::measures::{Measure, MeasureKind};
use crate::units::Units;

/// Indices of readings that contradict each other, with what is wrong.
pub(super) fn contradictions(
    job: &Job,
    measures: &[Measure],
    readings: &[Reading],
) -> Vec<(Vec<usize>, String)> {
    let mut found = twice(readings);
    found.extend(racking_of_diagonals(measures, readings, job.units));
    found.extend(diagonals_of_sides(measures, readings, job.units));
    found
}

fn drawn(mm: f64, units: Units) -> String {
    units.length_with_unit(mm, Precision::Drawn)
}

fn signed(mm: f64, units: Units) -> String {
    let length = units.signed_length(mm, Precision::Drawn);
    format!("{length} {}", units.length_symbol())
}

/// The same measure read twice with values that do not agree.
fn twice(readings: &[Reading]) -> Vec<(Vec<usize>, String)> {
    let mut found = Vec::new();
    for (second, b) in readings.iter().enumerate() {
        for (first, a) in readings.iter().enumerate().take(second) {
            let same = a.of == b.of && a.between == b.between;
            let apart = (a.value_mm() - b.value_mm()).abs();
            if same && apart > a.plus_minus_mm().hypot(b.plus_minus_mm()) {
                found.push((
                    vec![first, second],
                    format!(
                        "{}: {} and {} contradict each other",
                        a.of,
                        a.as_read(),
                        b.as_read()
                    ),
                ));
            }
        }
    }
    found
}

fn of_kind<'r>(
    measures: &[Measure],
    readings: &'r [Reading],
    kind: MeasureKind,
) -> Vec<(usize, &'r Reading)> {
    let is = |reading: &Reading| {
        measures
            .iter()
            .any(|m| m.kind == kind && m.name == reading.of)
    };
    readings.iter().enumerate().filter(|(_, r)| is(r)).collect()
}

/// The difference of the diagonals, read and calculated.
fn racking_of_diagonals(
    measures: &[Measure],
    readings: &[Reading],
    units: Units,
) -> Option<(Vec<usize>, String)> {
    let mut diagonals = measures.iter().filter(|m| m.kind == MeasureKind::Diagonal);
    let rising = find(readings, &diagonals.next()?.name)?;
    let falling = find(readings, &diagonals.next()?.name)?;
    let (at, racking) = *of_kind(measures, readings, MeasureKind::Racking).first()?;
    let calculated = rising.1.value_mm() - falling.1.value_mm();
    let apart = (calculated - racking.value_mm()).abs();
    let uncertainty = rising.1.plus_minus_mm().hypot(falling.1.plus_minus_mm());
    (apart > uncertainty.hypot(racking.plus_minus_mm())).then(|| {
        (
            vec![at, rising.0, falling.0],
            format!(
                "the diagonals differ by {}, but racking was read as {}",
                signed(calculated, units),
                signed(racking.value_mm(), units)
            ),
        )
    })
}

fn find<'r>(readings: &'r [Reading], name: &str) -> Option<(usize, &'r Reading)> {
    readings.iter().enumerate().find(|(_, r)| r.of == name)
}

fn mean(of: &[(usize, &Reading)]) -> f64 {
    of.iter().map(|(_, r)| r.value_mm()).sum::<f64>() / of.len() as f64
}

fn spread(of: &[(usize, &Reading)]) -> f64 {
    let values = of.iter().map(|(_, r)| r.value_mm());
    values.clone().fold(f64::MIN, f64::max) - values.fold(f64::MAX, f64::min)
}

/// In a parallelogram the squares of the diagonals add up to those of the four sides; a trapezium or a bow of a few
/// millimetres changes that only in the second order.
fn diagonals_of_sides(
    measures: &[Measure],
    readings: &[Reading],
    units: Units,
) -> Option<(Vec<usize>, String)> {
    let diagonals = of_kind(measures, readings, MeasureKind::Diagonal);
    let sizes = of_kind(measures, readings, MeasureKind::Size);
    let side = |axis: &str| -> Vec<(usize, &Reading)> {
        sizes
            .iter()
            .copied()
            .filter(|(_, r)| r.of.starts_with(axis))
            .collect()
    };
    let (widths, heights) = (side("width"), [side("height"), side("depth")].concat());
    let between = diagonals.first()?.1.between;
    let all = diagonals.iter().chain(&sizes);
    if diagonals.len() != 2 || widths.is_empty() || heights.is_empty() {
        return None;
    }
    if all.clone().any(|(_, r)| r.between != between) {
        return None;
    }
    let (width, height) = (mean(&widths), mean(&heights));
    let expected = width.hypot(height);
    let read = (0.5
        * diagonals
            .iter()
            .map(|(_, r)| r.value_mm().powi(2))
            .sum::<f64>())
    .sqrt();
    let uncertainty = all
        .clone()
        .map(|(_, r)| r.plus_minus_mm())
        .fold(0.0, f64::hypot);
    // One more millimetre for sides that are not all measured, or not straight.
    let allowed = uncertainty + spread(&widths).max(spread(&heights)) / 2.0 + 1.0;
    ((read - expected).abs() > allowed).then(|| {
        (
            all.map(|(index, _)| *index).collect(),
            format!(
                "widths and heights lead to diagonals of about {}, but {} was read: one of them is misread, or measured \
                 between other points (--between)",
                drawn(expected, units),
                drawn(read, units)
            ),
        )
    })
}
