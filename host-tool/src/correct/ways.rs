//! The ways for one fault, each with how much, where, effort and risk.

use super::bar::bar;
use super::heat::{Heatable, heatable, lines};
use super::model::{Degree, Fault, Kind, Place, PlaceKind, Way};
use super::press::next;
use super::{Change, Options};
use crate::job::model::{Job, Member, Point};
use crate::movement::answers::{MeasureKind, towards};
use crate::movement::predict::Prediction;
use coldsquare_core::bending::{Bar, Press, bearing_limit, strain_limit};

/// Every way for a change, open ones first, the cheapest sound one first.
pub(super) fn ways(
    job: &Job,
    change: &Change<'_>,
    measured: bool,
    tolerance_mm: f64,
    options: &Options,
) -> Vec<Way> {
    let mut ways = vec![leave(job, change, measured, tolerance_mm)];
    match change.measure.kind {
        MeasureKind::Bow => ways.extend(for_bow(job, change, measured, options)),
        MeasureKind::Size => ways.push(cut_length(change, measured)),
        _ => ways.push(pull(change, measured)),
    }
    sort(&mut ways);
    ways
}

fn sort(ways: &mut [Way]) {
    ways.sort_by_key(|way| {
        (
            !way.open,
            way.kind != Kind::Leave,
            way.effort as u8 + way.risk as u8,
            way.risk,
        )
    });
}

/// A way that is shut, with the reason.
fn shut(kind: Kind, why: impl Into<String>) -> Way {
    Way {
        kind,
        open: false,
        says: vec![why.into()],
        steps: Vec::new(),
        cautions: Vec::new(),
        effort: Degree::Low,
        risk: Degree::High,
        places: Vec::new(),
    }
}

fn leave(job: &Job, change: &Change<'_>, measured: bool, tolerance_mm: f64) -> Way {
    let value = change.change_mm.value.abs();
    if super::is_too_large(job, change) {
        return shut(
            Kind::Leave,
            "It leaves less clearance in the opening than the job wants, doubt included.",
        );
    }
    if value > tolerance_mm {
        return shut(
            Kind::Leave,
            format!(
                "It is {:.1} mm beyond the {tolerance_mm:.1} mm tolerated.",
                value - tolerance_mm
            ),
        );
    }
    let how = if measured {
        "Measure again before you mend it."
    } else {
        "Measure it when it is welded."
    };
    Way {
        open: true,
        risk: Degree::Low,
        ..shut(
            Kind::Leave,
            format!("Inside the {tolerance_mm:.1} mm tolerated, but by less than its doubt. {how}"),
        )
    }
}

fn cut_length(change: &Change<'_>, measured: bool) -> Way {
    let add = -change.change_mm.value;
    if measured {
        return shut(
            Kind::CutLength,
            format!(
                "This frame stays as wide as it is, unless a joint is cut and welded again. For the next one cut {add:+.1} mm."
            ),
        );
    }
    Way {
        open: true,
        risk: Degree::Low,
        steps: vec![
            "Cut to the list of `coldsquare predict`, which has the allowance of each member."
                .into(),
        ],
        ..shut(
            Kind::CutLength,
            format!(
                "Cut the members along it {add:+.1} ± {:.1} mm.",
                change.change_mm.expanded()
            ),
        )
    }
}

/// Racking and wind: what the frame takes is not worked out.
fn pull(change: &Change<'_>, measured: bool) -> Way {
    let says = match change.measure.kind {
        MeasureKind::Racking | MeasureKind::Diagonal => {
            "Pull the longer diagonal with a bar clamp from corner to corner."
        }
        _ => "Block the low corners, clamp the high ones down.",
    };
    let steps = if measured {
        vec![
            "Go a little past square or flat, let go, measure; repeat with a little more.".into(),
            "How far it must go is not worked out here: corners, not bars, give way.".into(),
        ]
    } else {
        vec!["Hold it square while you tack; measure the diagonals after every second weld.".into()]
    };
    Way {
        open: true,
        steps,
        cautions: vec![LOADED.into()],
        effort: Degree::Medium,
        risk: Degree::Medium,
        ..shut(Kind::Clamps, says)
    }
}

