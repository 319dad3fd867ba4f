//! Implausible readings: those that cannot be, that contradict each other, or that look like another unit.

mod alone;
mod contradictions;
mod unit;

use super::model::Reading;
use crate::job::model::Job;
use crate::movement::measures::Measure;
use crate::movement::predict::Predicted;
use alone::alone;
use contradictions::contradictions;
use unit::another_unit;

/// Readings that contradict the drawing, the prediction or each other.
#[derive(Clone, Debug, PartialEq)]
pub struct Implausible {
    /// Indices of the readings.
    pub readings: Vec<usize>,
    /// What is wrong with them, in one sentence.
    pub what: String,
    /// They cannot be kept, even if the user wants to.
    pub impossible: bool,
}

/// The implausible readings of one measurement. `predicted` are the expected changes, by name; may be empty.
///
/// ```
/// use coldsquare_engine::measured::check::implausible;
/// use coldsquare_engine::measured::written::Common;
/// use coldsquare_engine::measured::{Between, LengthUnit};
/// # use coldsquare_engine::{example::GARDEN_GATE, job::from_text, movement::model::MovementModel};
/// # let job = from_text("gate.toml", GARDEN_GATE).unwrap();
/// # let engine = MovementModel::new(&job).unwrap();
/// let common = Common {
///     job: &job,
///     measures: engine.measures(),
///     unit: LengthUnit::Mm,
///     plus_minus_mm: None,
///     between: Between::Outside,
/// };
/// let width = common.size("width", "47.2").unwrap();
/// assert_eq!(implausible(&job, engine.measures(), &[], &[width]).len(), 1);
/// ```
#[must_use]
pub fn implausible(
    job: &Job,
    measures: &[Measure],
    predicted: &[Predicted],
    readings: &[Reading],
) -> Vec<Implausible> {
    let mut found = Vec::new();
    for (index, reading) in readings.iter().enumerate() {
        let one = alone(job, measures, reading)
            .or_else(|| another_unit(predicted, reading, job.units).map(|what| (what, false)));
        found.extend(one.map(|(what, impossible)| Implausible {
            readings: vec![index],
            what,
            impossible,
        }));
    }
    // A reading that is implausible by itself needs no second warning.
    let already: Vec<usize> = found.iter().flat_map(|one| one.readings.clone()).collect();
    for (readings, what) in contradictions(job, measures, readings) {
        if !readings.iter().any(|reading| already.contains(reading)) {
            found.push(Implausible {
                readings,
                what,
                impossible: false,
            });
        }
    }
    found
}
