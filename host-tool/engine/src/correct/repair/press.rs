//! Bending the member back cold, over blocks, in the frame as it stands.

use super::bowed::BowedMember;
use super::case::{STORED_ENERGY, not_possible, place};
use super::in_frame::{Aim, InFrame};
use crate::correct::Change;
use crate::correct::assembled::{Hardest, PressedFrame};
use crate::correct::model::{Degree, Place, PlaceKind, RepairKind, RepairOption};
use crate::correct::press::{MAX_SPRINGINESS, Next, next, springiness};
use crate::formulas::bending::{Press, bearing_limit, strain_limit};

pub(super) fn press(bowed: &BowedMember<'_>, frame: &InFrame<'_>) -> RepairOption {
    let no = |why: String| not_possible(RepairKind::Press, why);
    let (press, change) = (bowed.press(), bowed.case.change);
    let pressed = &frame.pressed;
    if pressed.curve.points().len() < 2 {
        return no("The frame round it does not let it bend.".into());
    }
    let (first, bows) = history(change);
    let most_mm = pressed.curve.greatest_kept_mm(1.0);
    let beside = |kept_mm: f64| pressed.others_at(1.0, kept_mm);
    let aim = frame.aim(bowed.case.tolerance_mm, [first.abs(), most_mm], beside);
    let changes = beside(aim.kept_mm);
    if let Some(why) = frame.refusal(bowed, "Pressing", &aim, &changes) {
        return no(why);
    }
    let Some(next) = next(&pressed.curve, &bows, aim.left_mm(), frame.first_share()) else {
        return no(PAST_STRAIGHT.into());
    };
    if let Some(why) = over_limit(bowed, pressed, &next, aim) {
        return no(why);
    }
    let step = next.step;
    let strained = Hardest {
        member: bowed.member,
        strain: step.strain,
        limit: strain_limit(bowed.bar.profile(), bowed.bar.metal()),
    };
    RepairOption {
        kind: RepairKind::Press,
        possible: true,
        summary: summary(
            bowed,
            &next,
            &strained,
            frame.notes(bowed, &changes, next.number),
        ),
        steps: steps(bowed, &next, frame),
        cautions: vec![
            STORED_ENERGY.into(),
            "The frame is calculated as a whole, with welds as strong as its members: look at the welds for cracks after each \
             press."
                .into(),
            "Stop if the wall wrinkles, flattens or cracks.".into(),
        ],
        effort: Degree::Medium,
        risk: if strained.strain > 0.5 * strained.limit {
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
            ("yield_mpa", next.yield_ratio * bowed.bar.metal().yield_mpa),
            ("strain", strained.strain),
            ("strain_allowed", strained.limit),
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

/// Why a press is too much for a section, its wall or the press.
fn over_limit(
    bowed: &BowedMember<'_>,
    pressed: &PressedFrame,
    next: &Next,
    aim: Aim,
) -> Option<String> {
    let (units, settings, step) = (bowed.case.units(), bowed.case.settings, &next.step);
    if pressed.strains_structural(next.yield_ratio, aim.kept_mm) {
        return Some("Refused: it would bend a structural member for good. The code that applies and a licensed engineer \
                     decide."
            .into());
    }
    let (profile, metal) = (bowed.bar.profile(), bowed.bar.metal());
    let hardest = pressed.hardest_at(next.yield_ratio, aim.kept_mm);
    if let Some(hardest) = hardest.filter(|hardest| hardest.strain > hardest.limit) {
        return Some(format!(
            "It would strain the outer wall of {} by {:.2} %; this section wrinkles or cracks beyond {:.2} %. Replace the \
             member, or spread the bend.",
            bowed.case.job.members[hardest.member].name,
            100.0 * hardest.strain,
            100.0 * hardest.limit
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

fn summary(
    bowed: &BowedMember<'_>,
    next: &Next,
    strained: &Hardest,
    notes: Vec<String>,
) -> Vec<String> {
    let (case, units, step) = (bowed.case, bowed.case.units(), &next.step);
    let springy = springiness(&bowed.bar, &bowed.press(), bowed.first_mm()) > MAX_SPRINGINESS;
    let yield_mpa = next.yield_ratio * bowed.bar.metal().yield_mpa;
    let presses = if springy {
        "more than 3 (so slender a bar springs far before it yields, and one press tells little about the next)"
    } else {
        "about 3"
    };
    let mut sentences = vec![
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
            units.stress(yield_mpa),
            case.drawn(step.left_mm.max(0.0)),
            units.force(step.force_n),
            units.force(case.settings.press_n),
            100.0 * strained.strain,
            100.0 * strained.limit
        ),
    ];
    sentences.extend(notes);
    sentences
}

fn steps(bowed: &BowedMember<'_>, next: &Next, frame: &InFrame<'_>) -> Vec<String> {
    let (case, press) = (bowed.case, bowed.press());
    let mut steps = hold(bowed, frame);
    let stop = case.drawn(next.step.travel_mm);
    let push = if frame.tied_by().is_empty() {
        format!("Set a stop {stop} below the middle as it lies, press down to it, then release.")
    } else {
        format!(
            "Set a stop {stop} further from the beam than the middle is now, press out to it, then release."
        )
    };
    steps.extend([
        format!(
            "Press at two places {} apart, through a stiff spreader, with the same packing under each.",
            case.mark(press.apart_mm)
        ),
        push,
        format!(
            "Measure the bow over the whole length: coldsquare measure JOB --after-correction {} --bow \"...\"; then \
             coldsquare correct JOB gives the next press.",
            next.number
        ),
    ]);
    steps
}

/// How to hold it: on blocks, or where bars are in the way of blocks, from a beam along its outside.
fn hold(bowed: &BowedMember<'_>, frame: &InFrame<'_>) -> Vec<String> {
    let (case, press) = (bowed.case, bowed.press());
    let (span, packing) = (
        case.mark(press.span_mm),
        case.mark(case.settings.packing_mm),
    );
    if frame.tied_by().is_empty() {
        return vec![format!(
            "Lay it with the side it bows to ({}) up, on two blocks {span} apart, packing {packing} long under the whole width (a \
             saddle under round tube).",
            bowed.side()
        )];
    }
    vec![format!(
        "Lay a beam stiffer than {} along the side it bows to ({}). Tie the two together with a chain at each of two places {span} \
         apart, packing {packing} long under each chain, and put the jack between them.",
        bowed.name(),
        bowed.side()
    )]
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
