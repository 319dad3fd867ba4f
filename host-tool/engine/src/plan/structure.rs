//! Orders tried on the structure.
//!
//! Heat moments and the habits give the orders to begin with; from the best of them the search goes on on the movement
//! engine. What counts is the frame at the end, when it is cold and the clamps are off, and a share of the worst on the
//! way: a frame that moves far meanwhile strains its tacks and opens its joints. Of orders that are as good to the
//! welder the one is taken that is turned over less often, moved on less and walked less.

use super::movement_objective::{MovementObjective, Solved};
use super::model::{Method, Plan};
use super::order::{Effort, Found, by_costly_search, exactly_or_by_search};
use super::cancel::Cancel;
use super::parallel::Parallel;
use super::{Options, PlanError, PlanningProblem};
use crate::job::model::Job;
use coldsquare_core::sequence::balance::ShrinkageBalance;
use coldsquare_core::sequence::search::Progress;
use coldsquare_core::sequence::{Cost, SequenceError, Step, cost, rules};

/// Trials on the structure for each trial of heat moments, for a frame of 50 pieces; fewer where there are more, because
/// each takes longer. Chosen so that the usual effort takes a few seconds, from 20 welds to 200.
const TRIALS_SHARE: f64 = 1.0 / 5.0;
/// A frame of fewer pieces gets no more trials.
const FEWEST: usize = 30;
/// Share of the trials that look for the least movement.
const LEAST: f64 = 0.6;
/// Share of the trials that look for a good order with fewer turns than are allowed.
const FEWER_FLIPS: f64 = 0.25;
/// So many turns fewer are looked at.
const MOST_FEWER: u16 = 3;
/// Share of the trials that look for less turning and walking.
const TIDYING: f64 = 0.15;
/// So much more movement is not worth a walk. Our own judgement, no source: prediction is not that good.
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
    parallel: &dyn Parallel,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Plan, PlanError> {
    let heat = super::planned_heat(job);
    let mut cancel = Cancel::new(keep_going);
    let mut keep_going = |progress: &Progress| cancel.lasts(progress);
    let problem = PlanningProblem::with_cancel(job, &heat, options, &mut keep_going)?;
    let solved = Solved::new(job, &heat);
    let solved = match &solved {
        Ok(solved) => solved,
        Err(why) => {
            let balance = ShrinkageBalance::new(&problem.whole);
            let found = by_moments(&problem, &mut keep_going).map_err(|cause| problem.refused(cause))?;
            let mut plan = problem.plan(&balance, problem.gauge(), &found)?;
            plan.cut_short = cancel.is_over();
            plan.cautions
                .insert(0, format!("This order balances heat moments only: {why}"));
            return Ok(plan);
        }
    };
    let objective = solved.objective(&problem);
    let found = on_structure(&problem, &objective, parallel, &mut keep_going)
        .map_err(|cause| problem.refused(cause))?;
    let mut plan = problem.plan(&objective, objective.gauge(), &found)?;
    plan.goal = job.goal.words();
    plan.cut_short = cancel.is_over();
    plan.cautions
        .retain(|caution| caution != super::ONLY_MOMENTS);
    plan.cautions.insert(
        1,
        match &job.shop {
            Some(shop) => shop.describe(job),
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
    problem: &PlanningProblem<'_>,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let balance = ShrinkageBalance::new(&problem.whole);
    exactly_or_by_search(
        &balance,
        &problem.items,
        problem.max_flips,
        problem.effort,
        keep_going,
    )
}

/// The order that moves the frame least, and of those as good the one with the least turning and walking.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn on_structure(
    problem: &PlanningProblem<'_>,
    objective: &MovementObjective<'_>,
    parallel: &dyn Parallel,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let mut bench = Bench::new(problem, objective, parallel, keep_going)?;
    let least = bench.least_moving(problem.max_flips, LEAST)?;
    let fewer = bench.with_fewer_flips(least)?;
    let tidy = bench.tidied(fewer)?;
    let method = Method::Search {
        trials: bench.tried,
    };
    Ok(Found { method, ..tidy })
}

/// The order that moves the frame least, whatever turning and walking it takes: what [`on_structure`] begins with.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn least_moving(
    problem: &PlanningProblem<'_>,
    objective: &MovementObjective<'_>,
    parallel: &dyn Parallel,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    Bench::new(problem, objective, parallel, keep_going)?.least_moving(problem.max_flips, LEAST)
}

/// The orders that a search begins with: by heat moments, and by habit.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn beginning(
    problem: &PlanningProblem<'_>,
    objective: &MovementObjective<'_>,
    parallel: &dyn Parallel,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Vec<Step>, SequenceError> {
    Bench::new(problem, objective, parallel, keep_going)?.beginning(problem.max_flips)
}

/// What the searches for one order share.
struct Bench<'a, 'b> {
    problem: &'a PlanningProblem<'a>,
    objective: &'a MovementObjective<'a>,
    /// The habits, and what each costs however often the frame may be turned.
    trade_orders: Vec<(Vec<Step>, Cost)>,
    parallel: &'a dyn Parallel,
    cancel: Cancel<'b>,
    /// Orders tried so far.
    tried: u64,
}

