//! The steps before the first weld: opening, cut, fixture, tack.

use super::basis::Basis;
use super::model::{TravellerStep, reading, step};
use crate::correct::tolerance_mm;
use crate::fixture::model::SpacerKind;
use crate::fixture::text::{gap_names, packing_sentence, spacer_notes};
use crate::format::{Precision, count, list};
use crate::job::cut_list::CutList;
use crate::job::model::EndCut;
use crate::movement::measures::MeasureKind;
use crate::sanitise::plain;

/// Members that may be cut longer are named one by one up to so many.
const MAX_NAMED: usize = 6;

pub(super) fn opening(basis: &Basis<'_>) -> TravellerStep {
    let job = basis.job;
    let length = |mm| job.units.length_with_unit(mm, Precision::Tape);
    let Some(opening) = &job.opening else {
        return step("opening", "Measure the opening", Vec::new());
    };
    let clearance = length(opening.clearance.0);
    let mut to_do = vec![
        format!("Read it front and back; plumb and level too. The frame wants {clearance} clear."),
        "The smallest reading counts. If it is smaller than drawn, change the job before you saw."
            .into(),
    ];
    if let Some(file) = &opening.readings {
        to_do.push(format!(
            "Write the readings into {}: `coldsquare opening {}` says what goes in.",
            plain(file),
            plain(file)
        ));
    }
    let mut readings = Vec::new();
    for (name, clear) in [("width", Some(opening.width)), ("height", opening.height)] {
        for place in ["one end", "the middle", "the other end"] {
            readings.extend(clear.map(|clear| {
                reading(
                    format!("clear {name} of the opening at {place}"),
                    format!("drawn for {}", length(clear.0)),
                )
            }));
        }
    }
    readings.push(reading(
        "both diagonals of the opening",
        "equal, if it is square".into(),
    ));
    TravellerStep {
        readings,
        ..step("opening", "Measure the opening", to_do)
    }
}

pub(super) fn cut(basis: &Basis<'_>) -> TravellerStep {
    let (job, units) = (basis.job, basis.job.units);
    let cuts = CutList::new(job);
    let end = |end: EndCut| match end {
        EndCut::Square => "square".to_owned(),
        EndCut::Mitre { degrees } => format!("{degrees:.0}° mitre"),
    };
    let mut to_do: Vec<String> = cuts
        .pieces
        .iter()
        .map(|pieces| {
            let longer = pieces.members.iter().filter_map(|&member| {
                let allowances = &basis.prediction.allowances;
                allowances
                    .iter()
                    .find(|one| one.member == member)
                    .map(|one| one.add_mm.value)
            });
            let longer = longer.fold(0.0, f64::max);
            let names: Vec<String> = pieces
                .members
                .iter()
                .take(MAX_NAMED)
                .map(|&member| plain(&job.members[member].name))
                .collect();
            let more = pieces.members.len() - names.len();
            let more = if more > 0 {
                format!(" and {more} more")
            } else {
                String::new()
            };
            let ends = if pieces.ends[0] == pieces.ends[1] {
                format!("both ends {}", end(pieces.ends[0]))
            } else {
                format!("{} and {}", end(pieces.ends[0]), end(pieces.ends[1]))
            };
            format!(
                "{} of {}: {}, {ends} ({}{more}). As drawn {}; the welds take {}.",
                count(pieces.members.len(), "piece"),
                pieces.section,
                units.length_with_unit(pieces.length.0 + longer, Precision::Drawn),
                if more.is_empty() {
                    list(&names)
                } else {
                    names.join(", ")
                },
                units.length(pieces.length.0, Precision::Drawn),
                units.length_with_unit(longer, Precision::Calculated)
            )
        })
        .collect();
    to_do.push(format!(
        "`coldsquare saw {}` has the angles, which face is down, and the bars they come from.",
        basis.file
    ));
    to_do.push(
        "Saw all of one length against one stop, and mitres of both hands before the saw is moved."
            .into(),
    );
    to_do.push("Measure every piece and mark it with its name.".into());
    step("cut", "Cut", to_do)
}

/// What the diagonals of the dry fit may differ by, so that the welds leave the frame square: target and limit, mm.
///
/// The frame is out by `set up + welds` in the end. The set-up aims at minus what the welds are expected to do; what they do
/// beyond that is uncertain by U, and the tolerance less U is left for the dry fit.
pub(super) fn dry_fit_mm(basis: &Basis<'_>) -> Option<[f64; 2]> {
    let measures = &basis.prediction.measures;
    let racking = measures.iter().find(|m| m.kind == MeasureKind::Racking)?;
    let over = measures
        .iter()
        .filter(|m| m.kind == MeasureKind::Size)
        .map(|m| m.nominal_mm)
        .fold(0.0, f64::max);
    let tolerance = tolerance_mm(MeasureKind::Racking, over);
    Some([
        -racking.released_mm.value,
        tolerance - racking.released_mm.expanded(),
    ])
}

pub(super) fn fixture(basis: &Basis<'_>) -> TravellerStep {
    let (fixture, units) = (basis.fixture, basis.job.units);
    let mut to_do = vec![format!(
        "Set up {} on the table: `coldsquare fixture {} --out fixture.html` has holes and offsets.",
        count(fixture.blocks.len(), "block"),
        basis.file
    )];
    to_do.extend(
        fixture
            .packing
            .iter()
            .map(|one| format!("Packing: {}", packing_sentence(one, units))),
    );
    for spacer in &fixture.spacers {
        let kind = match spacer.kind {
            SpacerKind::Plain => "plain",
            SpacerKind::Wedges => "pairs of wedges",
        };
        to_do.push(format!(
            "{}, {kind}, {} wide: {}.",
            count(spacer.count, "spacer"),
            units.length_with_unit(spacer.width_mm, Precision::Drawn),
            gap_names(spacer)
        ));
    }
    to_do.push("Lay the frame in dry, against the stops. No joint open, none forced.".into());
    let mut readings = Vec::new();
    let diagonals = fixture
        .set_up
        .iter()
        .filter(|size| size.name.starts_with("diagonal"));
    readings.extend(diagonals.map(|size| {
        reading(
            format!("dry fit, {}", size.name),
            units.length_with_unit(size.set_up_mm, Precision::Drawn),
        )
    }));
    if let Some([target, limit]) = dry_fit_mm(basis) {
        let difference = format!(
            "{} (bottom left to top right less the other)",
            units.signed_length(target, Precision::Drawn)
        );
        let expected = match limit > 0.0 {
            true => format!(
                "{difference}, within {}: the welds are uncertain by the rest of the tolerance (EN ISO 13920, class A)",
                units.length_with_unit(limit, Precision::Drawn)
            ),
            false => format!(
                "{difference}, as near as you can: what the welds may do is more than the tolerance (EN ISO 13920, class A)"
            ),
        };
        readings.push(reading("dry fit, difference of the diagonals", expected));
    }
    let cautions = spacer_notes(fixture)
        .into_iter()
        .filter(|note| note.starts_with("Caution"));
    TravellerStep {
        cautions: cautions.map(str::to_owned).collect(),
        readings,
        ..step("fixture", "Set up in the fixture", to_do)
    }
}

pub(super) fn tack(basis: &Basis<'_>) -> TravellerStep {
    let tacked = basis
        .job
        .joints
        .iter()
        .filter(|joint| !joint.tacks.is_empty())
        .count();
    step(
        "tack",
        "Tack",
        vec![
            format!(
                "Tack {}, corners first, in diagonal pairs.",
                count(tacked, "joint")
            ),
            "Read the diagonals again before you weld.".into(),
        ],
    )
}
