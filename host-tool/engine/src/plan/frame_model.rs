//! Orders tried on the frame model.
//!
//! A search begins with the best of the order by shrinkage balance and the trade orders. What counts is the frame at
//! the end, cold and with its clamps off, and a share of the worst on the way: a frame that moves far while it is
//! welded strains its tacks and opens its joints. Of orders that leave equal movement to the welder's eye, the plan
//! takes the one with fewer flips, then less moving on, then less walking.

use super::cancel::Cancel;
use super::model::{Method, Plan};
use super::movement_objective::{MovementObjective, Solved};
use super::order::{
    Effort, Found, by_one_costly_search, by_remembered_effects, exactly_or_by_search, side_by_side,
};
use super::parallel::Parallel;
use super::search::remembered::Effects;
use super::search::{Progress, SequenceError, check, cost};
use super::{Options, PlanError, PlanningProblem};
use crate::job::model::Job;
use coldsquare_core::sequence::balance::ShrinkageBalance;
use coldsquare_core::sequence::{Cost, Step};

/// Trials on the frame model for each trial of the shrinkage balance, for a frame of 50 parts; fewer where there are
/// more, because each takes longer. Chosen so that the usual effort takes a few seconds, from 20 welds to 200.
const TRIALS_SHARE: f64 = 1.0 / 5.0;
/// A frame of fewer parts gets no more trials.
const MIN_PARTS: usize = 30;
/// A frame of more parts is searched on what its parts did in the orders that were simulated.
const MANY_PARTS: usize = 64;
/// There, trials that add up what is remembered for each one that would be simulated.
const ADDED_UP: f64 = 3.0;
/// Share of the trials that look for the least movement.
const LEAST_MOVEMENT: f64 = 0.6;
/// Share of the trials that look for a good order with fewer flips than are allowed.
const FEWER_FLIPS: f64 = 0.25;
/// Most flips fewer that are tried.
const MAX_FEWER: u16 = 3;
/// Share of the trials that look for fewer flips and less walking at the same movement.
const TIDYING: f64 = 0.15;
/// This much more movement counts as none. Our own judgement, no source: prediction is not better than that.
const AS_GOOD: f64 = 0.02;

/// Plans a job by its shrinkage balance first and then on its frame model, with the heat that its procedures expect.
///
/// Where there is no frame model the plan stays that of the shrinkage balance, and says why.
///
/// # Errors
/// [`PlanError`] when there is no order that keeps to the rules.
pub fn plan_on_frame_model(
    job: &Job,
    options: &Options,
    parallel: &dyn Parallel,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Plan, PlanError> {
    let heat = super::planned_heat(job);
    let mut cancel = Cancel::new(on_progress);
    let mut report = |progress: &Progress| cancel.report(progress);
    let problem = PlanningProblem::with_cancel(job, &heat, options, &mut report)?;
    let refused = |cause| problem.refused(cause);
    let solved = match Solved::new(job, &heat) {
        Ok(solved) => solved,
        Err(why) => {
            let balance = ShrinkageBalance::new(&problem.whole);
            let found = by_balance(&problem, &mut report).map_err(refused)?;
            let mut plan = problem.plan(&balance, problem.gauge(), &found)?;
            plan.stopped_early = cancel.is_cancelled();
            let why = format!("This order goes by the shrinkage balance only: {why}");
            plan.cautions.insert(0, why);
            return Ok(plan);
        }
    };
    let objective = solved.objective(&problem);
    let found = on_frame_model(&problem, &objective, parallel, &mut report).map_err(refused)?;
    let mut plan = problem.plan(&objective, objective.gauge(), &found)?;
    plan.goal = job.goal.words();
    plan.stopped_early = cancel.is_cancelled();
    plan.cautions
        .retain(|caution| caution != super::steps::BALANCE_ONLY);
    plan.cautions.insert(
        1,
        match &job.shop {
            Some(shop) => shop.describe(),
            None => "The movement is predicted with published factors, not measured ones; weld a trial corner first."
                .into(),
        },
    );
    Ok(plan)
}

/// The order with the best shrinkage balance.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn by_balance(
    problem: &PlanningProblem<'_>,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let balance = ShrinkageBalance::new(&problem.whole);
    exactly_or_by_search(
        &balance,
        &problem.items,
        problem.max_flips,
        problem.effort,
        on_progress,
    )
}

