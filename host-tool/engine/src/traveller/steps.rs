//! The steps of a job, with its numbers.

use super::basis::Basis;
use super::before::{cut, fixture, opening, tack};
use super::model::{ReadingToNote, StepTime, TravellerStep, reading, step};
use super::ripped;
use crate::finish::text as finishing;
use crate::fixture::text::loosening;
use crate::format::{Precision, count};
use crate::movement::measures::MeasureKind;
use crate::movement::predict::{Predicted, SAW_AND_FIT_UP_STANDARD_MM, numbers};
use crate::sanitise::plain;
use coldsquare_core::uncertainty::COVERAGE_FACTOR;

/// Bows to read on the finished frame: the largest.
const MAX_BOWS: usize = 4;
/// The steps that have a time, in order.
pub(super) fn steps(basis: &Basis<'_>, times: &[StepTime]) -> Vec<TravellerStep> {
    let one = |time: &StepTime| match time.id {
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
    let mut steps: Vec<TravellerStep> = times.iter().map(one).collect();
    for one in &mut steps {
        one.cautions.extend(cautions(basis, one.id));
    }
    steps
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
