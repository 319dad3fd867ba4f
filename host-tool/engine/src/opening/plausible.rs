//! What readings cannot be: in another unit, of different things, or too few to say what goes in.

use super::model::{Kind, Reading, Readings, Side};
use crate::format::Precision;
use crate::reading::Reader;
use crate::units::Units;
use coldsquare_core::units::MILLIMETRES_PER_INCH;

/// Openings for frames are between these sizes, mm. Common practice for hand-carried frames, no source: beyond them the
/// unit is another one.
const SIZES_MM: (f64, f64) = (100.0, 12_000.0);
/// Readings of one kind that differ by more than this share of their median are of different things.
const MAX_SPREAD: f64 = 0.2;

/// Widths and heights that cannot be: the unit is another one, or they are of different things.
pub(super) fn sizes(reader: &Reader<'_>, readings: &Readings) {
    type Is = fn(&Kind) -> bool;
    let kinds: [(&str, Is); 3] = [
        ("width", |kind| matches!(kind, Kind::Width(_))),
        ("height", |kind| matches!(kind, Kind::Height(_))),
        ("diagonal", |kind| matches!(kind, Kind::Diagonal { .. })),
    ];
    for (name, is) in kinds {
        let all: Vec<&Reading> = readings
            .readings
            .iter()
            .filter(|one| is(&one.kind))
            .collect();
        let mut sorted: Vec<f64> = all.iter().map(|one| one.mm).collect();
        sorted.sort_by(f64::total_cmp);
        let Some(&median) = sorted.get(sorted.len() / 2) else {
            continue;
        };
        let fits = |mm: f64| {
            let sane = (SIZES_MM.0..=SIZES_MM.1).contains(&mm);
            sane && (all.len() < 3 || (mm / median - 1.0).abs() <= MAX_SPREAD)
        };
        for one in &all {
            if !fits(one.mm) {
                let what = format!(
                    "a {name} of {} cannot be",
                    readings.units.length_with_unit(one.mm, Precision::Drawn)
                );
                let what = if (SIZES_MM.0..=SIZES_MM.1).contains(&one.mm) {
                    let others = readings.units.length_with_unit(median, Precision::Drawn);
                    format!("{what} beside the others, about {others}")
                } else {
                    what
                };
                reader.error(
                    &one.span,
                    what,
                    unit_that_fits(one.mm, readings.units, fits),
                );
            }
        }
    }
}

/// The unit in which a reading would fit, as a hint.
fn unit_that_fits(mm: f64, units: Units, fits: impl Fn(f64) -> bool) -> String {
    let own = match units {
        Units::Metric => 1.0,
        Units::UsCustomary => MILLIMETRES_PER_INCH,
    };
    let number = mm / own;
    let known = [
        ("mm", 1.0),
        ("cm", 10.0),
        ("in", MILLIMETRES_PER_INCH),
        ("ft", 304.8),
        ("m", 1000.0),
    ];
    let sane = |mm: f64| (SIZES_MM.0..=SIZES_MM.1).contains(&mm);
    let in_unit = |fits: &dyn Fn(f64) -> bool| -> Vec<String> {
        let fitting = known.iter().filter(|(_, factor)| fits(number * factor));
        let text = crate::format::number(number, 3);
        let text = text.trim_end_matches('0').trim_end_matches('.');
        fitting
            .map(|(unit, _)| format!("\"{text} {unit}\""))
            .collect()
    };
    let mut fitting = in_unit(&fits);
    if fitting.is_empty() && !sane(mm) {
        fitting = in_unit(&sane);
    }
    match fitting.as_slice() {
        [] => "read it again".into(),
        several => format!(
            "if it was read in another unit, name the unit: {}",
            several.join(" or ")
        ),
    }
}

/// Too few readings to say what goes in: each is told, with what to read.
pub(super) fn enough(reader: &Reader<'_>, readings: &Readings) {
    for (depth, (_, name)) in readings.depths.iter().enumerate() {
        let here = || {
            readings
                .readings
                .iter()
                .filter(move |one| one.depth == depth)
        };
        let span = here().next().map_or(0..0, |one| one.span.clone());
        let widths = here()
            .filter(|one| matches!(one.kind, Kind::Width(_)))
            .count();
        let heights = here()
            .filter(|one| matches!(one.kind, Kind::Height(_)))
            .count();
        if widths < 2 {
            let what = format!(
                "{} at the {name}: nobody can tell a taper from one place",
                crate::format::count(widths, "width")
            );
            reader.error(
                &span,
                what,
                "measure the width near the floor, half way up and near the top",
            );
        }
        if heights == 1 {
            let what = format!("one height at the {name}: the top may run out");
            reader.error(
                &span,
                what,
                "measure the height near the left wall and near the right",
            );
        }
    }
    let has = |test: fn(&Kind) -> bool| readings.readings.iter().any(|one| test(&one.kind));
    let span = readings
        .readings
        .first()
        .map_or(0..0, |one| one.span.clone());
    let plumb = has(|kind| matches!(kind, Kind::Off(Side::Left | Side::Right, ..)));
    let level = has(|kind| matches!(kind, Kind::Off(Side::Floor | Side::Top, ..)));
    let diagonals = has(|kind| matches!(kind, Kind::Diagonal { .. }));
    let heights = has(|kind| matches!(kind, Kind::Height(_)));
    let leans_known = plumb || diagonals && level;
    if !leans_known {
        reader.error(
            &span,
            "nothing says whether the walls are plumb: equal widths may lean",
            "hold a plumb line or a level to one wall at least, as left_wall = [[60, 1780, \"6 right\"]]",
        );
    }
    if heights && !level && !(diagonals && plumb) {
        reader.error(
            &span,
            "nothing says whether the floor is level",
            "lay a level on the floor, as floor = [[40, 860, \"1 up\"]], or measure both diagonals",
        );
    }
}