const STRUCTURAL: &str =
    "Refused: structural. The code that applies and a licensed engineer decide.";

const LOADED: &str = "A frame under a clamp or jack stores energy: stand aside, never in line with it, wear eye \
    protection, chain down what could fly, and let go slowly.";

fn for_bow(job: &Job, change: &Change<'_>, measured: bool, options: &Options) -> Vec<Way> {
    let Some(member) = change.measure.member.and_then(|m| job.members.get(m)) else {
        return Vec::new();
    };
    let bow = change.change_mm.value;
    let direction = change.measure.terms[0].direction * if bow < 0.0 { -1.0 } else { 1.0 };
    if options.structural {
        let kinds = if measured {
            &[Kind::Press, Kind::Heat, Kind::OppositeWeld][..]
        } else {
            &[Kind::PreSet][..]
        };
        return kinds.iter().map(|&kind| shut(kind, STRUCTURAL)).collect();
    }
    let bar = match bar(member, direction, &job.material) {
        Ok(bar) => bar,
        Err(error) => return vec![shut(Kind::Press, error.to_string())],
    };
    if measured {
        vec![
            press(member, &bar, direction, change, options),
            heat(job, member, &bar, direction, change, options),
            opposite(job, direction),
        ]
    } else {
        if bow.abs() < change.change_mm.expanded() {
            return vec![shut(
                Kind::PreSet,
                "What is expected is smaller than its own doubt: a pre-set would be a guess.",
            )];
        }
        vec![pre_set(member, &bar, direction, bow.abs(), options)]
    }
}

fn press_of(member: &Member, options: &Options) -> Press {
    let length_mm = (member.to - member.from).length();
    let span_mm = options
        .span_mm
        .unwrap_or(0.9 * length_mm)
        .clamp(0.2 * length_mm, length_mm);
    Press {
        span_mm,
        apart_mm: (span_mm / 3.0).max(options.packing_mm.min(0.9 * span_mm)),
        length_mm,
    }
}

fn press_places(press: &Press) -> Vec<Place> {
    let middle = press.length_mm / 2.0;
    let place = |offset: f64, what| Place {
        at_mm: middle + offset,
        amount_mm: 0.0,
        what,
    };
    let (half, beside) = (press.span_mm / 2.0, press.apart_mm / 2.0);
    vec![
        place(-half, PlaceKind::Block),
        place(-beside, PlaceKind::Press),
        place(beside, PlaceKind::Press),
        place(half, PlaceKind::Block),
    ]
}

