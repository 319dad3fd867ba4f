//! What is to be done after welding, as text.

use super::model::{Dressed, Finishing, HolePlace, PanelSize};
use crate::format::{Precision, list, number};
use crate::job::finish::{Coating, PanelMaterial, StockSurface};
use crate::job::model::Job;
use crate::sanitise::plain;
use crate::units::Units;

/// Walls thinner than this warp and burn through under a grinder, mm. Common practice, no source.
const THIN_WALL_MM: f64 = 2.5;
/// A pane heavier than this is carried by two people, kg. Common practice, no source.
const TWO_PEOPLE_KG: f64 = 20.0;

/// What must be clean or bare before welding and before finishing. Common practice, no source.
pub(super) fn clean(job: &Job) -> Vec<String> {
    let mut clean = vec![match job.finish.stock {
        StockSurface::Bare => {
            "Before welding: mill scale, rust, oil and marker off to bright metal, 15 mm on each side of the weld.".to_owned()
        }
        StockSurface::Galvanised | StockSurface::Plated => {
            "Before welding: zinc or plating off to bright steel, 25 mm on each side of the weld, inside too where you can \
             reach. Zinc in a weld makes pores and cracks."
                .into()
        }
        StockSurface::Painted => {
            "Before welding: paint off to bright metal, 25 mm on each side of the weld and where the earth clamp sits.".into()
        }
    }];
    clean.push(match job.finish.coating {
        Coating::Bare => "Before oil or wax: spatter and slag off, degreased, dry.".into(),
        Coating::Paint => {
            "Before paint: spatter and slag off, sharp edges broken to 2 mm, degreased, blasted or ground to clean metal, \
             primed the same day. Silicone of anti-spatter spray lifts paint: wash it off."
                .into()
        }
        Coating::Powder => {
            "Before powder: spatter, slag and laser or oxide skin off, sharp edges broken, all oil out of the tubes: it boils \
             out in the oven at about 200 °C. Drill vents in closed tubes."
                .into()
        }
        Coating::Galvanised => {
            "Before galvanising: vent and drain holes in every closed tube, at both ends; slag and paint off. Ask the \
             galvaniser for their size and place."
                .into()
        }
    });
    clean
}

/// What can hurt someone.
pub(super) fn cautions(job: &Job) -> Vec<String> {
    let mut cautions = Vec::new();
    let finish = &job.finish;
    match finish.stock {
        StockSurface::Galvanised => cautions.push(
            "Caution: heated zinc gives off fume that makes people ill for a day or more. Take it off before you weld or \
             grind, draw the fume away at the weld, wear a respirator, and follow local rules."
                .into(),
        ),
        StockSurface::Plated => cautions.push(
            "Caution: plating may hold cadmium or chromium. Their fume can kill. Do not heat or grind plated metal that you \
             cannot name; have it stripped."
                .into(),
        ),
        StockSurface::Painted => cautions.push(
            "Caution: heated paint gives off toxic fume; old paint may hold lead. Take it off cold, with suction, and keep the \
             dust out of the shop."
                .into(),
        ),
        StockSurface::Bare => {}
    }
    if finish.coating == Coating::Galvanised {
        cautions.push(
            "Caution: a closed tube without vents bursts in the zinc bath. No job leaves the shop without them.".into(),
        );
    }
    if matches!(finish.coating, Coating::Paint | Coating::Powder) {
        cautions.push(
            "Caution: never degrease with chlorinated solvent, such as brake cleaner, what will be welded: arc and vapour make \
             phosgene, which kills. Solvents and paint: air, gloves, no spark, and their safety data sheets."
                .into(),
        );
    }
    if !finish.flush.is_empty() {
        cautions.push(
            "Caution: grinding throws sparks for ten metres and bursts discs. Guard on, eyes, ears and lungs covered, nothing \
             that burns near."
                .into(),
        );
    }
    if finish
        .panels
        .iter()
        .any(|panel| panel.material == PanelMaterial::Glass)
    {
        cautions.push(
            "Caution: glass is carried upright, in cut-proof gloves and sleeves, by two where it is large or heavy. Where \
             people can fall against it, codes ask for safety glass: ask before you order. Set it on blocks, never on steel, \
             and weld nothing once it is in."
                .into(),
        );
    }
    cautions
}