/// The order that moves the frame least, and of equals the one with the fewest flips and the least walking.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn on_frame_model(
    problem: &PlanningProblem<'_>,
    objective: &MovementObjective<'_>,
    parallel: &dyn Parallel,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let mut search = OrderSearch::new(problem, objective, parallel, on_progress)?;
    let least = search.least_moving(problem.max_flips, LEAST_MOVEMENT)?;
    let fewer = search.with_fewer_flips(least)?;
    let tidy = search.tidied(fewer)?;
    let method = Method::Search {
        trials: search.tried,
    };
    Ok(Found { method, ..tidy })
}

/// The order that moves the frame least, however much flipping and walking it takes: [`on_frame_model`] begins with it.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn least_moving(
    problem: &PlanningProblem<'_>,
    objective: &MovementObjective<'_>,
    parallel: &dyn Parallel,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    OrderSearch::new(problem, objective, parallel, on_progress)?
        .least_moving(problem.max_flips, LEAST_MOVEMENT)
}

/// The order that a search begins with: the best of the shrinkage balance and the trade orders.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn starting_order(
    problem: &PlanningProblem<'_>,
    objective: &MovementObjective<'_>,
    parallel: &dyn Parallel,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Vec<Step>, SequenceError> {
    OrderSearch::new(problem, objective, parallel, on_progress)?.starting_order(problem.max_flips)
}

/// What the searches for one plan share.
struct OrderSearch<'a, 'b> {
    problem: &'a PlanningProblem<'a>,
    objective: &'a MovementObjective<'a>,
    /// The trade orders, and what each costs however often it flips the frame.
    trade_orders: Vec<(Vec<Step>, Cost)>,
    parallel: &'a dyn Parallel,
    cancel: Cancel<'b>,
    /// Orders tried so far.
    tried: u64,
    /// What is remembered of the orders simulated, where there are many parts.
    effects: Option<Effects>,
}

