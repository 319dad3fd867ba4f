//! What was measured of a build beside what its own heat let expect: predicted, measured, and what is left.

use super::{Measurement, State, path_of};
use crate::failure::Failure;
use crate::files::Files;
use crate::job::model::Job;
use crate::map::model::WeldMap;
use crate::movement::engine::Engine;
use crate::movement::predict::{Predicted, measured_net_heat, order_done, predict_for};
use crate::units::Units;
use crate::words;
use coldsquare_core::uncertainty::Uncertain;
use std::path::Path;

/// The readings of one build against its prediction.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Comparison {
    /// Whose factors the prediction was made with ("the published factors").
    pub factors: String,
    /// One entry a quantity and state, in the order in which they were noted.
    pub rows: Vec<Compared>,
    /// What to bear in mind, a sentence each.
    pub notes: Vec<String>,
}

/// One quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// What was measured, in the words of the prediction.
    pub of: String,
    /// In which state of the frame.
    pub state: State,
    /// When, as `2026-11-25`.
    pub on: String,
    /// Change from before welding as measured, with the uncertainty of the reading, mm. A gap is the whole gap.
    pub measured_mm: Uncertain,
    /// The same as predicted; nothing where nothing is predicted: gaps, and a frame that was corrected.
    pub predicted_mm: Option<Uncertain>,
}

impl Compared {
    /// Measured less predicted, with the doubts of both, mm.
    #[must_use]
    pub fn residual_mm(&self) -> Option<Uncertain> {
        self.predicted_mm.map(|predicted| Uncertain {
            value: self.measured_mm.value - predicted.value,
            standard: self.measured_mm.standard.hypot(predicted.standard),
        })
    }

    /// Whether the residual is no more than its expanded uncertainty (k = 2).
    #[must_use]
    pub fn is_inside(&self) -> Option<bool> {
        self.residual_mm()
            .map(|residual| residual.value.abs() <= residual.expanded())
    }

    /// "inside", "outside", or why there is no verdict.
    #[must_use]
    pub fn verdict(&self) -> &'static str {
        match (self.is_inside(), self.state) {
            (Some(true), _) => "inside",
            (Some(false), _) => "outside",
            (None, State::Corrected { .. }) => "corrected",
            (None, _) => "not predicted",
        }
    }
}

/// Puts what was measured of the build on its map, beside what is predicted from the map's heat in the order welded.
///
/// The readings are those that were noted with this log, or with no log where no other log is named.
///
/// # Errors
/// [`Failure`] when the file of measurements has mistakes or cannot be read.
pub fn put_on(
    files: &dyn Files,
    map: &mut WeldMap,
    job: &Job,
    job_path: &Path,
    log_sha256: &str,
) -> Result<(), Failure> {
    let path = path_of(job_path);
    if !files.exists(&path) {
        return Ok(());
    }
    let engine = Engine::new(job)
        .map_err(|error| Failure::Input(format!("{}: {error}", job_path.display())))?;
    let all = super::load(files, &path, job, engine.measures())?;
    let (of_build, notes) = of_build(&all, log_sha256);
    if of_build.is_empty() && notes.is_empty() {
        return Ok(());
    }
    map.measured = Some(compare(job, &engine, map, (&of_build, log_sha256), notes));
    Ok(())
}

/// The measurements of the build that a log is of.
fn of_build<'m>(all: &'m [Measurement], log_sha256: &str) -> (Vec<&'m Measurement>, Vec<String>) {
    let of_log = |sha256: &str| -> Vec<&Measurement> {
        all.iter().filter(|one| one.log_sha256 == sha256).collect()
    };
    let (named, unnamed) = (of_log(log_sha256), of_log(""));
    match (named.len(), unnamed.len()) {
        _ if all.is_empty() => (Vec::new(), Vec::new()),
        (0, some) if some < all.len() => (
            Vec::new(),
            vec!["what was measured was noted with other logs, so it is of other builds".into()],
        ),
        (0, _) => (
            unnamed,
            vec!["measured without naming a log (measure --log); taken as of this build".into()],
        ),
        (_, 0) => (named, Vec::new()),
        (_, _) => (
            named,
            vec![
                "what was measured without naming a log is left out: it may be of another build"
                    .into(),
            ],
        ),
    }
}