fn press(
    member: &Member,
    bar: &Bar,
    direction: Point,
    change: &Change<'_>,
    options: &Options,
) -> Way {
    let press = press_of(member, options);
    // The side it first bowed to is positive.
    let first = change
        .history_mm
        .first()
        .copied()
        .unwrap_or(change.change_mm.value);
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
                "{:.1} kN under each packing would dent the wall, which stands {:.1} kN. Use longer packing (--packing).",
                each / 1e3,
                dent / 1e3
            ),
        );
    }
    if step.force_n > options.press_n {
        return shut(
            Kind::Press,
            format!(
                "It takes {:.1} kN; what you have gives {:.1} kN (--press-force). Wider blocks (--span) or a jack need less or give more.",
                step.force_n / 1e3,
                options.press_n / 1e3
            ),
        );
    }
    let side = towards(direction);
    Way {
        kind: Kind::Press,
        open: true,
        says: vec![
            format!("Push {} of 3 or so: {:.1} mm at the middle from where it stands on the blocks, which is {:.1} mm past straight; then let go and measure.", next.number, step.travel_mm, step.past_straight_mm),
            format!("Told for metal that yields at {:.0} MPa, so that it does not go too far: then {:.1} mm are left, more if it is stronger. Force about {:.1} kN, strain {:.2} % of {:.2} % allowed.", next.yield_mpa, step.left_mm.max(0.0), step.force_n / 1e3, 100.0 * step.strain, 100.0 * most_strain),
        ],
        steps: vec![
            format!("Lay it with the side it bows to ({side}) up, on two blocks {:.0} mm apart, packing {:.0} mm long under the whole width (a saddle under round tube).", press.span_mm, options.packing_mm),
            format!("Press at two places {:.0} mm apart, through a stiff spreader, with the same packing under each.", press.apart_mm),
            format!("Set a stop {:.1} mm below where the middle stands, press down to it, let go.", step.travel_mm),
            format!("Measure the bow over the whole length: coldsquare measure JOB --after-correction {} --bow \"...\"; then coldsquare correct JOB tells the next push.", next.number),
        ],
        cautions: vec![
            LOADED.into(),
            "Bars welded to it make it stiffer and bend with it: push less at first than told when they are many, and look at their welds for cracks after each push.".into(),
            "Stop when the wall wrinkles, flattens or cracks.".into(),
        ],
        effort: Degree::Medium,
        risk: if step.strain > 0.5 * most_strain { Degree::Medium } else { Degree::Low },
        places: press_places(&press),
    }
}

fn heat(
    job: &Job,
    member: &Member,
    bar: &Bar,
    direction: Point,
    change: &Change<'_>,
    options: &Options,
) -> Way {
    if options.coated {
        return shut(
            Kind::Heat,
            "Refused: galvanised or coated. Zinc and paint give off poisonous fumes, and the coating is lost; press it cold.",
        );
    }
    if options.near_burning {
        return shut(
            Kind::Heat,
            "Refused: glass, wood or something that burns is near. Take it off first.",
        );
    }
    let celsius = match heatable(&job.material) {
        Heatable::UpTo { celsius } => celsius,
        Heatable::No(why) => {
            return shut(Kind::Heat, format!("Not for {}: {why}.", job.material.name));
        }
    };
    let length = (member.to - member.from).length();
    let bow = change.change_mm.value.abs();
    let Some(lines) = lines(bar, &job.material, celsius, bow, length) else {
        return shut(
            Kind::Heat,
            "More than 40 lines would be needed: too much for heat alone.",
        );
    };
    let first = length / 2.0 - (lines.count as f64 - 1.0) / 2.0 * lines.spacing_mm;
    let half = lines.count.div_ceil(2);
    Way {
        kind: Kind::Heat,
        open: true,
        says: vec![format!(
            "{} lines across the face it bows to ({}), {:.0} mm wide and {:.0} mm long, {:.0} mm apart about the middle; each takes about {:.2} mm out, ± 50 % (our own starting factor).",
            lines.count, towards(direction), lines.width_mm, lines.length_mm, lines.spacing_mm, lines.each_mm
        )],
        steps: vec![
            format!("Heat one line at a time, quickly, to no more than {celsius:.0} °C ({:.0} °F): dull red in shade is the very most; use a temperature crayon.", celsius * 1.8 + 32.0),
            "Let each cool in still air; no water.".into(),
            format!("Begin with {half} of them, from the middle outwards, every second first. Cold, measure, then go on with what is left."),
        ],
        cautions: vec![
            "Hot work: clear what burns, extinguisher at hand, watch for half an hour after; ventilate; closed tubes can burst, so open or drill them first.".into(),
            "Never beside a coating, glass, wood, a spring or a sealed hollow; never twice on the same place.".into(),
        ],
        effort: Degree::Medium,
        risk: Degree::High,
        places: (0..lines.count)
            .map(|k| Place { at_mm: first + k as f64 * lines.spacing_mm, amount_mm: lines.width_mm, what: PlaceKind::Heat })
            .collect(),
    }
}

