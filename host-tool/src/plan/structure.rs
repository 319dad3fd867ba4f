//! Orders judged by the structure: how far the frame moves as each weld is laid on it as it then stands.
//!
//! Heat moments give the order to begin with; from there the search tries orders on the movement engine. What counts
//! is the frame at the end, when it is cold and the clamps are off, and a quarter of the worst on the way: a frame
//! that moves far meanwhile strains its tacks and opens its joints.

use super::model::{Gauge, Plan};
use super::order::{Effort, by_search, exactly_or_by_search};
use super::pieces::WeldPiece;
use super::{Options, PlanError, Workpiece};
use crate::job::model::Job;
use crate::movement::build::Build;
use crate::movement::cost::Cost;
use crate::movement::engine::{Engine, Shrinkage};
use crate::shop::factors::of_welds;
use coldsquare_core::sequence::balance::Balance;
use coldsquare_core::sequence::search::Progress;
use coldsquare_core::sequence::{Assess, Step};

/// Share of the worst movement on the way that counts beside the final one. Our own judgement, no source.
const ON_THE_WAY: f64 = 0.25;
/// Most welds whose orders are tried on the structure; beyond, each try takes too long to be worth it.
const MOST_WELDS: usize = 160;
/// Trials on the structure for each trial of heat moments, for a frame of 50 welds.
const TRIALS_SHARE: f64 = 1.0 / 400.0;
/// Magnitudes are squares of this many to the millimetre, so that a tie is a tie.
const STEPS_PER_MM: f64 = 1e5;

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
    let work = Workpiece::new(job, &heat, options)?;
    let balance = Balance::new(&work.whole);
    let found = exactly_or_by_search(
        &balance,
        &work.items,
        work.most_turns,
        work.effort,
        keep_going,
    )
    .map_err(|cause| work.refused(cause))?;
    let prepared = prepare(job, &heat);
    let (engine, shrinkage) = match &prepared {
        Ok(prepared) => (&prepared.0, &prepared.1),
        Err(why) => {
            let mut plan = work.plan(&balance, work.gauge(), &found)?;
            plan.cautions
                .insert(0, format!("This order balances heat moments only: {why}"));
            return Ok(plan);
        }
    };
    let judge = Judge {
        engine,
        shrinkage,
        pieces: &work.pieces,
        cost: Cost::default(),
    };
    let size = work.items.len().max(10) as f64 / 50.0;
    let effort = Effort {
        trials: (work.effort.trials as f64 * TRIALS_SHARE / size.powi(3)).ceil() as u64,
        ..work.effort
    };
    let found = by_search(
        &judge,
        &work.items,
        work.most_turns,
        effort,
        Some(&found.order),
        keep_going,
    )
    .map_err(|cause| work.refused(cause))?;
    let mut plan = work.plan(&judge, Judge::GAUGE, &found)?;
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

/// Solves the structure of a job, or says why not.
fn prepare(job: &Job, heat: &[f64]) -> Result<(Engine, Shrinkage), String> {
    if job.welds.is_empty() || job.welds.len() > MOST_WELDS {
        return Err(format!(
            "orders of {} welds are not tried on the structure, only of 1 to {MOST_WELDS}",
            job.welds.len()
        ));
    }
    let engine = Engine::new(job).map_err(|error| error.to_string())?;
    let shrinkage = engine
        .shrinkage_each(heat, &of_welds(job))
        .map_err(|error| error.to_string())?;
    Ok((engine, shrinkage))
}

/// Judges orders on the structure.
struct Judge<'a> {
    engine: &'a Engine,
    shrinkage: &'a Shrinkage,
    pieces: &'a [WeldPiece],
    cost: Cost,
}

impl Judge<'_> {
    const GAUGE: Gauge = Gauge {
        name: "movement (at the end, or a quarter of what it is on the way)",
        unit: "mm",
        per_root: 1.0 / STEPS_PER_MM,
    };
}

/// The frame after some pieces.
#[derive(Clone)]
struct Laid<'a> {
    build: Build<'a>,
    welds: Vec<bool>,
    pieces: usize,
}

impl<'a> Assess for Judge<'a> {
    type State = Laid<'a>;

    fn start(&self) -> Laid<'a> {
        Laid {
            build: self.engine.start(self.shrinkage),
            welds: vec![false; self.engine.welds()],
            pieces: 0,
        }
    }

    /// A weld in pieces takes its place with its first piece: the engine knows whole welds.
    fn lay(&self, state: &mut Laid<'a>, step: Step) {
        let Some(piece) = self.pieces.get(usize::from(step.weld)) else {
            return;
        };
        state.pieces += 1;
        if !std::mem::replace(&mut state.welds[piece.weld], true) {
            state.build.lay(piece.weld);
        }
    }

    fn magnitude(&self, state: &Laid<'a>) -> u64 {
        let measures = self.engine.measures();
        let mm = if state.pieces == self.pieces.len() {
            let outcome = state.build.clone().release();
            self.cost.of_shape(measures, &outcome.released_mm)
        } else {
            ON_THE_WAY * self.cost.of_shape(measures, &state.build.measures_mm())
        };
        let steps = (mm * STEPS_PER_MM).round();
        (steps * steps) as u64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::from_text;

    const GATE: &str = include_str!("../demo/garden-gate.toml");

    fn options(trials: u64) -> Options {
        Options {
            effort: Effort { trials, seed: 1 },
            ..Options::default()
        }
    }

    #[test]
    fn the_advised_order_moves_the_gate_less_than_any_habit() {
        let job = from_text("gate.toml", GATE).expect("a job");
        let plan = plan_on_structure(&job, &options(40_000), &mut |_| true).expect("a plan");
        assert_eq!(plan.gauge.unit, "mm");
        for habit in &plan.habits {
            assert!(
                plan.score.peak < habit.score.peak,
                "{}: {:?} against {:?}",
                habit.name,
                habit.score,
                plan.score
            );
        }
        let again = plan_on_structure(&job, &options(40_000), &mut |_| true).expect("a plan");
        assert_eq!(plan, again, "the same seed gives the same plan");
    }

    #[test]
    fn a_frame_that_does_not_stand_is_planned_by_heat_moments_and_told_why() {
        let mut job = from_text("gate.toml", GATE).expect("a job");
        for joint in &mut job.joints {
            joint.tacks.clear();
        }
        let plan = plan_on_structure(&job, &options(1000), &mut |_| true).expect("a plan");
        assert!(
            plan.cautions[0].starts_with("This order balances heat moments only: "),
            "{:?}",
            plan.cautions
        );
        assert_eq!(plan.gauge.unit, "% of all heat");
    }
}
