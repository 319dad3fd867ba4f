//! Before the build: bow the member the other way first.

use super::bowed::BowedMember;
use super::case::{STORED_ENERGY, not_possible};
use crate::correct::model::{Degree, Place, PlaceKind, RepairKind, RepairOption};
use crate::format::list;
use crate::formulas::bending::{Row, bearing_limit, strain_limit};
use coldsquare_core::formula::FormulaError;

/// A bar bent at `n` places stands off an even bow by about its bow over n², mm: a height that a shim shows.
const OFF_EVEN_MM: f64 = 0.6;
/// The most places: more is a day's work.
const MAX_PLACES: usize = 7;
/// Blocks nearer than this many depths dent and shear a bar more than they bend it. Common practice, no source.
const MIN_SPAN_DEPTHS: f64 = 6.0;

pub(super) fn pre_camber(bowed: &BowedMember<'_>) -> RepairOption {
    let no = |why: String| not_possible(RepairKind::PreCamber, why);
    let change = bowed.case.change.change_mm;
    let bow_mm = change.value.abs();
    if bow_mm < change.expanded() {
        return no(
            "The predicted bow is smaller than its uncertainty: a pre-camber would be a guess."
                .into(),
        );
    }
    let row = match row(bowed, bow_mm) {
        Ok(row) => row,
        Err(error) => return no(error.to_string()),
    };
    if let Some(why) = over_limit(bowed, &row) {
        return no(why);
    }
    let places: Vec<Place> = row
        .places_mm
        .iter()
        .zip(row.heights_mm())
        .map(|(&at_mm, amount_mm)| Place {
            at_mm,
            amount_mm,
            what: PlaceKind::Shim,
        })
        .collect();
    RepairOption {
        kind: RepairKind::PreCamber,
        possible: true,
        summary: vec![how_much(bowed, bow_mm, &places)],
        steps: vec![
            bend(bowed, &row),
            "Lay it on the shims in the jig and clamp it there. A bar that is only sprung onto shims mostly springs back when \
             the clamps come off."
                .into(),
        ],
        cautions: vec![STORED_ENERGY.into()],
        effort: Degree::Medium,
        risk: Degree::Low,
        places,
        figures: [
            ("bow_mm", bow_mm),
            ("bends", row.places_mm.len() as f64),
            ("travel_mm", row.pressed.travel_mm),
            ("force_n", row.pressed.force_n),
            ("span_mm", row.press.span_mm),
            ("apart_mm", row.press.apart_mm),
        ]
        .into(),
    }
}

/// As few bends as make the bow even enough, with room for the blocks of each and within what the press can do.
fn row(bowed: &BowedMember<'_>, bow_mm: f64) -> Result<Row, FormulaError> {
    let (low, high) = bowed.bar.profile().edges_mm();
    let min_span = bowed.min_span_mm().max(MIN_SPAN_DEPTHS * (high - low));
    let even = |count: &usize| bow_mm / (count * count) as f64 <= OFF_EVEN_MM;
    let mut count = (3..MAX_PLACES).step_by(2).find(even).unwrap_or(MAX_PLACES);
    let packing_mm = bowed.case.settings.packing_mm;
    let press = |count| Row::press_at(bowed.length_mm, count, packing_mm);
    while count > 1 && press(count)?.span_mm < min_span {
        count -= 2;
    }
    Row::for_bow(&bowed.bar, press(count)?, count, bow_mm)
}

/// Why a bend is too much for the wall or the press.
fn over_limit(bowed: &BowedMember<'_>, row: &Row) -> Option<String> {
    let (units, settings, pressed) = (bowed.case.units(), bowed.case.settings, &row.pressed);
    let (profile, metal) = (bowed.bar.profile(), bowed.bar.metal());
    let max_strain = strain_limit(profile, metal);
    if pressed.strain > max_strain {
        return Some(format!(
            "Bending it that far would strain its wall by {:.2} %; the limit is {:.2} %.",
            100.0 * pressed.strain,
            100.0 * max_strain
        ));
    }
    let dent = bearing_limit(profile, metal, settings.packing_mm).map_or(0.0, |force| force.0);
    if pressed.force_n / 2.0 > dent {
        return Some(format!(
            "{} under each packing would dent the wall, which takes {}. Use longer packing (--packing).",
            units.force(pressed.force_n / 2.0),
            units.force(dent)
        ));
    }
    (pressed.force_n > settings.press_n).then(|| {
        format!(
            "It takes {}; yours gives {} (--press-force).",
            units.force(pressed.force_n),
            units.force(settings.press_n)
        )
    })
}

fn how_much(bowed: &BowedMember<'_>, bow_mm: f64, places: &[Place]) -> String {
    let case = bowed.case;
    let heights: Vec<String> = places
        .iter()
        .map(|shim| {
            format!(
                "{} high at {}",
                case.drawn(shim.amount_mm),
                case.mark(shim.at_mm)
            )
        })
        .collect();
    format!(
        "Bow it {} the other way ({}) before it is welded. Shims for that shape, measured from its start: {}.",
        case.drawn(bow_mm),
        case.job.seen_from.towards(-bowed.side),
        heights.join(", ")
    )
}

fn bend(bowed: &BowedMember<'_>, row: &Row) -> String {
    let (case, press) = (bowed.case, row.press);
    let marks: Vec<String> = row.places_mm.iter().map(|&at| case.mark(at)).collect();
    let at = match marks.len() {
        1 => "in the middle".to_string(),
        many => format!("alike at {many} places, {} from its start", list(&marks)),
    };
    format!(
        "Bend it cold so that it stays bent, {at}: blocks {} apart, half on each side of the place, press at two places {} apart, \
         {} at the middle ({}). Let go and measure; if the bow is short, go round again a little deeper.",
        case.mark(press.span_mm),
        case.mark(press.apart_mm),
        case.drawn(row.pressed.travel_mm),
        case.units().force(row.pressed.force_n)
    )
}
