//! What now, in millimetres: the ways open to a maker for what was measured, or for what is expected before the build.
//!
//! ```text
//! Measurements, or a Prediction -> changes -> tolerance -> Fault -> ways (leave, press, heat, ... ) -> Correction
//!                                                                              -> text, JSON, page
//! ```

pub mod bar;
pub mod heat;
pub mod model;
pub mod press;
pub(crate) mod show;
pub mod text;
mod together;
mod tolerance;
mod ways;

pub use together::together;
pub use ways::can_be_pre_set;

use crate::job::model::{Job, Structural};
use crate::measured::{Measurement, State};
use crate::movement::answers::{Measure, MeasureKind};
use crate::movement::engine::Engine;
use crate::movement::predict::Prediction;
use crate::units::Units;
use crate::format::list;
use coldsquare_core::uncertainty::Uncertain;
use model::{Correction, Fault};
use ways::Case;

/// What the maker has and wants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Tolerance ± of every measure, mm; without it that of EN ISO 13920.
    pub tolerance_mm: Option<f64>,
    /// The most that clamp, screw or jack presses with, N.
    pub press_n: f64,
    /// Length along the bar of the packing under the press and on the blocks, mm.
    pub packing_mm: f64,
    /// Distance of the blocks, mm; without it [`press::usual_span_mm`].
    pub span_mm: Option<f64>,
    /// Galvanised, painted or otherwise coated.
    pub coated: bool,
    /// Glass, wood or anything that burns is on the frame or near it.
    pub near_burning: bool,
    /// People or a code depend on all of it, whatever the job says.
    pub structural: bool,
    /// What the sentences are in.
    pub units: Units,
}

impl Default for Options {
    /// 10 kN is a heavy forged screw clamp or a small jack, 60 mm packing a piece of flat bar. Common practice, no
    /// source.
    fn default() -> Self {
        Self {
            tolerance_mm: None,
            press_n: 10_000.0,
            packing_mm: 60.0,
            span_mm: None,
            coated: false,
            near_burning: false,
            structural: false,
            units: Units::Metric,
        }
    }
}

/// A change that is looked at.
#[derive(Clone, Debug)]
struct Change<'a> {
    measure: &'a Measure,
    change_mm: Uncertain,
    /// The same at each stage of straightening so far, mm; one value when nothing was done yet, none when predicted.
    history_mm: Vec<f64>,
}

/// The ways for what was measured: the last reading of each thing out of the clamps, with what was read before and
/// between corrections of that build.
#[must_use]
pub fn of_measured(
    job: &Job,
    engine: &Engine,
    measurements: &[Measurement],
    options: &Options,
) -> Correction {
    let measures = engine.measures();
    let last_build = measurements
        .last()
        .map(|one| one.build.clone())
        .unwrap_or_default();
    let of_build = || {
        measurements
            .iter()
            .filter(|one| one.build == last_build && one.state != State::Clamped)
    };
    let mut changes: Vec<Change<'_>> = Vec::new();
    let mut notes = Vec::new();
    for measurement in of_build() {
        for observed in measurement.observed(job, measures) {
            let reading = &measurement.readings[observed.reading];
            for doubt in &reading.doubts {
                notes.push(format!("Doubtful when it was entered: {doubt}"));
            }
            let measure = &measures[observed.measure];
            let value = observed.change_mm.value;
            match changes
                .iter_mut()
                .find(|change| change.measure.name == measure.name)
            {
                Some(change) => {
                    // A second reading of the same stage replaces the first.
                    if measurement.state == State::Unclamped {
                        change.history_mm.clear();
                    }
                    if let State::Corrected { step } = measurement.state {
                        change.history_mm.truncate(usize::from(step));
                    }
                    change.history_mm.push(value);
                    change.change_mm = observed.change_mm;
                }
                None => changes.push(Change {
                    measure,
                    change_mm: observed.change_mm,
                    history_mm: vec![value],
                }),
            }
        }
    }
    let basis = match of_build().next_back() {
        Some(last) => format!("measured on {}, {}", last.on, last.state),
        None => "nothing measured out of the clamps".into(),
    };
    notes.push("Measure cold, and after every step. Mending one bow moves the rest: look at everything again.".into());
    assemble(job, &changes, true, basis, notes, options)
}

/// The ways before the build: what the prediction lets expect, with the same welds and three clamps more on each member
/// that bows (`clamped`, if it could be worked out).
#[must_use]
pub fn of_predicted(
    job: &Job,
    engine: &Engine,
    prediction: &Prediction,
    clamped: Option<(&Job, &Prediction)>,
    basis: String,
    options: &Options,
) -> Correction {
    let measures = engine.measures();
    let changes: Vec<Change<'_>> = prediction
        .measures
        .iter()
        .filter_map(|predicted| {
            let measure = measures.iter().find(|m| m.name == predicted.name)?;
            Some(Change {
                measure,
                change_mm: predicted.released_mm,
                history_mm: Vec::new(),
            })
        })
        .collect();
    let notes = vec![
        factors_used(job),
        "Worked out, not measured: weld a trial corner and measure it before you cut everything."
            .into(),
    ];
    let mut correction = assemble(job, &changes, false, basis, notes, options);
    for fault in &mut correction.faults {
        ways::add_clamps(fault, clamped, options);
    }
    correction.together = together(job, engine, prediction);
    correction
}

