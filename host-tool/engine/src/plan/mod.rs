//! The order to weld a job in, and why.
//!
//! ```text
//! Job -> parts of welds, rules, moments -> PlanningProblem -> order (exact or searched)
//!                                                          -> steps with reasons and times, trade orders -> Plan
//! ```
//!
//! [`plan`] scores orders by the [shrinkage balance](moments), [`frame_model::plan_on_frame_model`] by the movement of
//! the frame model. To score orders by something else, write an [`Objective`](coldsquare_core::sequence::Objective) and
//! hand it to [`PlanningProblem::plan`]; search, reasons and pages stay as they are. The rules of thumb are constants
//! with their source, here and in `reasons`.
//!
//! ```
//! use coldsquare_engine::plan::order::Effort;
//! use coldsquare_engine::plan::{Options, plan};
//! use coldsquare_engine::{example, job};
//!
//! let job = job::from_text("gate.toml", example::GARDEN_GATE).expect("the example has no errors");
//! let options = Options {
//!     effort: Effort { trials: 1000, seed: 1 },
//!     ..Options::default()
//! };
//! let plan = plan(&job, &options, &mut |_| true)?;
//! assert_eq!(plan.order().len(), job.welds.len());
//! assert!(plan.score.flips <= 3);
//! # Ok::<(), coldsquare_engine::plan::PlanError>(())
//! ```

mod cancel;
mod clamping;
mod error;
pub mod frame_model;
pub mod further_measures;
pub mod joint_heat;
mod less_waiting;
pub mod model;
pub mod moments;
pub mod movement_objective;
mod options;
pub mod order;
pub mod parallel;
pub mod parts;
mod problem;
pub(crate) mod reasons;
pub mod rest;
mod schedule;
pub mod search;
mod steps;
mod tacking;
pub(crate) mod text;
mod trade_orders;
pub(crate) mod travel;

pub use error::PlanError;
pub use options::{Options, USUAL_FLIP_WORTH, USUAL_FLIPS, USUAL_START};
pub use problem::PlanningProblem;
pub use text::text;
pub(crate) use text::{NO_FURTHER_MEASURES, saved};

use crate::job::model::Job;
use crate::movement::predict::planned_net_heat;
use cancel::Cancel;
use coldsquare_core::sequence::balance::ShrinkageBalance;
use model::Plan;
use order::exactly_or_by_search;
use search::Progress;

/// Plans a job by its shrinkage balance, with the heat that its procedures expect.
///
/// When `on_progress` returns false the plan is the best so far, marked as [`stopped_early`](Plan::stopped_early).
///
/// # Errors
/// [`PlanError`] when there is no order that keeps to the rules.
pub fn plan(
    job: &Job,
    options: &Options,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Plan, PlanError> {
    plan_with_heat(job, &planned_heat(job), options, on_progress)
}

/// The net heat that the procedures expect of each weld, all runs together, by index, J/mm.
#[must_use]
pub fn planned_heat(job: &Job) -> Vec<f64> {
    let heat = planned_net_heat(job).into_iter();
    heat.map(|heat| heat.value).collect()
}

/// As [`plan`], with the net heat of each weld given by index, J/mm: as measured on an earlier build, for instance.
///
/// # Errors
/// As [`plan`].
pub fn plan_with_heat(
    job: &Job,
    net_heat_j_per_mm: &[f64],
    options: &Options,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Plan, PlanError> {
    let mut cancel = Cancel::new(on_progress);
    let mut report = |progress: &Progress| cancel.report(progress);
    let problem = PlanningProblem::with_cancel(job, net_heat_j_per_mm, options, &mut report)?;
    let balance = ShrinkageBalance::new(&problem.whole);
    let found = exactly_or_by_search(
        &balance,
        &problem.items,
        problem.max_flips,
        problem.effort,
        &mut report,
    )
    .map_err(|cause| problem.refused(cause))?;
    Ok(Plan {
        stopped_early: cancel.is_cancelled(),
        ..problem.plan(&balance, problem.gauge(), &found)?
    })
}

#[cfg(test)]
mod tests;
