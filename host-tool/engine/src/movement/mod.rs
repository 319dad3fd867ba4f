//! How the frame moves as it is welded: each weld acts on the structure as it is at that moment.
//!
//! ```text
//! Job -> MovementModel ----------simulate(sequence, options)----> Outcome (sizes, diagonals, bows, twist, clamp forces)
//!          heat of each weld -> Shrinkage --/
//! ```
//!
//! * [`model`]: the immutable model of a job. Its beam structure is solved once and reduced to the compliance between the
//!   coordinates that welds, clamps and measures act on.
//! * `build_state`: the frame between two welds: stiffness so far, movements so far.
//! * [`simulate`]: works out a sequence of welds from start to end.
//! * [`predict`]: the prediction with its uncertainty; [`text`], [`json`] and [`shapes`] present it.
//!
//! docs/theory.md says what is modelled and what is not. To change here: what is measured in `measures.rs`, what counts
//! as a good order in `cost.rs`, how much a weld shrinks in `effect.rs`, what is printed in `text.rs`. The algebra in
//! `build_state` needs no change for any of them.
//!
//! ```
//! use coldsquare_engine::movement::model::MovementModel;
//! use coldsquare_engine::movement::predict::{planned_net_heat, predict_for};
//!
//! let job = coldsquare_engine::job::from_text("gate.toml", coldsquare_engine::example::GARDEN_GATE).unwrap();
//! let model = MovementModel::new(&job).unwrap();
//! let file_order: Vec<usize> = (0..job.welds.len()).collect();
//! let prediction = predict_for(&job, &model, &file_order, &planned_net_heat(&job)).unwrap();
//! let width = &prediction.measures[0];
//! assert!(width.released_mm.value < 0.0, "{} shrinks", width.name);
//! ```

pub(crate) mod build_state;
pub(crate) mod clamps;
pub mod cost;
pub(crate) mod effect;
pub mod error;
pub(crate) mod frame_words;
pub(crate) mod history;
pub mod joint_measures;
pub mod json;
pub mod measures;
pub mod model;
mod not_covered;
pub(crate) mod outcome;
pub mod predict;
pub mod shapes;
pub mod shrinkage;
pub mod simulate;
pub(crate) mod standing_measures;
pub mod text;

#[cfg(test)]
mod tests;
