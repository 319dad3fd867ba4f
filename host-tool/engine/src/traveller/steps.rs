//! The steps of a job, with its numbers.

use super::basis::Basis;
use super::model::{ReadingToNote, StepTime, TravellerStep};
use super::ripped;
use crate::correct::tolerance_mm;
use crate::finish::text as finishing;
use crate::fixture::model::SpacerKind;
use crate::fixture::text::{gap_names, loosening, packing_sentence, spacer_notes};
use crate::format::{Precision, count, list};
use crate::job::cut_list::CutList;
use crate::job::model::EndCut;
use crate::movement::measures::MeasureKind;
use crate::movement::predict::{Predicted, SAW_AND_FIT_UP_STANDARD_MM, numbers};
use crate::sanitise::plain;
use coldsquare_core::uncertainty::COVERAGE_FACTOR;

/// Bows to read on the finished frame: the largest.
const MAX_BOWS: usize = 4;
/// Members that may be cut longer are named one by one up to so many.
const MAX_NAMED: usize = 6;

/// The steps that have a time, in order.
pub(super) fn steps(basis: &Basis<'_>, times: &[StepTime]) -> Vec<TravellerStep> {
    let step = |time: &StepTime| match time.id {
        "opening" => opening(basis),
        "rip" => step("rip", "Rip the stock", ripped::sentences(basis.job)),
        "cut" => cut(basis),
        "clean" => step(
            "clean",
            "Clean the ends",
            vec![basis.finishing.clean[0].clone()],
        ),
        "fixture" => fixture(basis),
        "tack" => tack(basis),
        "weld" => weld(basis),
        "measure" => measure(basis),
        "dress" => step(
            "dress",
            "Dress the welds",
            finishing::dressing(basis.finishing, basis.job.units),
        ),
        "drill" => drill(basis),
        "finish" => finish(basis),
        _ => hang(basis),
    };
    let mut steps: Vec<TravellerStep> = times.iter().map(step).collect();
    for one in &mut steps {
        one.cautions.extend(cautions(basis, one.id));
    }
    steps
}

fn step(id: &'static str, title: &'static str, to_do: Vec<String>) -> TravellerStep {
    TravellerStep {
        id,
        title,
        cautions: Vec::new(),
        to_do,
        readings: Vec::new(),
    }
}

fn reading(name: impl Into<String>, expected: String) -> ReadingToNote {
    ReadingToNote {
        name: name.into(),
        expected,
    }
}

/// Cautions in the step where they matter.
fn cautions(basis: &Basis<'_>, id: &str) -> Vec<String> {
    let usual = match id {
        "cut" | "rip" => {
            "Caution: eyes and ears covered, stock clamped, no gloves at a turning blade."
        }
        "weld" => {
            "Caution: arc, fume, hot metal and current. Helmet, gloves, fume drawn off, nothing that burns near; follow local \
             rules, and the procedure."
        }
        _ => "",
    };
    let words: &[&str] = match id {
        "clean" => &["heated zinc", "plating", "heated paint", "chlorinated"],
        "weld" => &["heated zinc", "plating", "heated paint"],
        "dress" => &["grinding"],
        "finish" => &["chlorinated", "vents", "glass"],
        _ => &[],
    };
    let own = basis.finishing.cautions.iter();
    let own = own.filter(|caution| words.iter().any(|word| caution.contains(word)));
    let usual = (!usual.is_empty()).then(|| usual.to_owned());
    usual.into_iter().chain(own.cloned()).collect()
}

