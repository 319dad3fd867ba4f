//! Bending the member back cold, over blocks.

use super::bowed::BowedMember;
use super::case::{STORED_ENERGY, not_possible, place};
use crate::correct::Change;
use crate::correct::model::{Degree, Place, PlaceKind, RepairKind, RepairOption};
use crate::correct::press::{MAX_SPRINGINESS, Next, next, springiness};
use crate::formulas::bending::{Press, Step, bearing_limit, strain_limit};

pub(super) fn press(bowed: &BowedMember<'_>) -> RepairOption {
    let no = |why: String| not_possible(RepairKind::Press, why);
    let (bar, press, change) = (&bowed.bar, bowed.press(), bowed.case.change);
    let (first, bows) = history(change);
    let next = match next(bar, &press, &bows) {
        Ok(Some(next)) => next,
        Ok(None) => return no(PAST_STRAIGHT.into()),
        Err(error) => return no(error.to_string()),
    };
    if let Some(why) = over_limit(bowed, &next.step) {
        return no(why);
    }
    let (step, max_strain) = (next.step, strain_limit(bar.profile(), bar.metal()));
    RepairOption {
        kind: RepairKind::Press,
        possible: true,
        summary: summary(bowed, &next, first.abs()),
        steps: steps(bowed, &next),
        cautions: vec![
            STORED_ENERGY.into(),
            "Bars welded to it make it stiffer and bend with it: if there are many, press less at first than given here, and \
             check their welds for cracks after each press."
                .into(),
            "Stop if the wall wrinkles, flattens or cracks.".into(),
        ],
        effort: Degree::Medium,
        risk: if step.strain > 0.5 * max_strain {
            Degree::Medium
        } else {
            Degree::Low
        },
        places: places(&press),
        figures: [
            ("push", next.number as f64),
            ("travel_mm", step.travel_mm),
            ("past_straight_mm", step.past_straight_mm),
            ("left_mm", step.left_mm),
            ("force_n", step.force_n),
            ("yield_mpa", next.yield_mpa),
            ("strain", step.strain),
            ("strain_allowed", max_strain),
            ("span_mm", press.span_mm),
            ("apart_mm", press.apart_mm),
        ]
        .into(),
    }
}

const PAST_STRAIGHT: &str = "The last press went past straight. Measure again, and start over towards the other side with \
    --build.";

/// The first bow, mm, and the bows at all stages so far, positive to the side of the first.
fn history(change: &Change<'_>) -> (f64, Vec<f64>) {
    let first = change
        .history_mm
        .first()
        .copied()
        .unwrap_or(change.change_mm.value);
    let bows = change.history_mm.iter().map(|&bow| bow * first.signum());
    (first, bows.collect())
}

/// Why a push is too much for the section, its wall or the press.
fn over_limit(bowed: &BowedMember<'_>, step: &Step) -> Option<String> {
    let (units, settings) = (bowed.case.units(), bowed.case.settings);
    let (profile, metal) = (bowed.bar.profile(), bowed.bar.metal());
    let max_strain = strain_limit(profile, metal);
    if step.strain > max_strain {
        return Some(format!(
            "It would strain the outer wall by {:.2} %; this section wrinkles or cracks beyond {:.2} %. Replace the member, or \
             spread the bend.",
            100.0 * step.strain,
            100.0 * max_strain
        ));
    }
    let dent = bearing_limit(profile, metal, settings.packing_mm).map_or(0.0, |force| force.0);
    let each = step.force_n / 2.0;
    if each > dent {
        return Some(format!(
            "{} under each packing would dent the wall, which takes {}. Use longer packing (--packing).",
            units.force(each),
            units.force(dent)
        ));
    }
    (step.force_n > settings.press_n).then(|| {
        format!(
            "It takes {}; yours gives {} (--press-force). Set the blocks further apart (--span), or use a stronger jack.",
            units.force(step.force_n),
            units.force(settings.press_n)
        )
    })
}

fn summary(bowed: &BowedMember<'_>, next: &Next, first_bow_mm: f64) -> Vec<String> {
    let (case, units, step) = (bowed.case, bowed.case.units(), &next.step);
    let max_strain = strain_limit(bowed.bar.profile(), bowed.bar.metal());
    let springy = springiness(&bowed.bar, &bowed.press(), first_bow_mm) > MAX_SPRINGINESS;
    let presses = if springy {
        "more than 3 (so slender a bar springs far before it yields, and one press tells little about the next)"
    } else {
        "about 3"
    };
    vec![
        format!(
            "Press {} of {presses}: {} at the middle from where it rests on the blocks, which is {} past straight; then release it \
             and measure.",
            next.number,
            case.drawn(step.travel_mm),
            case.drawn(step.past_straight_mm)
        ),
        format!(
            "This assumes that the metal yields at {}, so that it does not go too far: then {} are left, more if it is \
             stronger. Force about {} of the {} you have, strain {:.2} % of {:.2} % allowed.",
            units.stress(next.yield_mpa),
            case.drawn(step.left_mm.max(0.0)),
            units.force(step.force_n),
            units.force(case.settings.press_n),
            100.0 * step.strain,
            100.0 * max_strain
        ),
    ]
}

fn steps(bowed: &BowedMember<'_>, next: &Next) -> Vec<String> {
    let (case, press) = (bowed.case, bowed.press());
    vec![
        format!(
            "Lay it with the side it bows to ({}) up, on two blocks {} apart, packing {} long under the whole width (a saddle \
             under round tube).",
            bowed.side(),
            case.mark(press.span_mm),
            case.mark(case.settings.packing_mm)
        ),
        format!(
            "Press at two places {} apart, through a stiff spreader, with the same packing under each.",
            case.mark(press.apart_mm)
        ),
        format!(
            "Set a stop {} below the middle as it lies, press down to it, then release.",
            case.drawn(next.step.travel_mm)
        ),
        format!(
            "Measure the bow over the whole length: coldsquare measure JOB --after-correction {} --bow \"...\"; then \
             coldsquare correct JOB gives the next press.",
            next.number
        ),
    ]
}

fn places(press: &Press) -> Vec<Place> {
    let middle = press.length_mm / 2.0;
    let (half, beside) = (press.span_mm / 2.0, press.apart_mm / 2.0);
    vec![
        place(middle - half, PlaceKind::Block),
        place(middle - beside, PlaceKind::Press),
        place(middle + beside, PlaceKind::Press),
        place(middle + half, PlaceKind::Block),
    ]
}
