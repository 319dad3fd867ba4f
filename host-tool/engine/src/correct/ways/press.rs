//! Bending it back cold, over blocks.

use super::{Bowed, LOADED, place, shut};
use crate::correct::model::{Degree, Kind, Place, PlaceKind, Way};
use crate::correct::press::{SPRINGY, next, springiness};
use crate::formulas::bending::{Press, bearing_limit, strain_limit};

pub(super) fn press(bowed: &Bowed<'_>) -> Way {
    let (bar, press, show) = (&bowed.bar, bowed.press(), bowed.case.show());
    let (change, options) = (bowed.case.change, bowed.case.options);
    // The side it first bowed to is positive.
    let now = change.change_mm.value;
    let first = change.history_mm.first().copied().unwrap_or(now);
    let bows: Vec<f64> = change
        .history_mm
        .iter()
        .map(|&bow| bow * first.signum())
        .collect();
    let next = match next(bar, &press, &bows) {
        Ok(Some(next)) => next,
        Ok(None) => {
            return shut(
                Kind::Press,
                "The last push went past straight. Measure again, and begin anew towards the other side with --build.",
            );
        }
        Err(error) => return shut(Kind::Press, error.to_string()),
    };
    let (step, metal) = (next.step, bar.metal());
    let most_strain = strain_limit(bar.profile(), metal);
    if step.strain > most_strain {
        return shut(
            Kind::Press,
            format!(
                "It would strain the outer wall by {:.2} %, more than the {:.2} % this section stands before it wrinkles or cracks. Replace the member, or spread the bend.",
                100.0 * step.strain,
                100.0 * most_strain
            ),
        );
    }
    let dent = bearing_limit(bar.profile(), metal, options.packing_mm).map_or(0.0, |force| force.0);
    let each = step.force_n / 2.0;
    if each > dent {
        return shut(
            Kind::Press,
            format!(
                "{} under each packing would dent the wall, which stands {}. Use longer packing (--packing).",
                show.force(each),
                show.force(dent)
            ),
        );
    }
    if step.force_n > options.press_n {
        return shut(
            Kind::Press,
            format!(
                "It takes {}; what you have gives {} (--press-force). Wider blocks (--span) or a jack need less or give more.",
                show.force(step.force_n),
                show.force(options.press_n)
            ),
        );
    }
    let (side, unit) = (bowed.side(), show.unit());
    let pushes = if springiness(bar, &press, first.abs()) > SPRINGY {
        "more than 3 (so slender a bar springs far before it yields, and a push tells little of the next)"
    } else {
        "3 or so"
    };
    let (travel, past) = (show.gap(step.travel_mm), show.gap(step.past_straight_mm));
    Way {
        kind: Kind::Press,
        open: true,
        says: vec![
            format!("Push {} of {pushes}: {travel} {unit} at the middle from where it stands on the blocks, which is {past} {unit} past straight; then let go and measure.", next.number),
            format!("Told for metal that yields at {}, so that it does not go too far: then {} {unit} are left, more if it is stronger. Force about {} of the {} you have, strain {:.2} % of {:.2} % allowed.", show.stress(next.yield_mpa), show.gap(step.left_mm.max(0.0)), show.force(step.force_n), show.force(options.press_n), 100.0 * step.strain, 100.0 * most_strain),
        ],
        steps: vec![
            format!("Lay it with the side it bows to ({side}) up, on two blocks {} {unit} apart, packing {} {unit} long under the whole width (a saddle under round tube).", show.place(press.span_mm), show.place(options.packing_mm)),
            format!("Press at two places {} {unit} apart, through a stiff spreader, with the same packing under each.", show.place(press.apart_mm)),
            format!("Set a stop {travel} {unit} below where the middle stands, press down to it, let go."),
            format!("Measure the bow over the whole length: coldsquare measure JOB --after-correction {} --bow \"...\"; then coldsquare correct JOB tells the next push.", next.number),
        ],
        cautions: vec![
            LOADED.into(),
            "Bars welded to it make it stiffer and bend with it: push less at first than told when they are many, and look at their welds for cracks after each push.".into(),
            "Stop when the wall wrinkles, flattens or cracks.".into(),
        ],
        effort: Degree::Medium,
        risk: if step.strain > 0.5 * most_strain { Degree::Medium } else { Degree::Low },
        places: places(&press),
        figures: [
            ("push", next.number as f64),
            ("travel_mm", step.travel_mm),
            ("past_straight_mm", step.past_straight_mm),
            ("left_mm", step.left_mm),
            ("force_n", step.force_n),
            ("yield_mpa", next.yield_mpa),
            ("strain", step.strain),
            ("strain_allowed", most_strain),
            ("span_mm", press.span_mm),
            ("apart_mm", press.apart_mm),
        ]
        .into(),
    }
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
