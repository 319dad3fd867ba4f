//! An order made into a plan: tacks, flips, clamps and welds as steps, with reasons and times.

use super::less_waiting::less_waiting;
use super::model::{self, Face, Gauge, PartNumber, Plan, Reason, Score, StepKind, TradeOrder};
use super::order::Found;
use super::schedule::{BenchStep, Schedule};
use super::search::cost;
use super::trade_orders::{self, VIEWS};
use super::{PlanError, PlanningProblem, clamping, reasons};
use crate::job::model::Point;
use coldsquare_core::sequence::{Cost, Objective, Step};

impl PlanningProblem<'_> {
    /// Makes a plan of an order, scored by `objective`.
    ///
    /// # Errors
    /// [`PlanError`] when the rules allow no order.
    pub fn plan<O: Objective>(
        &self,
        objective: &O,
        gauge: Gauge,
        found: &Found,
    ) -> Result<Plan, PlanError> {
        let trade_orders = self.scored_trade_orders(objective)?;
        let best = trade_orders.iter().map(|(cost, _)| *cost).min();
        let trade_orders = trade_orders.into_iter();
        let trade_orders = trade_orders.map(|(cost, order)| TradeOrder {
            score: score(&gauge, &cost),
            ..order
        });
        let mut steps = self.tack_steps();
        let schedule = Schedule::new(self.job, &self.parts, self.start);
        let tacking: Vec<BenchStep> = steps.iter().filter_map(tacking_step).collect();
        let found = &less_waiting(self, objective, found, &schedule, &tacking, best);
        self.weld_steps(objective, &gauge, found, &mut steps);
        let times = schedule.times(self.all_bench_steps(tacking, &steps, &found.order));
        let begins_and_waits = times.begins.into_iter().zip(times.waits);
        for ((k, step), (begins, wait)) in steps.iter_mut().enumerate().zip(begins_and_waits) {
            (step.number, step.begins, step.wait) = (k + 1, begins, wait);
            if let Some(wait) = wait {
                step.why = format!("{}; {}", wait.describe(self.job.units), step.why);
            }
        }
        let mut cautions = cautions();
        cautions.extend(times.remarks);
        Ok(Plan {
            title: self.job.name.clone(),
            seen_from: self.job.seen_from,
            gauge,
            goal: Vec::new(),
            method: found.method,
            seed: self.effort.seed,
            stopped_early: false,
            steps,
            score: score(&gauge, &found.cost),
            trade_orders: trade_orders.collect(),
            time: times.time,
            further_measures: None,
            cautions,
        })
    }

    /// What each trade order costs, however often it flips the frame.
    fn scored_trade_orders<O: Objective>(
        &self,
        objective: &O,
    ) -> Result<Vec<(Cost, TradeOrder)>, PlanError> {
        let orders = trade_orders::ranked(self.job, &self.parts, self.centre, VIEWS[0]);
        let scored = orders.into_iter().map(|(name, description, ranked)| {
            let order = self.order_by_rank(&ranked).map_err(|c| self.refused(c))?;
            let cost = cost(objective, &self.items, u16::MAX, &order).unwrap_or(Cost::WORST);
            let order = TradeOrder {
                name,
                description,
                order: order.iter().map(|step| self.weld_number(*step)).collect(),
                score: Score::default(),
            };
            Ok((cost, order))
        });
        scored.collect()
    }

    fn weld_number(&self, step: Step) -> u16 {
        self.job.welds[self.parts[usize::from(step.weld)].weld].number
    }

    /// Tacks of the front, then, after a flip, those of the back.
    fn tack_steps(&self) -> Vec<model::Step> {
        let mut steps = Vec::new();
        for (face, tacks) in self.tacks.iter().enumerate() {
            if face == 1 && !tacks.is_empty() {
                let reason = Reason::OtherFaceTacks {
                    joints: tacks.len(),
                };
                steps.push(model::Step::new(
                    StepKind::Flip { up: Face::Back },
                    reason,
                    0.0,
                ));
            }
            for tacks in tacks {
                let reason = if tacks.corner {
                    Reason::TackCorner
                } else {
                    Reason::TackRest
                };
                let what = StepKind::Tack {
                    joint: tacks.joint,
                    name: self.job.joints[tacks.joint].name.clone(),
                    at: tacks.at.iter().copied().map(Into::into).collect(),
                };
                steps.push(model::Step::new(what, reason, 0.0));
            }
        }
        steps
    }

    fn weld_steps<O: Objective>(
        &self,
        objective: &O,
        gauge: &Gauge,
        found: &Found,
        steps: &mut Vec<model::Step>,
    ) {
        let order = &found.order;
        let reasons = reasons::reasons(self.job, &self.parts, &self.moments, self.centre, order);
        let begins_back_up = !self.tacks[1].is_empty();
        let (mut state, mut flipped) = (objective.start(), false);
        let mut clamps = clamping::Clamping::new(self.job, &self.parts);
        for (place, (this, reason)) in order.iter().zip(reasons).enumerate() {
            let part = usize::from(this.weld);
            if self.items[part].side.needs_flip(flipped) {
                flipped = !flipped;
                let up = if flipped == begins_back_up {
                    Face::Front
                } else {
                    Face::Back
                };
                let welds = self.until_next_flip(&order[place..], flipped);
                let gauge_now = gauge.value(objective.score(&state));
                steps.push(model::Step::new(
                    StepKind::Flip { up },
                    Reason::OtherFace { welds },
                    gauge_now,
                ));
            }
            let reversed = if objective.is_directed(this.weld) {
                this.reversed
            } else {
                self.is_better_reversed(part)
            };
            let weld = self.parts[part].weld;
            steps.extend(clamps.before(weld, gauge.value(objective.score(&state))));
            objective.apply(&mut state, *this);
            let gauge_now = gauge.value(objective.score(&state));
            steps.push(model::Step::new(
                self.weld(part, reversed),
                reason,
                gauge_now,
            ));
            steps.extend(clamps.after(weld, gauge_now));
        }
    }

    /// The welds of an order, with the flips of the frame that they need.
    pub(super) fn bench_steps(&self, order: &[Step]) -> Vec<BenchStep> {
        let mut bench_steps = Vec::with_capacity(order.len() + usize::from(self.max_flips));
        let mut flipped = false;
        for step in order {
            let part = usize::from(step.weld);
            if self.items[part].side.needs_flip(flipped) {
                flipped = !flipped;
                bench_steps.push(BenchStep::Flip);
            }
            bench_steps.push(BenchStep::Weld { part });
        }
        bench_steps
    }

    /// Every step for the clock: the tacks, then the welds of the order with the clamps that come off between them.
    fn all_bench_steps(
        &self,
        tacking: Vec<BenchStep>,
        steps: &[model::Step],
        order: &[Step],
    ) -> Vec<BenchStep> {
        let mut welding = self.bench_steps(order).into_iter();
        let after_tacks = steps.iter().skip(tacking.len());
        let between = after_tacks.filter_map(|step| match step.what {
            StepKind::ReleaseClamp { at: [x, y, z], .. } => Some(BenchStep::ReleaseClamp {
                at: Point::new(x, y, z),
            }),
            _ => welding.next(),
        });
        let between: Vec<BenchStep> = between.collect();
        tacking.into_iter().chain(between).collect()
    }

    fn until_next_flip(&self, rest: &[Step], flipped: bool) -> usize {
        rest.iter()
            .take_while(|step| !self.items[usize::from(step.weld)].side.needs_flip(flipped))
            .count()
    }

    fn weld(&self, index: usize, reversed: bool) -> StepKind {
        let part = &self.parts[index];
        let weld = &self.job.welds[part.weld];
        let whole = weld.planned_arc_time(&self.job.procedures[weld.procedure]);
        let (number, of) = part.number;
        let (from, to) = if reversed {
            (part.to, part.from)
        } else {
            (part.from, part.to)
        };
        StepKind::Weld {
            weld: weld.number,
            name: weld.name.clone(),
            part: (of > 1).then_some(PartNumber {
                number: number + 1,
                of,
            }),
            from: from.into(),
            to: to.into(),
            arc_time: whole * part.share(),
        }
    }
}

