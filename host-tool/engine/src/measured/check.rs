//! Readings that cannot be, that contradict each other, or that look like another unit.

use super::model::{LengthUnit, Reading, nominal_mm};
use crate::job::model::Job;
use crate::movement::answers::{Measure, MeasureKind};
use crate::movement::predict::Predicted;
use crate::units::Units;
use crate::format;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::Millimetres;

/// Something that speaks against readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Objection {
    /// Indices of the readings it is about.
    pub readings: Vec<usize>,
    /// What is wrong with them, in one sentence.
    pub what: String,
    /// Whether it cannot be at all; otherwise it may be kept if the maker says so.
    pub impossible: bool,
}

/// A size differs from the drawing by no more than this share of itself, or it is not that size.
const FARTHEST_SHARE: f64 = 0.05;

/// A bow, rock or gap is no more than this share of the length it is over.
const GREATEST_BOW: f64 = 0.05;

/// Everything that speaks against readings of one measurement. `predicted` are the changes expected, by name; may be
/// empty.
#[must_use]
pub fn objections(
    job: &Job,
    measures: &[Measure],
    predicted: &[Predicted],
    readings: &[Reading],
) -> Vec<Objection> {
    let mut found = Vec::new();
    for (index, reading) in readings.iter().enumerate() {
        let one = alone(job, measures, reading)
            .or_else(|| another_unit(predicted, reading, job.units).map(|what| (what, false)));
        found.extend(one.map(|(what, impossible)| Objection {
            readings: vec![index],
            what,
            impossible,
        }));
    }
    let contradictions = twice(readings)
        .into_iter()
        .chain(racking_of_diagonals(measures, readings, job.units))
        .chain(diagonals_of_sides(measures, readings, job.units));
    // What is impossible alone needs no second complaint.
    let already: Vec<usize> = found.iter().flat_map(|one| one.readings.clone()).collect();
    let fresh = |(readings, _): &(Vec<usize>, String)| {
        !readings.iter().any(|reading| already.contains(reading))
    };
    found.extend(
        contradictions
            .filter(fresh)
            .map(|(readings, what)| Objection {
                readings,
                what,
                impossible: false,
            })
            .collect::<Vec<_>>(),
    );
    found
}

/// What one reading says against itself, and whether it cannot be at all.
fn alone(job: &Job, measures: &[Measure], reading: &Reading) -> Option<(String, bool)> {
    let as_read = as_read(reading);
    if !reading.values.iter().all(|value| value.is_finite()) {
        return Some((format!("{}: {as_read} is no number", reading.of), true));
    }
    let Some(measure) = measures.iter().find(|m| m.name == reading.of) else {
        let gap = reading.value_mm();
        let wall = job.members.iter().map(|m| m.section.properties().depth_mm);
        let most = wall.fold(0.0, f64::max);
        return (gap < 0.0 || gap > most).then(|| {
            (format!("{}: a gap of {as_read} cannot be; it is 0 or more and less than a member is deep", reading.of), true)
        });
    };
    let nominal = nominal_mm(job, measures, measure, reading.between);
    match measure.kind {
        MeasureKind::Size | MeasureKind::Diagonal => {
            let off = (reading.value_mm() - nominal).abs();
            (off > FARTHEST_SHARE * nominal).then(|| {
                let hint = unit_that_fits(reading, |mm| {
                    (mm - nominal).abs() <= FARTHEST_SHARE * nominal
                });
                let hint = hint.map_or_else(
                    || "; was it taken between other points (--between)?".to_string(),
                    |unit| {
                        format!(
                            "; in {} it would fit: name the unit, as \"{} {}\"",
                            unit.plural(),
                            number(reading.values[0]),
                            unit.symbol()
                        )
                    },
                );
                (
                    format!(
                        "{}: {as_read} is not near the {} drawn{hint}",
                        reading.of,
                        shown(nominal, job.units)
                    ),
                    true,
                )
            })
        }
        MeasureKind::Bow => {
            let member = measure.member.and_then(|m| job.members.get(m))?;
            let length = (member.to - member.from).length();
            let most = GREATEST_BOW * length;
            if reading.values_mm().iter().any(|bow| bow.abs() > most) {
                return Some((
                    format!(
                        "{}: {as_read} is more than a twentieth of the length ({}); such a member is replaced, or the unit is another",
                        reading.of,
                        shown(most, job.units)
                    ),
                    true,
                ));
            }
            three_points(reading, job.units).map(|what| (what, false))
        }
        _ => {
            let across = measures.iter().find(|m| m.kind == MeasureKind::Size)?;
            let most = GREATEST_BOW * across.nominal_mm;
            (reading.value_mm().abs() > most).then(|| {
                (format!("{}: {as_read} is more than a twentieth of the width ({}); is the unit another?", reading.of, shown(most, job.units)), true)
            })
        }
    }
}