fn opposite(job: &Job, direction: Point) -> Way {
    if job.material.density_kg_m3 < 3500.0 {
        return shut(
            Kind::OppositeWeld,
            "Every bead softens aluminium of this kind; brace it instead.",
        );
    }
    let side = towards(direction);
    Way {
        kind: Kind::OppositeWeld,
        open: true,
        says: vec![format!("A bead or a brace on the side it bows to ({side}) pulls that side shorter. How much is not steady enough to tell: one short bead, cold, measure.")],
        steps: vec!["Only where a weld does no harm to looks or use; a bolted brace that pulls it straight can be taken off again.".into()],
        cautions: vec!["Arc, fumes and fire as for every weld. A bead that joins nothing starts cracks where load goes up and down.".into()],
        effort: Degree::Medium,
        risk: Degree::High,
        places: Vec::new(),
    }
}

fn pre_set(member: &Member, bar: &Bar, direction: Point, bow_mm: f64, options: &Options) -> Way {
    let press = press_of(member, options);
    let length = press.length_mm;
    let pressed = press.for_kept(bar, bow_mm);
    let most_strain = strain_limit(bar.profile(), bar.metal());
    if pressed.strain > most_strain {
        return shut(
            Kind::PreSet,
            format!(
                "Bending it so far would strain its wall by {:.2} %, more than {:.2} %.",
                100.0 * pressed.strain,
                100.0 * most_strain
            ),
        );
    }
    let shim = |k: u32| {
        let part = f64::from(k) / 6.0;
        Place {
            at_mm: part * length,
            amount_mm: 4.0 * bow_mm * part * (1.0 - part),
            what: PlaceKind::Shim,
        }
    };
    let places: Vec<Place> = (1..6).map(shim).collect();
    let heights: Vec<String> = places
        .iter()
        .map(|shim| format!("{:.1} at {:.0}", shim.amount_mm, shim.at_mm))
        .collect();
    Way {
        kind: Kind::PreSet,
        open: true,
        says: vec![
            format!("Give it {bow_mm:.1} mm the other way ({}) before it is welded. Shims along it, mm from its start: {}.", towards(-direction), heights.join(", ")),
        ],
        steps: vec![
            format!("Bend it cold so that it stays: blocks {:.0} mm apart, press at two places {:.0} mm apart, {:.1} mm at the middle ({:.1} kN); let go and measure.", press.span_mm, press.apart_mm, pressed.travel_mm, pressed.force_n / 1e3),
            "Lay it on the shims in the jig and clamp it there. A bar that is only sprung onto shims goes back for the most part when the clamps come off.".into(),
        ],
        cautions: vec![LOADED.into()],
        effort: Degree::Medium,
        risk: Degree::Low,
        places,
    }
}

/// Adds what three more clamps would do, where it was worked out and helps.
pub(super) fn add_clamps(fault: &mut Fault, clamped: Option<&Prediction>) {
    let with = clamped.and_then(|with| with.measures.iter().find(|m| m.name == fault.name));
    let Some(with) = with.filter(|_| fault.length_mm > 0.0) else {
        return;
    };
    let left = with.released_mm.value;
    let way = if left.abs() < 0.8 * fault.change_mm.abs() {
        Way {
            open: true,
            steps: vec!["Firm clamps at both ends and the middle of the member; take them off when all is cold.".into()],
            effort: Degree::Low,
            risk: Degree::Low,
            ..shut(Kind::Clamps, format!("Three more clamps on it leave {left:+.1} ± {:.1} mm instead of {:+.1}.", with.released_mm.expanded(), fault.change_mm))
        }
    } else {
        shut(
            Kind::Clamps,
            format!(
                "Three more clamps on it would leave {left:+.1} mm of {:+.1}: they do not help.",
                fault.change_mm
            ),
        )
    };
    fault.ways.push(way);
    sort(&mut fault.ways);
}
