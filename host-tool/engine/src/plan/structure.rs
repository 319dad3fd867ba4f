//! Orders tried on the structure.
//!
//! Heat moments and the habits give the orders to begin with; from the best of them the search goes on on the movement
//! engine. What counts is the frame at the end, when it is cold and the clamps are off, and a share of the worst on the
//! way: a frame that moves far meanwhile strains its tacks and opens its joints. Of orders that are as good to the
//! welder the one is taken that is turned over less often, moved on less and walked less.

use super::judge::{Judge, Solved};
use super::model::{Method, Plan};
use super::order::{Effort, Found, by_costly_search, exactly_or_by_search};
use super::patience::Patience;
use super::side_by_side::SideBySide;
use super::{Options, PlanError, Workpiece};
use crate::job::model::Job;
use coldsquare_core::sequence::balance::Balance;
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
const FEWER_TURNS: f64 = 0.25;
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
    side_by_side: &dyn SideBySide,
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
    let found = on_structure(&work, &judge, side_by_side, &mut keep_going)
        .map_err(|cause| work.refused(cause))?;
    let mut plan = work.plan(&judge, judge.gauge(), &found)?;
    plan.goal = job.goal.words();
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

/// The order that moves the frame least, and of those as good the one with the least turning and walking.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn on_structure(
    work: &Workpiece<'_>,
    judge: &Judge<'_>,
    side_by_side: &dyn SideBySide,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let mut bench = Bench::new(work, judge, side_by_side, keep_going)?;
    let least = bench.least_moving(work.most_turns, LEAST)?;
    let fewer = bench.with_fewer_turns(least)?;
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
    work: &Workpiece<'_>,
    judge: &Judge<'_>,
    side_by_side: &dyn SideBySide,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    Bench::new(work, judge, side_by_side, keep_going)?.least_moving(work.most_turns, LEAST)
}

/// The orders that a search begins with: by heat moments, and by habit.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn beginning(
    work: &Workpiece<'_>,
    judge: &Judge<'_>,
    side_by_side: &dyn SideBySide,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Vec<Step>, SequenceError> {
    Bench::new(work, judge, side_by_side, keep_going)?.beginning(work.most_turns)
}

/// What the searches for one order share.
struct Bench<'a, 'b> {
    work: &'a Workpiece<'a>,
    judge: &'a Judge<'a>,
    /// The habits, and what each costs however often the frame may be turned.
    habits: Vec<(Vec<Step>, Cost)>,
    side_by_side: &'a dyn SideBySide,
    patience: Patience<'b>,
    /// Orders tried so far.
    tried: u64,
}

impl<'a, 'b> Bench<'a, 'b> {
    fn new(
        work: &'a Workpiece<'_>,
        judge: &'a Judge<'_>,
        side_by_side: &'a dyn SideBySide,
        keep_going: &'b mut dyn FnMut(&Progress) -> bool,
    ) -> Result<Self, SequenceError> {
        let mut this = Self {
            work,
            judge,
            habits: Vec::new(),
            side_by_side,
            patience: Patience::new(keep_going),
            tried: 0,
        };
        for order in work.orders_to_begin_with()? {
            // Judging a single order may take a while.
            if !this.patience.lasts(&this.progress()) {
                break;
            }
            this.habits.extend(this.worth(u16::MAX, order));
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

    fn worth(&self, most_turns: u16, order: Vec<Step>) -> Option<(Vec<Step>, Cost)> {
        let cost = cost(self.judge, &self.work.items, most_turns, &order)?;
        Some((order, cost))
    }

    /// The best order with so many turns of those by heat moments and by habit.
    fn beginning(&mut self, most_turns: u16) -> Result<Vec<Step>, SequenceError> {
        let work = self.work;
        let (patience, balance) = (&mut self.patience, Balance::new(&work.whole));
        let mut effort = work.effort;
        if most_turns < work.most_turns {
            effort.trials /= 10;
        }
        let by_moments =
            exactly_or_by_search(&balance, &work.items, most_turns, effort, &mut |progress| {
                patience.lasts(progress)
            })?;
        let mut by_moments = by_moments.order;
        work.usual_directions(&mut by_moments);
        let habits = self
            .habits
            .iter()
            .filter(|habit| habit.1.turns <= most_turns);
        let all = habits.cloned().chain(self.worth(most_turns, by_moments));
        // The first of those as good.
        let best = all.min_by_key(|(_, cost)| *cost);
        best.map(|(order, _)| order)
            .ok_or(SequenceError::Contradiction { weld: 0 })
    }

    /// The order with so many turns that moves the frame least.
    fn least_moving(&mut self, most_turns: u16, share: f64) -> Result<Found, SequenceError> {
        let begin = self.beginning(most_turns)?;
        self.search(self.judge, most_turns, share, &begin)
    }

    /// Spends a share of the trials.
    fn search(
        &mut self,
        judge: &Judge<'_>,
        most_turns: u16,
        share: f64,
        begin: &[Step],
    ) -> Result<Found, SequenceError> {
        let size = self.work.items.len().max(FEWEST) as f64 / 50.0;
        let trials = self.work.effort.trials as f64 * TRIALS_SHARE / (size * size);
        let effort = Effort {
            trials: ((trials * share).ceil() as u64).min(self.enough()),
            ..self.work.effort
        };
        let (patience, before) = (&mut self.patience, self.tried);
        let found = by_costly_search(
            judge,
            &self.work.items,
            most_turns,
            effort,
            begin,
            self.side_by_side,
            &mut |progress| {
                patience.lasts(&Progress {
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
        let pieces = self.work.items.len() as u64;
        (1..=pieces).fold(20, u64::saturating_mul)
    }

    /// Another order with fewer turns, where each turn that it saves is worth more than it moves the frame further.
    fn with_fewer_turns(&mut self, found: Found) -> Result<Found, SequenceError> {
        let needed = rules::check(&self.work.items)?;
        let fewer_ways = found.cost.turns.saturating_sub(needed).clamp(1, MOST_FEWER);
        let mut best = found.clone();
        for turns in (needed..found.cost.turns).rev().take(MOST_FEWER.into()) {
            if self.patience.is_over() {
                break;
            }
            let fewer = self.least_moving(turns, FEWER_TURNS / f64::from(fewer_ways))?;
            let saved = i32::from(found.cost.turns.saturating_sub(fewer.cost.turns));
            // Magnitudes are squares.
            let worth = (1.0 + self.work.turn_worth).powi(2 * saved);
            if fewer.cost.peak as f64 <= found.cost.peak as f64 * worth {
                best = fewer;
            }
        }
        Ok(best)
    }

    /// The same with less turning and walking, as long as the frame moves hardly further.
    fn tidied(&mut self, found: Found) -> Result<Found, SequenceError> {
        if self.patience.is_over() {
            return Ok(found);
        }
        let content = self.judge.content_with(&found.order, AS_GOOD);
        let tidied = self.search(&content, found.cost.turns, TIDYING, &found.order)?;
        let Some((order, cost)) = self.worth(found.cost.turns, tidied.order) else {
            return Ok(found);
        };
        // Less walking must not cost what a habit with as few turns would have kept.
        let mut habits = self.habits.iter().map(|habit| habit.1);
        let kept = habits.all(|habit| habit.turns > cost.turns || cost.peak <= habit.peak);
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