/// A bar that bends evenly bows three quarters as much at its quarters as in the middle, one with a kink half as much,
/// one held at its ends half or less; S-shapes differ from side to side. The mean of the quarters stays between a
/// third of the middle and a little more than it.
fn three_points(reading: &Reading, units: Units) -> Option<String> {
    let [first, middle, last] = reading.values_mm()[..] else {
        return None;
    };
    let doubt = 1.5 * reading.plus_minus_mm();
    let quarters = f64::midpoint(first, last) * middle.signum();
    let (least, most) = (middle.abs() / 3.0 - doubt, middle.abs() * 1.1 + doubt);
    (!(least..=most).contains(&quarters)).then(|| {
        format!(
            "{}: {} do not belong to one bow; the quarters of a bar bowed {} stand at {} to {} on average. Was one misread, or on the other side (write it negative)?",
            reading.of,
            as_read(reading),
            shown(middle.abs(), units),
            shown(middle.abs() / 3.0, units),
            shown(middle.abs() * 1.1, units)
        )
    })
}

/// Whether a bow, rock or racking whose unit was not named is far from what was predicted but would be within it in another unit.
fn another_unit(predicted: &[Predicted], reading: &Reading, units: Units) -> Option<String> {
    if reading.unit_named {
        return None;
    }
    let expected = predicted.iter().find(|p| p.name == reading.of)?;
    if matches!(expected.kind, MeasureKind::Size | MeasureKind::Diagonal) {
        return None;
    }
    let near = |mm: f64| is_near(expected.released_mm, mm, reading.plus_minus_mm());
    // A reading that is nothing, within its doubt, is nothing in any unit; one that fits needs no other.
    let read = reading.value_mm();
    let fine = reading
        .values
        .iter()
        .any(|&value| is_fraction_of_inch(value));
    let bare = reading.unit == LengthUnit::Mm;
    if bare && fine && read.abs() < reading.plus_minus_mm() {
        return Some(format!(
            "{}: {} is finer than can be read to ± {}, and a fraction of an inch: write {} in if it is inches",
            reading.of,
            as_read(reading),
            shown(reading.plus_minus_mm(), units),
            number(reading.values[reading.values.len() / 2])
        ));
    }
    if near(read) {
        return None;
    }
    // Only a clear prediction can tell: one whose doubt is below its size.
    let clear = expected.released_mm.value.abs() > expected.released_mm.expanded();
    let unit = unit_that_fits(reading, |mm| {
        clear && (mm - expected.released_mm.value).abs() <= expected.released_mm.expanded()
    })?;
    Some(format!(
        "{}: {} is far from the {} {} predicted, and in {} it would fit: name the unit if it is that",
        reading.of,
        as_read(reading),
        units.change(expected.released_mm),
        units.length_symbol(),
        unit.plural()
    ))
}

fn is_near(expected: Uncertain, mm: f64, plus_minus_mm: f64) -> bool {
    (mm - expected.value).abs() <= 1.5 * expected.expanded() + plus_minus_mm
}

/// 1/8, 3/32, 1/64 …: what an inch rule shows and a metric rule does not.
fn is_fraction_of_inch(value: f64) -> bool {
    let of_64 = value.abs() * 64.0;
    let tenths = value.abs() * 10.0;
    value != 0.0
        && value.abs() < 1.0
        && (of_64 - of_64.round()).abs() < 0.05
        && (tenths - tenths.round()).abs() > 1e-6
}

