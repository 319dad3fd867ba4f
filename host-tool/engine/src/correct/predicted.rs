//! What can be done before the frame is built.

use super::faults::correction;
use super::model::Correction;
use super::sizes::sizes;
use super::{Change, Settings, repair};
use crate::job::model::Job;
use crate::movement::model::MovementModel;
use crate::movement::predict::Prediction;

/// The options for what is predicted. `clamped` is the job with three more clamps on each member that bows, and its
/// prediction with the same welds, if there is one.
#[must_use]
pub fn of_predicted(
    job: &Job,
    engine: &MovementModel,
    prediction: &Prediction,
    clamped: Option<(&Job, &Prediction)>,
    basis: String,
    settings: &Settings,
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
        "This is a prediction, not a measurement: weld a trial corner and measure it before you cut everything."
            .into(),
    ];
    let mut correction = correction(job, measures, &changes, false, basis, notes, settings);
    for fault in &mut correction.faults {
        repair::add_clamps(fault, clamped, settings);
    }
    correction.sizes = sizes(job, engine, prediction);
    correction
}

fn factors_used(job: &Job) -> String {
    match &job.shop {
        Some(shop) => shop.describe(),
        None => "Published factors: the job names no shop factors file (`shop_factors = \"our-shop.toml\"`, see \
                 `coldsquare learn`)."
            .into(),
    }
}