fn opening(basis: &Basis<'_>) -> TravellerStep {
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

fn cut(basis: &Basis<'_>) -> TravellerStep {
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

fn fixture(basis: &Basis<'_>) -> TravellerStep {
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

fn tack(basis: &Basis<'_>) -> TravellerStep {
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

fn weld(basis: &Basis<'_>) -> TravellerStep {
    let (job, fixture) = (basis.job, basis.fixture);
    let order: Vec<String> = numbers(job, &basis.prediction.order)
        .iter()
        .map(u16::to_string)
        .collect();
    let mut to_do = vec![
        format!(
            "{} in {}: {}. `coldsquare plan {} --out plan.html` has a bench card with directions and waits.",
            count(job.welds.len(), "weld"),
            plain(basis.order),
            order.join(" "),
            basis.file
        ),
        format!(
            "Log it: `coldsquare map {} LOG` shows every weld against its procedure.",
            basis.file
        ),
    ];
    to_do.extend(loosening(fixture, job.units));
    if !fixture.spacers.is_empty() {
        to_do.push(
            "Spacers out before all is cold: each pair when the last weld of its gap is done."
                .into(),
        );
    }
    step("weld", "Weld", to_do)
}

/// The readings of the finished frame: sizes, diagonals, twist, and the largest bows.
fn measure(basis: &Basis<'_>) -> TravellerStep {
    let units = basis.job.units;
    // Set up and cut as this sheet says, a size comes out as drawn; what the welds take stays uncertain.
    let whole = |m: &Predicted| {
        let standard = m.released_mm.standard.hypot(SAW_AND_FIT_UP_STANDARD_MM);
        format!(
            "{} ± {}",
            units.length(m.nominal_mm, Precision::Drawn),
            units.length_with_unit(COVERAGE_FACTOR * standard, Precision::Drawn)
        )
    };
    let measures = &basis.prediction.measures;
    let of = |kinds: &[MeasureKind]| -> Vec<&Predicted> {
        measures
            .iter()
            .filter(|m| kinds.contains(&m.kind))
            .collect()
    };
    let mut readings: Vec<ReadingToNote> = of(&[MeasureKind::Size, MeasureKind::Diagonal])
        .into_iter()
        .map(|m| reading(m.name.clone(), whole(m)))
        .collect();
    let mut bows = of(&[MeasureKind::Bow]);
    bows.sort_by(|a, b| {
        b.released_mm
            .value
            .abs()
            .total_cmp(&a.released_mm.value.abs())
    });
    bows.truncate(MAX_BOWS);
    let changes = of(&[MeasureKind::Twist]).into_iter().chain(bows);
    readings
        .extend(changes.map(|m| reading(m.name.clone(), units.change_with_unit(m.released_mm))));
    TravellerStep {
        readings,
        ..step(
            "measure",
            "Measure and straighten",
            vec![
                "Cold, out of the fixture, on a flat table.".into(),
                format!(
                    "Note it: `coldsquare measure {} --reading \"NAME = VALUE\"`, with the names below.",
                    basis.file
                ),
                format!(
                    "Out of tolerance: `coldsquare correct {}` says what to do.",
                    basis.file
                ),
            ],
        )
    }
}

fn drill(basis: &Basis<'_>) -> TravellerStep {
    let finishing = basis.finishing;
    let holes = finishing.holes.iter();
    let mut to_do: Vec<String> = holes
        .map(|hole| finishing::hole(hole, finishing.measured, basis.job.units))
        .collect();
    to_do.push("Mark from the middle, check against the wall or the bracket, then drill.".into());
    step("drill", "Drill", to_do)
}

fn finish(basis: &Basis<'_>) -> TravellerStep {
    let (job, done) = (basis.job, basis.finishing);
    let mut to_do: Vec<String> = done.clean.iter().skip(1).cloned().collect();
    to_do.extend(finishing::coating(job, done));
    to_do.extend(
        done.panels
            .iter()
            .map(|panel| finishing::panel(panel, job.units)),
    );
    step("finish", "Finish", to_do)
}

fn hang(basis: &Basis<'_>) -> TravellerStep {
    let (job, units) = (basis.job, basis.job.units);
    let mut to_do: Vec<String> = basis
        .prediction
        .fits
        .iter()
        .map(|fit| {
            // Cut and set up as this sheet says, a size comes out as drawn.
            let drawn = basis
                .prediction
                .measures
                .iter()
                .filter(|m| m.kind == MeasureKind::Size && m.name.starts_with(fit.direction))
                .map(|m| m.nominal_mm)
                .fold(0.0, f64::max);
            let sides = if fit.sides > 1.0 {
                "on each side"
            } else {
                "above it"
            };
            format!(
                "The {} leaves {} {sides}, {} is wanted.",
                fit.direction,
                units.length_with_unit((fit.opening_mm - drawn) / fit.sides, Precision::Tape),
                units.length(fit.wanted_mm, Precision::Tape)
            )
        })
        .collect();
    if job
        .opening
        .as_ref()
        .is_some_and(|opening| opening.readings.is_some())
    {
        to_do.push(format!(
            "`coldsquare fit {}` says whether it goes in, and how.",
            basis.file
        ));
    }
    to_do.push(format!(
        "It weighs about {}. Two people, or a hoist, before it is heavy for one.",
        units.mass(job.mass())
    ));
    to_do.push("Check the fixings for what they carry; where people depend on them, ask who is licensed to say.".into());
    step("hang", "Hang", to_do)
}
