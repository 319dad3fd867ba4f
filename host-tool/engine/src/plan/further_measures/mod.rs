//! Further measures: what clamps, pre-camber and longer cuts would reduce beyond the order, ranked by the millimetres
//! they save.
//!
//! The order is simulated again and again on one model that has every clamp that could help; a clamp that is off for
//! all welds is no clamp. Pre-camber moves the frame's starting shape by the movement expected, and nothing else. To
//! try another measure, add its gains in `try_all`.

mod candidates;
mod clamps;
mod gains;
mod shapes;
mod trial;

use super::model::{FurtherMeasures, Plan};
use crate::job::model::Job;
use crate::movement::cost::MovementWeights;
use crate::movement::error::MovementError;
use gains::WORTH_MM;
use trial::Trial;

/// Most lines.
const MAX_GAINS: usize = 6;

/// Tries further measures with the order of a plan and the planned heat; `None` where the plan was made without the
/// frame model.
#[must_use]
pub fn further_measures(job: &Job, plan: &Plan) -> Option<FurtherMeasures> {
    let mut order: Vec<usize> = Vec::new();
    // A weld in parts takes the place of its first part.
    for number in plan.order() {
        let weld = usize::from(number).saturating_sub(1);
        if !order.contains(&weld) {
            order.push(weld);
        }
    }
    let on_frame_model = plan.gauge.unit == "mm";
    on_frame_model.then(|| try_all(job, &order, &MovementWeights::of_goal(&job.goal)).ok())?
}

/// Tries further measures with the welds in `order` (by index) and their planned heat.
///
/// # Errors
/// [`MovementError`] where the movement cannot be predicted.
fn try_all(
    job: &Job,
    order: &[usize],
    cost: &MovementWeights,
) -> Result<FurtherMeasures, MovementError> {
    let trial = Trial::new(job, order, cost)?;
    let mut gains = trial.starting_shapes();
    gains.extend(trial.more_clamps());
    gains.extend(trial.clamps_otherwise());
    gains.retain(|gain| gain.saves_mm >= WORTH_MM);
    gains.sort_by(|a, b| b.saves_mm.total_cmp(&a.saves_mm));
    gains.truncate(MAX_GAINS);
    Ok(FurtherMeasures {
        left_mm: trial.cost(&trial.expected_mm),
        gains,
    })
}

#[cfg(test)]
mod tests;
