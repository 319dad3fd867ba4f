//! Heat on the long side, in lines or in spots.

use super::{Bowed, place, shut};
use crate::correct::heat::{Heatable, HeatedSide, Pattern, heatable};
use crate::correct::model::{Degree, Kind, PlaceKind, Way};

/// Lines and spots side by side, or one refusal for both.
pub(super) fn heat(bowed: &Bowed<'_>) -> Vec<Way> {
    let (options, material) = (bowed.case.options, &bowed.case.job.material);
    let refused = |why: String| vec![shut(Kind::Heat, why)];
    if options.coated {
        return refused("Refused: galvanised or coated. Zinc and paint give off poisonous fumes, and the coating is lost; press it cold.".into());
    }
    if options.near_burning {
        return refused(
            "Refused: glass, wood or something that burns is near. Take it off first.".into(),
        );
    }
    match heatable(material) {
        Heatable::UpTo { celsius } => [Pattern::Lines, Pattern::Spots]
            .map(|pattern| in_pattern(bowed, pattern, celsius))
            .into(),
        Heatable::No(why) => refused(format!("Not for {}: {why}.", material.name)),
    }
}

fn in_pattern(bowed: &Bowed<'_>, pattern: Pattern, celsius: f64) -> Way {
    let (show, side) = (bowed.case.show(), bowed.side());
    let unit = show.unit();
    let (kind, name) = match pattern {
        Pattern::Lines => (Kind::Heat, "lines"),
        Pattern::Spots => (Kind::HeatSpots, "spots"),
    };
    let heated = HeatedSide {
        bar: &bowed.bar,
        material: &bowed.case.job.material,
        celsius,
        length_mm: bowed.length_mm,
    };
    let bow = bowed.case.change.change_mm.value.abs();
    let heated = match heated.places(pattern, bow) {
        Ok(heated) => heated,
        Err(error) => return shut(kind, error.to_string()),
    };
    if heated.together_mm < bow {
        return shut(
            kind,
            format!(
                "{} {name}, all there is room for, take about {} {unit} out of {}.",
                heated.count,
                show.gap(heated.together_mm),
                show.gap(bow)
            ),
        );
    }
    let size = match pattern {
        Pattern::Lines => format!(
            "across the face it bows to ({side}), {} {unit} wide and {} {unit} long",
            show.place(heated.along_mm),
            show.place(heated.across_mm)
        ),
        Pattern::Spots => format!(
            "of {} {unit} on the face it bows to ({side}), {}",
            show.place(heated.along_mm),
            match heated.rows {
                1 => "along its middle".into(),
                rows => format!("in {rows} rows"),
            }
        ),
    };
    let stations = heated.count / heated.rows;
    let first = bowed.length_mm / 2.0 - (stations as f64 - 1.0) / 2.0 * heated.spacing_mm;
    let half = heated.count.div_ceil(2);
    let together = show.gap(heated.together_mm);
    Way {
        kind,
        open: true,
        says: vec![format!(
            "{} {name} {size}, {} {unit} apart about the middle, the first {} {unit} from the start. One in the middle takes about {} {unit} out, all together {together} ± {} {unit} (± 50 %: our own starting factor; a shop's factors are of welds, not of a torch).",
            heated.count, show.place(heated.spacing_mm), show.place(first), show.fine(heated.each_mm), show.gap(0.5 * heated.together_mm)
        )],
        steps: vec![
            format!("Heat one of the {name} at a time, quickly, to no more than {}: dull red in shade is the very most; use a temperature crayon.", show.temperature(celsius)),
            "Let each cool in still air; no water.".into(),
            format!("Begin with {half} of them, from the middle outwards, every second first: even if they do half as much again, that is not past straight. Cold, measure, then go on with what is left."),
        ],
        cautions: vec![
            "Hot work: clear what burns, extinguisher at hand, watch for half an hour after; ventilate; closed tubes can burst, so open or drill them first.".into(),
            "Never beside a coating, glass, wood, a spring or a sealed hollow; never twice on the same place.".into(),
        ],
        effort: Degree::Medium,
        risk: Degree::High,
        places: (0..stations)
            .map(|k| place(first + k as f64 * heated.spacing_mm, PlaceKind::Heat))
            .collect(),
        figures: [
            ("count", heated.count as f64),
            ("rows", heated.rows as f64),
            ("along_mm", heated.along_mm),
            ("across_mm", heated.across_mm),
            ("spacing_mm", heated.spacing_mm),
            ("each_mm", heated.each_mm),
            ("together_mm", heated.together_mm),
            ("at_most_c", celsius),
        ]
        .into(),
    }
}
