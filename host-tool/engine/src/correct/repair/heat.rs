//! Heat on the long side, in lines or in spots.

use super::bowed::BowedMember;
use super::case::{not_possible, place};
use super::in_frame::InFrame;
use crate::correct::heat::{Heatable, Heated, HeatedSide, Pattern, heatable};
use crate::correct::model::{Degree, PlaceKind, RepairKind, RepairOption};
use crate::format::Precision;
use coldsquare_core::units::Celsius;

const CAUTIONS: [&str; 2] = [
    "Hot work: clear what burns, keep an extinguisher at hand, watch for half an hour after; ventilate; closed tubes can \
     burst, so open or drill them first.",
    "Never beside a coating, glass, wood, a spring or a sealed hollow; never twice in the same place.",
];

/// Lines and spots, or one refusal for both.
pub(super) fn heat(bowed: &BowedMember<'_>, frame: &InFrame<'_>) -> Vec<RepairOption> {
    let (settings, material) = (bowed.case.settings, &bowed.case.job.material);
    let refused = |why: String| vec![not_possible(RepairKind::Heat, why)];
    if settings.coated {
        return refused(
            "Refused: galvanised or coated. Zinc and paint give off poisonous fumes, and the coating is lost; press it cold."
                .into(),
        );
    }
    if settings.near_combustibles {
        return refused(
            "Refused: glass, wood or something that burns is near. Take it off first.".into(),
        );
    }
    match heatable(material) {
        Heatable::UpTo { celsius } => [Pattern::Lines, Pattern::Spots]
            .map(|pattern| in_pattern(bowed, frame, pattern, celsius))
            .into(),
        Heatable::No(why) => refused(format!("Not for {}: {why}.", material.name)),
    }
}

fn in_pattern(
    bowed: &BowedMember<'_>,
    frame: &InFrame<'_>,
    pattern: Pattern,
    celsius: f64,
) -> RepairOption {
    let (kind, name) = match pattern {
        Pattern::Lines => (RepairKind::Heat, "lines"),
        Pattern::Spots => (RepairKind::HeatSpots, "spots"),
    };
    let side = HeatedSide {
        bar: &bowed.bar,
        material: &bowed.case.job.material,
        celsius,
        length_mm: bowed.length_mm,
        bow_per_kink: &frame.bow_per_kink,
    };
    let whole = bowed.case.change.change_mm.value.abs();
    let beside = |kept_mm: f64| frame.beside_bends(kept_mm);
    let aim = frame.aim(bowed.case.tolerance_mm, [whole, whole], beside);
    let changes = beside(aim.kept_mm);
    if let Some(why) = frame.refusal(bowed, "Heating", &aim, &changes) {
        return not_possible(kind, why);
    }
    let bow = aim.kept_mm;
    let heated = match side.places(pattern, bow) {
        Ok(heated) => heated,
        Err(error) => return not_possible(kind, error.to_string()),
    };
    if heated.together_mm < bow {
        let why = format!(
            "{} {name}, all there is room for, take out about {} of {}.",
            heated.count,
            bowed.case.drawn(heated.together_mm),
            bowed.case.drawn(bow)
        );
        return not_possible(kind, why);
    }
    let stations = heated.count / heated.rows;
    let first = bowed.length_mm / 2.0 - (stations as f64 - 1.0) / 2.0 * heated.spacing_mm;
    RepairOption {
        kind,
        possible: true,
        summary: std::iter::once(summary(bowed, pattern, name, &heated, first))
            .chain(frame.moves_with_it(bowed, &changes))
            .collect(),
        steps: steps(bowed, name, celsius, heated.count.div_ceil(2)),
        cautions: CAUTIONS.map(str::to_string).into(),
        effort: Degree::Medium,
        risk: Degree::High,
        places: (0..stations)
            .map(|k| place(first + k as f64 * heated.spacing_mm, PlaceKind::Heat))
            .collect(),
        figures: figures(&heated, celsius).into(),
    }
}

fn figures(heated: &Heated, celsius: f64) -> [(&'static str, f64); 8] {
    [
        ("count", heated.count as f64),
        ("rows", heated.rows as f64),
        ("along_mm", heated.along_mm),
        ("across_mm", heated.across_mm),
        ("spacing_mm", heated.spacing_mm),
        ("each_mm", heated.each_mm),
        ("together_mm", heated.together_mm),
        ("at_most_c", celsius),
    ]
}

fn summary(
    bowed: &BowedMember<'_>,
    pattern: Pattern,
    name: &str,
    heated: &Heated,
    first_mm: f64,
) -> String {
    let (case, side) = (bowed.case, bowed.side());
    let size = match pattern {
        Pattern::Lines => format!(
            "across the face it bows to ({side}), {} wide and {} long",
            case.mark(heated.along_mm),
            case.mark(heated.across_mm)
        ),
        Pattern::Spots => format!(
            "of {} on the face it bows to ({side}), {}",
            case.mark(heated.along_mm),
            match heated.rows {
                1 => "along its middle".into(),
                rows => format!("in {rows} rows"),
            }
        ),
    };
    let units = case.units();
    format!(
        "{} {name} {size}, {} apart about the middle, the first {} from the start. One in the middle takes out about {}, all \
         together {} ± {} (± 50 %: our own starting factor; a shop's factors are for welds, not for a torch).",
        heated.count,
        case.mark(heated.spacing_mm),
        case.mark(first_mm),
        units.length_with_unit(heated.each_mm, Precision::Calculated),
        units.length(heated.together_mm, Precision::Drawn),
        case.drawn(0.5 * heated.together_mm)
    )
}

fn steps(bowed: &BowedMember<'_>, name: &str, celsius: f64, half: usize) -> Vec<String> {
    let limit = bowed.case.units().both_temperatures(Celsius(celsius));
    vec![
        format!(
            "Heat one of the {name} at a time, quickly, to no more than {limit}: dull red in the shade is the limit; use a \
             temperature crayon."
        ),
        "Let each cool in still air; no water.".into(),
        format!(
            "Begin with {half} of them, from the middle outwards, every second one first: even if they do half as much again, \
             that is not past straight. Let it cool, measure, then go on with what is left."
        ),
    ]
}
