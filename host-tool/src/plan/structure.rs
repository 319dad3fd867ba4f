//! Orders tried on the structure.
//!
//! Heat moments and the habits give the orders to begin with; from the best of them the search goes on on the movement
//! engine. What counts is the frame at the end, when it is cold and the clamps are off, and a share of the worst on the
//! way: a frame that moves far meanwhile strains its tacks and opens its joints. Of orders that are as good to the
//! welder the one is taken that is turned over less often, moved on less and walked less.

use super::judge::{Judge, Solved};
use super::model::Plan;
use super::order::{Effort, Found, by_costly_search, exactly_or_by_search};
use super::patience::Patience;
use super::{Options, PlanError, Workpiece};
use crate::job::model::Job;
use coldsquare_core::sequence::balance::Balance;
use coldsquare_core::sequence::search::Progress;
use coldsquare_core::sequence::{SequenceError, Step, cost};

/// Trials on the structure for each trial of heat moments, for a frame of 50 pieces. Chosen so that the usual effort
/// takes a second or a few, from 20 welds to 200.
const TRIALS_SHARE: f64 = 1.0 / 100.0;
/// Share of the trials that look for less turning and walking.
const TIDYING: f64 = 0.2;
/// So much more movement is not worth a turn or a walk. Our own judgement, no source: prediction is not that good.
const AS_GOOD: f64 = 0.02;

/// Plans a job by heat moments first and then on its structure, with the heat that its procedures expect.
///
/// Where the structure cannot be worked out the plan stays that of the heat moments, and says why.
///
/// # Errors
/// [`PlanError`] when there is no order that keeps to the rules.
pub fn plan_on_structure(
    job: &Job,
    options: &Options,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Plan, PlanError> {
    let heat = super::planned_heat(job);
    let mut patience = Patience::new(keep_going);
    let mut keep_going = |progress: &Progress| patience.lasts(progress);
    let work = Workpiece::patiently(job, &heat, options, &mut keep_going)?;
    let solved = Solved::new(job, &heat);
    let solved = match &solved {
        Ok(solved) => solved,
        Err(why) => {
            let balance = Balance::new(&work.whole);
            let found = by_moments(&work, &mut keep_going).map_err(|cause| work.refused(cause))?;
            let mut plan = work.plan(&balance, work.gauge(), &found)?;
            plan.cut_short = patience.is_over();
            plan.cautions
                .insert(0, format!("This order balances heat moments only: {why}"));
            return Ok(plan);
        }
    };
    let judge = solved.judge(&work);
    let found =
        on_structure(&work, &judge, &mut keep_going).map_err(|cause| work.refused(cause))?;
    let mut plan = work.plan(&judge, Judge::GAUGE, &found)?;
    plan.cut_short = patience.is_over();
    plan.cautions
        .retain(|caution| caution != super::ONLY_MOMENTS);
    plan.cautions.insert(
        1,
        match &job.shop {
            Some(shop) => shop.words(job),
            None => "Movements are worked out with published starting factors, not measured; weld a trial corner first."
                .into(),
        },
    );
    Ok(plan)
}

/// The order that balances heat moments best.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn by_moments(
    work: &Workpiece<'_>,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let balance = Balance::new(&work.whole);
    exactly_or_by_search(
        &balance,
        &work.items,
        work.most_turns,
        work.effort,
        keep_going,
    )
}

/// The order that moves the frame least.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn on_structure(
    work: &Workpiece<'_>,
    judge: &Judge<'_>,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let mut patience = Patience::new(keep_going);
    let keep_going = &mut |progress: &Progress| patience.lasts(progress);
    let mut begin = by_moments(work, keep_going)?.order;
    work.usual_directions(&mut begin);
    let others = work.orders_to_begin_with()?;
    let size = work.items.len().max(10) as f64 / 50.0;
    let trials = work.effort.trials as f64 * TRIALS_SHARE / size.powf(1.5);
    let effort = |share: f64| Effort {
        trials: (trials * share).ceil() as u64,
        ..work.effort
    };
    let (items, most_turns) = (&work.items, work.most_turns);
    let found = by_costly_search(
        judge,
        items,
        most_turns,
        effort(1.0 - TIDYING),
        &begin,
        &others,
        keep_going,
    )?;
    if patience.is_over() {
        return Ok(found);
    }
    let keep_going = &mut |progress: &Progress| patience.lasts(progress);
    // Less walking must not cost what a habit would have kept.
    let worth = |order: &Vec<Step>| cost(judge, items, most_turns, order);
    let best_habit = others
        .iter()
        .filter_map(worth)
        .filter(|c| c.excess_turns == 0)
        .min();
    let content = judge.content_with(&found.order, AS_GOOD);
    let tidied = by_costly_search(
        &content,
        items,
        most_turns,
        effort(TIDYING),
        &found.order,
        &[],
        keep_going,
    )?;
    let method = tidied.method.and(found.method);
    match worth(&tidied.order) {
        Some(cost) if best_habit.is_none_or(|best| cost <= best) => Ok(Found {
            cost,
            order: tidied.order,
            method,
        }),
        _ => Ok(Found { method, ..found }),
    }
}

#[cfg(test)]
mod tests;
