//! Dressing and finish: what grinding takes, what a coating adds, how large a panel may be, where holes go.
//!
//! ```text
//! Job, prediction, measurements -> dress, coat, panels, holes -> Finishing -> text, JSON, traveller
//! ```
//!
//! ```
//! use coldsquare_engine::movement::model::MovementModel;
//! use coldsquare_engine::movement::predict::{planned_net_heat, predict_for};
//! use coldsquare_engine::{example::GARDEN_GATE, finish, job};
//!
//! let text = format!("{GARDEN_GATE}\n[finish]\ncoating = \"powder\"\nflush = [\"front\"]\n");
//! let job = job::from_text("gate.toml", &text).expect("a good job");
//! let model = MovementModel::new(&job).expect("a model");
//! let order: Vec<usize> = (0..job.welds.len()).collect();
//! let prediction = predict_for(&job, &model, &order, &planned_net_heat(&job)).expect("a prediction");
//! let finishing = finish::finishing(&job, &model, &prediction, None);
//! assert!(finishing.dressed.iter().all(|weld| weld.left_mm <= weld.asked_mm));
//! ```

mod coat;
mod dress;
mod holes;
pub mod model;
mod panels;
pub mod text;

#[cfg(test)]
mod tests;

pub use model::Finishing;

use crate::job::model::Job;
use crate::measured::Measurement;
use crate::movement::model::MovementModel;
use crate::movement::predict::Prediction;

/// What is to be done after welding, with the latest measurement of the frame if there is one.
#[must_use]
pub fn finishing(
    job: &Job,
    model: &MovementModel,
    prediction: &Prediction,
    measured: Option<&Measurement>,
) -> Finishing {
    let coat = coat::coat(job);
    let measures = model.measures();
    let observed = measured.map_or_else(Vec::new, |one| one.observed(job, measures));
    let sizes = panels::Sizes::new(measures, prediction, &observed);
    Finishing {
        dressed: dress::dressed(job),
        panels: panels::panels(job, measures, &sizes, coat),
        holes: holes::holes(job, &sizes, coat),
        cautions: text::cautions(job),
        clean: text::clean(job),
        measured: !observed.is_empty(),
        coat_um: coat,
    }
}
