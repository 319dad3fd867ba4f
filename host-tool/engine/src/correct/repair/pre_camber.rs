//! Before the build: bow the member the other way first.

use super::bowed::BowedMember;
use super::case::{STORED_ENERGY, not_possible};
use crate::correct::model::{Degree, Place, PlaceKind, RepairKind, RepairOption};
use crate::formulas::bending::{Pressed, strain_limit};
use crate::movement::measures::towards;

pub(super) fn pre_camber(bowed: &BowedMember<'_>) -> RepairOption {
    let change = bowed.case.change.change_mm;
    let bow_mm = change.value.abs();
    if bow_mm < change.expanded() {
        return not_possible(
            RepairKind::PreCamber,
            "The predicted bow is smaller than its uncertainty: a pre-camber would be a guess.",
        );
    }
    let (bar, press) = (&bowed.bar, bowed.press());
    let pressed = press.for_kept(bar, bow_mm);
    let max_strain = strain_limit(bar.profile(), bar.metal());
    if pressed.strain > max_strain {
        return not_possible(
            RepairKind::PreCamber,
            format!(
                "Bending it that far would strain its wall by {:.2} %; the limit is {:.2} %.",
                100.0 * pressed.strain,
                100.0 * max_strain
            ),
        );
    }
    let places = shims(bowed.length_mm, bow_mm);
    RepairOption {
        kind: RepairKind::PreCamber,
        possible: true,
        summary: vec![how_much(bowed, bow_mm, &places)],
        steps: vec![
            bend(bowed, &pressed),
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
            ("travel_mm", pressed.travel_mm),
            ("force_n", pressed.force_n),
            ("span_mm", press.span_mm),
            ("apart_mm", press.apart_mm),
        ]
        .into(),
    }
}

/// Five shims under a parabola of this bow.
fn shims(length_mm: f64, bow_mm: f64) -> Vec<Place> {
    let shim = |k: u32| {
        let part = f64::from(k) / 6.0;
        Place {
            at_mm: part * length_mm,
            amount_mm: 4.0 * bow_mm * part * (1.0 - part),
            what: PlaceKind::Shim,
        }
    };
    (1..6).map(shim).collect()
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
        "Bow it {} the other way ({}) before it is welded. Shims, measured from its start: {}.",
        case.drawn(bow_mm),
        towards(-bowed.side),
        heights.join(", ")
    )
}

fn bend(bowed: &BowedMember<'_>, pressed: &Pressed) -> String {
    let (case, press) = (bowed.case, bowed.press());
    format!(
        "Bend it cold so that it stays bent: blocks {} apart, press at two places {} apart, {} at the middle ({}); let go \
         and measure.",
        case.mark(press.span_mm),
        case.mark(press.apart_mm),
        case.drawn(pressed.travel_mm),
        case.units().force(pressed.force_n)
    )
}