/// "weld 3": what grinding leaves, as a sentence for several welds that are alike.
#[must_use]
pub fn dressing(finishing: &Finishing, units: Units) -> Vec<String> {
    let mut groups: Vec<(String, Vec<u16>)> = Vec::new();
    for weld in &finishing.dressed {
        let text = left(weld, units);
        match groups.iter_mut().find(|(other, _)| *other == text) {
            Some((_, numbers)) => numbers.push(weld.weld),
            None => groups.push((text, vec![weld.weld])),
        }
    }
    let mut sentences: Vec<String> = groups
        .into_iter()
        .map(|(text, numbers)| {
            let noun = if numbers.len() == 1 { "Weld" } else { "Welds" };
            format!("{noun} {}: {text}", list(&numbers))
        })
        .collect();
    let thin = finishing
        .dressed
        .iter()
        .any(|weld| weld.wall_mm < THIN_WALL_MM);
    let share = finishing
        .dressed
        .iter()
        .map(|weld| weld.heat_share)
        .fold(0.0, f64::max);
    if share > 0.0 {
        let about = number(100.0 * share, 0);
        let thin = if thin {
            " On walls this thin keep the disc moving, with a flap disc for the last tenths: a blue spot is where it warps."
        } else {
            ""
        };
        sentences.push(format!(
            "Grinding puts about {about} % of the weld's own heat back in if it is done in one go: a little at a time, \
             going round, with pauses until you can lay your hand on it.{thin}"
        ));
    }
    sentences
}

fn left(weld: &Dressed, units: Units) -> String {
    let length = |mm| units.length_with_unit(mm, Precision::Drawn);
    let asked = length(weld.asked_mm);
    if weld.fillet {
        return format!(
            "a fillet weld is its throat of {asked}; flush, nothing of it is left. Blend it at most, and keep its size."
        );
    }
    if weld.left_mm < weld.asked_mm - 0.05 {
        return format!(
            "throat asked {asked}, left {} at most when flush, and only with full penetration.",
            length(weld.left_mm)
        );
    }
    format!(
        "throat {asked} is kept when flush, if the weld has penetrated that far; cut a trial weld to see."
    )
}

/// What the coating adds, as sentences; empty without one.
#[must_use]
pub fn coating(job: &Job, finishing: &Finishing) -> Vec<String> {
    let [least, most] = finishing.coat_um;
    if most <= 0.0 {
        return Vec::new();
    }
    let mm = |um: f64| {
        job.units
            .length_with_unit(um / 1000.0, Precision::Calculated)
    };
    let source = match job.finish.coating {
        Coating::Galvanised => "ISO 1461:2009, table 3; up to twice that at edges, common practice",
        Coating::Powder => "EN 13438; value from memory",
        _ => "ISO 12944-5; value from memory",
    };
    let mut sentences = vec![format!(
        "The coating adds {} to {} a face ({source}): the frame grows by twice that, holes shrink by twice that.",
        mm(least),
        mm(most)
    )];
    if let Some(opening) = &job.opening {
        sentences.push(format!(
            "In the opening it takes {} or less of the {} that you want on each side.",
            mm(most),
            job.units
                .length_with_unit(opening.clearance.0, Precision::Tape)
        ));
    }
    sentences
}

/// A panel, as a sentence.
#[must_use]
pub fn panel(panel: &PanelSize, units: Units) -> String {
    let whole = |mm: f64| units.length(mm, Precision::Tape);
    let with = |mm: f64| units.length_with_unit(mm, Precision::Tape);
    let cover = if panel.cover_mm < panel.cover_wanted_mm {
        format!(
            " Too little: pushed to one side an edge is covered by {} only, {} are wanted. Make the rebate deeper.",
            with(panel.cover_mm.max(0.0)),
            with(panel.cover_wanted_mm)
        )
    } else {
        format!(
            " Every edge stays covered by {} or more.",
            with(panel.cover_mm)
        )
    };
    let carry = if panel.mass_kg > TWO_PEOPLE_KG {
        " Carry it with two."
    } else {
        ""
    };
    format!(
        "Panel of {}, {} thick: {} x {}, for an opening of {} x {}. Clearance {} at the sides and {} above and below, of which {} for \
         warmth and {} for a frame out of square.{cover} It weighs {}.{carry}",
        panel.material,
        with(panel.thickness_mm),
        whole(panel.size_mm[0]),
        with(panel.size_mm[1]),
        whole(panel.opening_mm[0]),
        with(panel.opening_mm[1]),
        with(panel.clearance_mm[0]),
        with(panel.clearance_mm[1]),
        with(panel.thermal_mm[0].max(panel.thermal_mm[1])),
        with(panel.square_mm),
        units.mass(coldsquare_core::units::Kilograms(panel.mass_kg)),
    )
}

/// A hole, as a sentence.
#[must_use]
pub fn hole(hole: &HolePlace, measured: bool, units: Units) -> String {
    let mark = |mm: f64| units.length(mm, Precision::Drawn);
    let signed = |mm: f64| units.signed_length(mm, Precision::Drawn);
    let on_the_frame = if measured {
        format!(
            ", {} and {} on the frame as measured",
            mark(hole.from_edge_mm[0]),
            mark(hole.from_edge_mm[1])
        )
    } else {
        String::new()
    };
    format!(
        "{}, in {}: {} right and {} up from the middle of the frame. From the left and the lower edge {} and {} as \
         drawn{on_the_frame}; {}.",
        plain(&hole.name),
        plain(&hole.member),
        signed(hole.from_middle_mm[0]),
        signed(hole.from_middle_mm[1]),
        mark(hole.from_edge_drawn_mm[0]),
        mark(hole.from_edge_drawn_mm[1]),
        hole.what
    )
}