fn tacking_step(step: &model::Step) -> Option<BenchStep> {
    match &step.what {
        StepKind::Tack { at, .. } => {
            let tacks = at.len();
            let sum = at.iter().fold(Point::default(), |sum, &[x, y, z]| {
                sum + Point::new(x, y, z)
            });
            Some(BenchStep::Tack {
                at: sum * (1.0 / tacks.max(1) as f64),
                tacks,
            })
        }
        StepKind::Flip { .. } => Some(BenchStep::Flip),
        StepKind::Weld { .. } | StepKind::ReleaseClamp { .. } => None,
    }
}

fn score(gauge: &Gauge, cost: &Cost) -> Score {
    Score {
        peak: gauge.value(cost.peak),
        last: gauge.value(cost.last),
        flips: cost.flips,
        moves: cost.moves,
        walk_mm: cost.walk_mm,
    }
}

/// What the shrinkage balance leaves out.
pub(super) const BALANCE_ONLY: &str = "The shrinkage balance knows the drawing and the heat, not the stiffness of the \
                                       frame or the clamps.";

fn cautions() -> Vec<String> {
    vec![
        "A balanced order reduces distortion; it does not make a weld sound. For structural or safety-critical work \
         follow the qualified procedure, the local code and the engineer in charge, even where they ask for another \
         order."
            .into(),
        BALANCE_ONLY.into(),
        "A frame is heavy and hot: flip it with help, gloves and a clear floor.".into(),
    ]
}