fn compare(
    job: &Job,
    engine: &Engine,
    map: &WeldMap,
    (measurements, log_sha256): (&[&Measurement], &str),
    mut notes: Vec<String>,
) -> Comparison {
    let (heat, as_planned) = measured_net_heat(job, map);
    if !as_planned.is_empty() && !measurements.is_empty() {
        notes.push(format!(
            "heat not measured, so taken as planned: weld {}",
            words::numbers(&as_planned)
        ));
    }
    let predicted = match predict_for(job, engine, &order_done(map), &heat) {
        Ok(prediction) => prediction.measures,
        Err(error) => {
            notes.push(format!("nothing can be predicted: {error}"));
            Vec::new()
        }
    };
    if job
        .shop
        .as_ref()
        .is_some_and(|shop| shop.rests_on.iter().any(|sha256| sha256 == log_sha256))
    {
        notes.push("these factors were learned from this build too, so it cannot test them".into());
    }
    let mut rows: Vec<Compared> = Vec::new();
    for &measurement in measurements {
        for row in rows_of(job, engine, &predicted, measurement) {
            // A wrong reading is answered by a new one.
            rows.retain(|old| (&old.of, old.state) != (&row.of, row.state));
            rows.push(row);
        }
        let doubtful = measurement.readings.iter().flat_map(|reading| {
            let doubts = reading.doubts.iter();
            doubts.map(|doubt| format!("kept in spite of a doubt: {doubt}"))
        });
        notes.extend(doubtful);
    }
    Comparison {
        factors: crate::shop::factors::in_use(job),
        rows,
        notes,
    }
}

fn rows_of(
    job: &Job,
    engine: &Engine,
    predicted: &[Predicted],
    measurement: &Measurement,
) -> Vec<Compared> {
    let observed = measurement.observed(job, engine.measures());
    let readings = measurement.readings.iter().enumerate();
    let row = |(index, reading): (usize, &super::Reading)| {
        let change = observed.iter().find(|one| one.reading == index);
        let expected = predicted.iter().find(|one| one.name == reading.of);
        Compared {
            of: reading.of.clone(),
            state: measurement.state,
            on: measurement.on.clone(),
            measured_mm: change.map_or_else(
                || Uncertain {
                    value: reading.value_mm(),
                    standard: reading.plus_minus_mm()
                        / coldsquare_core::uncertainty::COVERAGE_FACTOR,
                },
                |one| one.change_mm,
            ),
            predicted_mm: expected.and_then(|one| match measurement.state {
                State::Clamped => Some(one.clamped_mm),
                State::Unclamped => Some(one.released_mm),
                State::Corrected { .. } => None,
            }),
        }
    };
    readings.map(row).collect()
}

/// The comparison for a terminal, in the maker's units; ends with a line break.
#[must_use]
pub fn text(comparison: &Comparison, units: Units) -> String {
    let mut out = match comparison.rows.as_slice() {
        [] => "Nothing that was measured is of this build:\n".to_owned(),
        rows => table(rows, &comparison.factors, units),
    };
    for note in &comparison.notes {
        out += &format!("  Note: {}.\n", words::plain(note));
    }
    out
}

fn table(compared: &[Compared], factors: &str, units: Units) -> String {
    let mut rows = vec![["", "measured", "predicted", "residual", "", ""].map(str::to_owned)];
    rows.extend(compared.iter().map(|row| {
        let shown = |change: Option<Uncertain>| {
            change.map_or("-".into(), |change| words::change(change, units))
        };
        [
            words::plain(&row.of),
            words::change(row.measured_mm, units),
            shown(row.predicted_mm),
            shown(row.residual_mm()),
            row.verdict().to_owned(),
            format!("{}, {}", row.state, row.on),
        ]
    }));
    let width = |column: usize| {
        let cells = rows.iter().map(|row| row[column].chars().count());
        cells.max().unwrap_or(0)
    };
    let widths: [usize; 6] = std::array::from_fn(width);
    let mut out = format!(
        "Change measured, and predicted from this log's heat with {}, {}:\n",
        words::plain(factors),
        words::length(units).0.symbol
    );
    for row in &rows {
        let cells = row.iter().zip(widths).enumerate();
        let cells = cells.map(|(column, (cell, width))| match column {
            1..=3 => format!("{cell:>width$}"),
            _ => format!("{cell:<width$}"),
        });
        let line = cells.collect::<Vec<_>>().join("  ");
        out += &format!("  {}\n", line.trim_end());
    }
    out
}