impl<'a, 'b> OrderSearch<'a, 'b> {
    fn new(
        problem: &'a PlanningProblem<'_>,
        objective: &'a MovementObjective<'_>,
        parallel: &'a dyn Parallel,
        on_progress: &'b mut dyn FnMut(&Progress) -> bool,
    ) -> Result<Self, SequenceError> {
        let mut this = Self {
            problem,
            objective,
            trade_orders: Vec::new(),
            parallel,
            cancel: Cancel::new(on_progress),
            tried: 0,
            effects: (problem.items.len() > MANY_PARTS && objective.is_predictable())
                .then(|| Effects::new(problem.mates())),
        };
        for order in problem.orders_to_begin_with()? {
            // Even one order may take a while.
            if !this.cancel.report(&this.progress()) {
                break;
            }
            let with_cost = this.with_cost(u16::MAX, order);
            this.trade_orders.extend(with_cost);
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

    fn with_cost(&mut self, max_flips: u16, order: Vec<Step>) -> Option<(Vec<Step>, Cost)> {
        let (objective, items) = (self.objective, &self.problem.items);
        let cost = match &mut self.effects {
            Some(effects) => effects.learn(objective, items, max_flips, &order),
            None => cost(objective, items, max_flips, &order),
        };
        Some((order, cost?))
    }

    /// The best order with at most `max_flips` flips, of the shrinkage balance and the trade orders.
    fn starting_order(&mut self, max_flips: u16) -> Result<Vec<Step>, SequenceError> {
        let problem = self.problem;
        let (cancel, balance) = (&mut self.cancel, ShrinkageBalance::new(&problem.whole));
        let mut effort = problem.effort;
        if max_flips < problem.max_flips {
            effort.trials /= 10;
        }
        let by_balance = exactly_or_by_search(
            &balance,
            &problem.items,
            max_flips,
            effort,
            &mut |progress| cancel.report(progress),
        )?;
        let mut by_balance = by_balance.order;
        problem.usual_directions(&mut by_balance);
        let by_balance = self.with_cost(max_flips, by_balance);
        let trade_orders = self
            .trade_orders
            .iter()
            .filter(|order| order.1.flips <= max_flips);
        let all = trade_orders.chain(&by_balance);
        // The first of equals.
        let best = all.min_by_key(|(_, cost)| *cost);
        best.map(|(order, _)| order.clone())
            .ok_or(SequenceError::Contradiction { weld: 0 })
    }

    /// The order with at most `max_flips` flips that moves the frame least.
    fn least_moving(&mut self, max_flips: u16, share: f64) -> Result<Found, SequenceError> {
        let begin = self.starting_order(max_flips)?;
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
        let size = self.problem.items.len().max(MIN_PARTS) as f64 / 50.0;
        let mut trials = self.problem.effort.trials as f64 * TRIALS_SHARE / (size * size);
        if self.effects.is_some() {
            trials *= ADDED_UP;
        }
        let effort = Effort {
            trials: ((trials * share).ceil() as u64).min(self.enough()),
            ..self.problem.effort
        };
        let (items, effects) = (&self.problem.items, self.effects.as_ref());
        let (cancel, before) = (&mut self.cancel, self.tried);
        let found = side_by_side(
            effort,
            &|effort, report| match effects {
                Some(known) => {
                    by_remembered_effects(objective, items, max_flips, effort, begin, known, report)
                }
                None => by_one_costly_search(objective, items, max_flips, effort, begin, report),
            },
            self.parallel,
            &mut |progress| {
                cancel.report(&Progress {
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

    /// Enough trials to try every order of a few parts again and again.
    fn enough(&self) -> u64 {
        let parts = self.problem.items.len() as u64;
        (1..=parts).fold(20, u64::saturating_mul)
    }

    /// An order with fewer flips, where each flip saved is worth more than the extra movement.
    fn with_fewer_flips(&mut self, found: Found) -> Result<Found, SequenceError> {
        let needed = check(&self.problem.items)?;
        let fewer_ways = found.cost.flips.saturating_sub(needed).clamp(1, MAX_FEWER);
        let mut best = found.clone();
        for flips in (needed..found.cost.flips).rev().take(MAX_FEWER.into()) {
            if self.cancel.is_cancelled() {
                break;
            }
            let fewer = self.least_moving(flips, FEWER_FLIPS / f64::from(fewer_ways))?;
            let saved = i32::from(found.cost.flips.saturating_sub(fewer.cost.flips));
            // Scores are squares.
            let worth = (1.0 + self.problem.flip_worth).powi(2 * saved);
            if fewer.cost.peak as f64 <= found.cost.peak as f64 * worth {
                best = fewer;
            }
        }
        Ok(best)
    }

    /// The same with fewer flips and less walking, as long as the frame moves hardly further.
    fn tidied(&mut self, found: Found) -> Result<Found, SequenceError> {
        if self.cancel.is_cancelled() {
            return Ok(found);
        }
        let indifferent = self.objective.indifferent_to(&found.order, AS_GOOD);
        let tidied = self.search(&indifferent, found.cost.flips, TIDYING, &found.order)?;
        let Some((order, cost)) = self.with_cost(found.cost.flips, tidied.order) else {
            return Ok(found);
        };
        // Less walking must not make the plan worse than a trade order with as few flips.
        let mut trade_orders = self.trade_orders.iter().map(|order| order.1);
        let kept = trade_orders.all(|order| order.flips > cost.flips || cost.peak <= order.peak);
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