impl<'a, 'b> Bench<'a, 'b> {
    fn new(
        problem: &'a PlanningProblem<'_>,
        objective: &'a MovementObjective<'_>,
        parallel: &'a dyn Parallel,
        keep_going: &'b mut dyn FnMut(&Progress) -> bool,
    ) -> Result<Self, SequenceError> {
        let mut this = Self {
            problem,
            objective,
            trade_orders: Vec::new(),
            parallel,
            cancel: Cancel::new(keep_going),
            tried: 0,
        };
        for order in problem.orders_to_begin_with()? {
            // Judging a single order may take a while.
            if !this.cancel.lasts(&this.progress()) {
                break;
            }
            this.trade_orders.extend(this.worth(u16::MAX, order));
        }
        Ok(this)
    }

    fn progress(&self) -> Progress {
        Progress {
            trials: self.tried,
            climbs: 0,
            best: Cost::WORST,
        }
    }

    fn worth(&self, max_flips: u16, order: Vec<Step>) -> Option<(Vec<Step>, Cost)> {
        let cost = cost(self.objective, &self.problem.items, max_flips, &order)?;
        Some((order, cost))
    }

    /// The best order with so many turns of those by heat moments and by habit.
    fn beginning(&mut self, max_flips: u16) -> Result<Vec<Step>, SequenceError> {
        let problem = self.problem;
        let (cancel, balance) = (&mut self.cancel, ShrinkageBalance::new(&problem.whole));
        let mut effort = problem.effort;
        if max_flips < problem.max_flips {
            effort.trials /= 10;
        }
        let by_moments =
            exactly_or_by_search(&balance, &problem.items, max_flips, effort, &mut |progress| {
                cancel.lasts(progress)
            })?;
        let mut by_moments = by_moments.order;
        problem.usual_directions(&mut by_moments);
        let trade_orders = self
            .trade_orders
            .iter()
            .filter(|habit| habit.1.flips <= max_flips);
        let all = trade_orders.cloned().chain(self.worth(max_flips, by_moments));
        // The first of those as good.
        let best = all.min_by_key(|(_, cost)| *cost);
        best.map(|(order, _)| order)
            .ok_or(SequenceError::Contradiction { weld: 0 })
    }

    /// The order with so many turns that moves the frame least.
    fn least_moving(&mut self, max_flips: u16, share: f64) -> Result<Found, SequenceError> {
        let begin = self.beginning(max_flips)?;
        self.search(self.objective, max_flips, share, &begin)
    }

    /// Spends a share of the trials.
    fn search(
        &mut self,
        objective: &MovementObjective<'_>,
        max_flips: u16,
        share: f64,
        begin: &[Step],
    ) -> Result<Found, SequenceError> {
        let size = self.problem.items.len().max(FEWEST) as f64 / 50.0;
        let trials = self.problem.effort.trials as f64 * TRIALS_SHARE / (size * size);
        let effort = Effort {
            trials: ((trials * share).ceil() as u64).min(self.enough()),
            ..self.problem.effort
        };
        let (cancel, before) = (&mut self.cancel, self.tried);
        let found = by_costly_search(
            objective,
            &self.problem.items,
            max_flips,
            effort,
            begin,
            self.parallel,
            &mut |progress| {
                cancel.lasts(&Progress {
                    trials: before + progress.trials,
                    ..*progress
                })
            },
        )?;
        if let Method::Search { trials } = found.method {
            self.tried += trials;
        }
        Ok(found)
    }

    /// So many trials that of a few pieces every order comes up again and again.
    fn enough(&self) -> u64 {
        let parts = self.problem.items.len() as u64;
        (1..=parts).fold(20, u64::saturating_mul)
    }

    /// Another order with fewer turns, where each turn that it saves is worth more than it moves the frame further.
    fn with_fewer_flips(&mut self, found: Found) -> Result<Found, SequenceError> {
        let needed = rules::check(&self.problem.items)?;
        let fewer_ways = found.cost.flips.saturating_sub(needed).clamp(1, MOST_FEWER);
        let mut best = found.clone();
        for flips in (needed..found.cost.flips).rev().take(MOST_FEWER.into()) {
            if self.cancel.is_over() {
                break;
            }
            let fewer = self.least_moving(flips, FEWER_FLIPS / f64::from(fewer_ways))?;
            let saved = i32::from(found.cost.flips.saturating_sub(fewer.cost.flips));
            // Magnitudes are squares.
            let worth = (1.0 + self.problem.flip_worth).powi(2 * saved);
            if fewer.cost.peak as f64 <= found.cost.peak as f64 * worth {
                best = fewer;
            }
        }
        Ok(best)
    }

    /// The same with less turning and walking, as long as the frame moves hardly further.
    fn tidied(&mut self, found: Found) -> Result<Found, SequenceError> {
        if self.cancel.is_over() {
            return Ok(found);
        }
        let content = self.objective.content_with(&found.order, AS_GOOD);
        let tidied = self.search(&content, found.cost.flips, TIDYING, &found.order)?;
        let Some((order, cost)) = self.worth(found.cost.flips, tidied.order) else {
            return Ok(found);
        };
        // Less walking must not cost what a habit with as few turns would have kept.
        let mut trade_orders = self.trade_orders.iter().map(|habit| habit.1);
        let kept = trade_orders.all(|habit| habit.flips > cost.flips || cost.peak <= habit.peak);
        Ok(if kept {
            Found {
                order,
                cost,
                ..found
            }
        } else {
            found
        })
    }
}

#[cfg(test)]
mod laws;
#[cfg(test)]
mod tests;