/// Whose factors what is expected is worked out with.
fn factors_used(job: &Job) -> String {
    match &job.shop {
        Some(shop) => shop.describe(job),
        None => "Published factors: the job names no shop of its own (`shop = \"our-shop.toml\"`, see `coldsquare learn`).".into(),
    }
}

fn assemble(
    job: &Job,
    changes: &[Change<'_>],
    measured: bool,
    basis: String,
    mut notes: Vec<String>,
    options: &Options,
) -> Correction {
    if let Some(note) = structural(job, options) {
        notes.insert(0, note);
    }
    let (mut faults, mut fine) = (Vec::new(), Vec::new());
    for change in changes {
        let over = over_mm(job, change.measure);
        let tolerance = options
            .tolerance_mm
            .unwrap_or_else(|| tolerance::usual_mm(change.measure.kind, over));
        let sure = change.change_mm.value.abs() + change.change_mm.expanded() <= tolerance;
        if sure && !is_too_large(job, change) {
            fine.push(change.measure.name.clone());
            continue;
        }
        // Diagonals follow from width, height and racking.
        if change.measure.kind == MeasureKind::Diagonal && !measured {
            continue;
        }
        faults.push(Fault {
            name: change.measure.name.clone(),
            measured,
            change_mm: change.change_mm.value,
            plus_minus_mm: change.change_mm.expanded(),
            tolerance_mm: tolerance,
            length_mm: if change.measure.kind == MeasureKind::Bow {
                over
            } else {
                0.0
            },
            ways: ways::ways(&Case {
                job,
                change,
                measured,
                tolerance_mm: tolerance,
                options,
            }),
        });
    }
    faults.sort_by(|a, b| {
        (b.change_mm.abs() / b.tolerance_mm).total_cmp(&(a.change_mm.abs() / a.tolerance_mm))
    });
    Correction {
        title: job.name.clone(),
        basis,
        notes,
        faults,
        fine,
        together: Vec::new(),
        units: options.units,
    }
}

/// What is not told because somebody counts on it.
fn structural(job: &Job, options: &Options) -> Option<String> {
    let what = match &job.structural {
        _ if options.structural => "this frame carries".into(),
        Structural::Nothing => return None,
        Structural::Everything => "this frame carries".into(),
        Structural::Members(members) => {
            let names: Vec<&str> = members
                .iter()
                .filter_map(|&member| job.members.get(member))
                .map(|member| member.name.as_str())
                .collect();
            match &names[..] {
                [one] => format!("{one} carries"),
                several => format!("{} carry", list(several)),
            }
        }
    };
    let beside = if what.starts_with("this frame") {
        ""
    } else {
        " Steps for the other members keep off the joints they share with it: press, heat and weld no nearer than their own depth."
    };
    Some(format!(
        "Structural: {what} people or a code. Bending, heating and welding afterwards change steel that somebody has \
         counted on, so no such step is told here. What may be done is for the code that applies and a licensed \
         engineer.{beside}"
    ))
}

/// The length that a tolerance is for, mm.
fn over_mm(job: &Job, measure: &Measure) -> f64 {
    match measure.member.and_then(|member| job.members.get(member)) {
        Some(member) => (member.to - member.from).length(),
        None if measure.nominal_mm > 0.0 => measure.nominal_mm,
        None => {
            let size = |p: fn(&crate::job::model::Point) -> f64| {
                let ends = job.members.iter().flat_map(|m| [p(&m.from), p(&m.to)]);
                ends.clone().fold(f64::MIN, f64::max) - ends.fold(f64::MAX, f64::min)
            };
            size(|p| p.x).max(size(|p| p.y)).max(1.0)
        }
    }
}

/// Whether a size leaves less clearance in the opening than is wanted.
fn is_too_large(job: &Job, change: &Change<'_>) -> bool {
    let Some(opening) = &job.opening else {
        return false;
    };
    let clear = match change.measure.name.split_whitespace().next() {
        Some("width") => Some(opening.width.0),
        Some("height") => opening.height.map(|height| height.0),
        _ => None,
    };
    let size = change.measure.nominal_mm + change.change_mm.value + change.change_mm.expanded();
    change.measure.kind == MeasureKind::Size
        && clear.is_some_and(|clear| clear - size < 2.0 * opening.clearance.0)
}