/// The unit in which the number as written passes.
fn unit_that_fits(reading: &Reading, passes: impl Fn(f64) -> bool) -> Option<LengthUnit> {
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
        .find(|unit| *unit != reading.unit && passes(written * unit.in_mm()))
}

/// The same thing read twice with values that do not agree.
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
                        as_read(a),
                        as_read(b)
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

/// The difference of the diagonals, read and worked out.
fn racking_of_diagonals(
    measures: &[Measure],
    readings: &[Reading],
    units: Units,
) -> Option<(Vec<usize>, String)> {
    let rising = find(readings, "diagonal, bottom left to top right")?;
    let falling = find(readings, "diagonal, bottom right to top left")?;
    let (at, racking) = *of_kind(measures, readings, MeasureKind::Racking).first()?;
    let worked_out = rising.1.value_mm() - falling.1.value_mm();
    let apart = (worked_out - racking.value_mm()).abs();
    let doubt = rising.1.plus_minus_mm().hypot(falling.1.plus_minus_mm());
    (apart > doubt.hypot(racking.plus_minus_mm())).then(|| {
        (
            vec![at, rising.0, falling.0],
            format!(
                "the diagonals differ by {}, but racking was read as {}",
                signed(worked_out, units),
                signed(racking.value_mm(), units)
            ),
        )
    })
}

fn find<'r>(readings: &'r [Reading], name: &str) -> Option<(usize, &'r Reading)> {
    readings.iter().enumerate().find(|(_, r)| r.of == name)
}

/// In every parallelogram the squares of the diagonals add up to those of the four sides; a trapezium or a bow of a
/// few millimetres changes that only in the second order.
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
    let (widths, heights) = (side("width"), side("height"));
    let between = diagonals.first()?.1.between;
    let all = diagonals.iter().chain(&sizes);
    if diagonals.len() != 2 || widths.is_empty() || heights.is_empty() {
        return None;
    }
    if all.clone().any(|(_, r)| r.between != between) {
        return None;
    }
    let mean = |of: &[(usize, &Reading)]| {
        of.iter().map(|(_, r)| r.value_mm()).sum::<f64>() / of.len() as f64
    };
    let (width, height) = (mean(&widths), mean(&heights));
    let expected = width.hypot(height);
    let read = (0.5
        * diagonals
            .iter()
            .map(|(_, r)| r.value_mm().powi(2))
            .sum::<f64>())
    .sqrt();
    let spread = |of: &[(usize, &Reading)]| {
        let values = of.iter().map(|(_, r)| r.value_mm());
        values.clone().fold(f64::MIN, f64::max) - values.fold(f64::MAX, f64::min)
    };
    let doubt = all
        .clone()
        .map(|(_, r)| r.plus_minus_mm())
        .fold(0.0, f64::hypot);
    // Sides that are not all measured, or not straight, leave a millimetre open on top.
    let allowed = doubt + spread(&widths).max(spread(&heights)) / 2.0 + 1.0;
    ((read - expected).abs() > allowed).then(|| {
        (
            all.map(|(index, _)| *index).collect(),
            format!(
                "widths and heights ask for diagonals of about {}, read were about {}: one of them is misread, or taken \
                 between other points (--between)",
                shown(expected, units),
                shown(read, units)
            ),
        )
    })
}

/// A length in the units of the job, with its unit.
fn shown(mm: f64, units: Units) -> String {
    let (length, to_length) = format::length(units);
    let value = to_length(Millimetres(mm));
    // A hundredth of an inch hides what a rule shows; a tenth of a millimetre does not.
    let decimals = match units {
        Units::Metric => length.decimals,
        Units::UsCustomary => length.decimals + 1,
    };
    format!("{value:.decimals$} {}", length.symbol)
}

/// A difference in the units of the job, with its sign and unit.
fn signed(mm: f64, units: Units) -> String {
    let sign = if mm > 0.0 { "+" } else { "" };
    format!("{sign}{}", shown(mm, units))
}

/// The values as they were read, with their unit.
#[must_use]
pub fn as_read(reading: &Reading) -> String {
    let values: Vec<String> = reading.values.iter().map(|&value| number(value)).collect();
    format!("{} {}", values.join(", "), reading.unit.symbol())
}

fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}
