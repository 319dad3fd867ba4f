//! Straightening, in millimetres: the options for what was measured, or for what is predicted before the build.
//!
//! Each kind of option is a file in `repair`; a new one also needs a [`model::RepairKind`]. Tolerances are in `tolerance`,
//! cautions beside the option they belong to: never remove one.
//!
//! ```text
//! measurements or a prediction -> changes -> tolerance -> faults -> options (leave, press, heat, ...) -> Correction
//!                                                                              -> text, JSON, page
//! ```
//!
//! ```
//! use coldsquare_engine::movement::model::MovementModel;
//! use coldsquare_engine::movement::predict::{planned_net_heat, predict_for};
//! use coldsquare_engine::{correct, example::GARDEN_GATE, job};
//!
//! let job = job::from_text("gate.toml", GARDEN_GATE).unwrap();
//! let model = MovementModel::new(&job).unwrap();
//! let order: Vec<usize> = (0..job.welds.len()).collect();
//! let predicted = predict_for(&job, &model, &order, &planned_net_heat(&job)).unwrap();
//! let settings = correct::Settings::default();
//! let advice = correct::of_predicted(&job, &model, &predicted, None, "as planned".into(), &settings);
//! assert!(correct::text::text(&advice).contains("tolerance"));
//! ```

pub mod answer;
pub mod assembled;
pub mod bar;
mod camber;
mod faults;
pub(crate) mod heat;
mod measured;
pub mod model;
mod predicted;
pub mod press;
pub mod press_curve;
mod repair;
mod sizes;
mod structural;
pub mod text;
mod tolerance;

pub(crate) use camber::advised_bows;
pub use camber::pre_camber;
pub use measured::of_measured;
pub use predicted::of_predicted;
pub use repair::can_be_pre_cambered;
pub(crate) use tolerance::tolerance_mm;

use crate::movement::measures::Measure;
use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;

/// What the user has and wants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Tolerance ± of every measure, mm; `None` for that of EN ISO 13920.
    pub tolerance_mm: Option<f64>,
    /// Greatest force of the clamp, screw or jack, N.
    pub press_n: f64,
    /// Length along the bar of the packing under the press and on the blocks, mm.
    pub packing_mm: f64,
    /// Distance between the blocks, mm; `None` for [`press::usual_span_mm`].
    pub span_mm: Option<f64>,
    /// The metal is galvanised, painted or otherwise coated.
    pub coated: bool,
    /// Glass, wood or anything that burns is on the frame or near it.
    pub near_combustibles: bool,
    /// People or a code depend on the whole frame, whatever the job says.
    pub structural: bool,
    /// Units of the sentences.
    pub units: Units,
}

impl Default for Settings {
    /// 10 kN is a heavy forged screw clamp or a small jack, 60 mm packing a piece of flat bar. Common practice, no
    /// source.
    fn default() -> Self {
        Self {
            tolerance_mm: None,
            press_n: 10_000.0,
            packing_mm: 60.0,
            span_mm: None,
            coated: false,
            near_combustibles: false,
            structural: false,
            units: Units::Metric,
        }
    }
}

/// The change of one measure.
#[derive(Clone, Debug)]
struct Change<'a> {
    measure: &'a Measure,
    change_mm: Uncertain,
    /// The change at each stage of straightening so far, mm: one value before the first step, none if predicted.
    history_mm: Vec<f64>,
}
