//! Judges orders on the structure: how far the frame moves as each piece of weld is laid on it as it then stands.
//!
//! What a piece pulls depends on which pieces were laid before it, not on how the frame lies: so what a change in the
//! middle of an order has done to the shape stays to the end, and how good the order is going to be can be foreseen
//! from there. Left out is that tacks melted later let go of a little more or less, and clamps that slip.

use super::PlanningProblem;
use super::model::Gauge;
use super::parts::PlannedPart;
use crate::job::model::Job;
use crate::movement::answers::MeasureKind;
use crate::movement::build::Build;
use crate::movement::cost::Cost;
use crate::movement::engine::{Engine, Outcome, Shrinkage};
use crate::movement::part::Part;
use crate::shop::factors::of_welds;
use coldsquare_core::sequence::improve::PredictChange;
use coldsquare_core::sequence::{Objective, Step};

/// Movements are counted in steps of this share of what the order drawn moves the frame: finer than anybody measures,
/// coarser than the noise of the arithmetic, so that a tie is a tie; and a share, so that more heat all over changes
/// no count.
const STEP: f64 = 1e-5;

/// A frame solved once, on which any order can be judged.
#[derive(Clone, Debug)]
pub struct Solved {
    engine: Engine,
    shrinkage: Shrinkage,
    cost: Cost,
    /// One step of the count, mm.
    step_mm: f64,
    /// See [`Engine::letting_go`].
    letting_go: Option<Vec<Vec<f64>>>,
}

impl Solved {
    /// Solves the structure of a job for the net heat of each weld by index, J/mm.
    ///
    /// # Errors
    /// Why it cannot be solved, in words.
    pub fn new(job: &Job, net_heat_j_per_mm: &[f64]) -> Result<Self, String> {
        Self::with_cost(job, net_heat_j_per_mm, Cost::of_goal(&job.goal))
    }

    /// The same for another idea of what counts.
    ///
    /// # Errors
    /// As [`Solved::new`].
    pub fn with_cost(job: &Job, net_heat_j_per_mm: &[f64], cost: Cost) -> Result<Self, String> {
        if job.welds.is_empty() {
            return Err("there is no weld".into());
        }
        let engine = Engine::new(job).map_err(|error| error.to_string())?;
        let shrinkage = engine
            .shrinkage_each(net_heat_j_per_mm, &of_welds(job))
            .map_err(|error| error.to_string())?;
        let drawn: Vec<usize> = (0..engine.welds()).collect();
        let drawn = engine.lay_step_by_step(&drawn, &shrinkage);
        let moves_mm = cost.of(engine.measures(), &drawn);
        Ok(Self {
            step_mm: STEP * if moves_mm > 0.0 { moves_mm } else { 1.0 },
            letting_go: engine.letting_go(&shrinkage),
            engine,
            shrinkage,
            cost,
        })
    }

    /// The judge of the orders of these pieces.
    #[must_use]
    pub fn objective<'a>(&'a self, problem: &'a PlanningProblem<'_>) -> MovementObjective<'a> {
        MovementObjective {
            solved: self,
            parts: &problem.parts,
            good_enough: [0; 2],
        }
    }
}

/// Judges orders on the structure.
#[derive(Clone, Copy, Debug)]
pub struct MovementObjective<'a> {
    solved: &'a Solved,
    parts: &'a [PlannedPart],
    /// Magnitudes up to this are as good as none: on the way, and at the end.
    good_enough: [u64; 2],
}

impl MovementObjective<'_> {
    /// What an order is judged by.
    #[must_use]
    pub const fn gauge(&self) -> Gauge {
        Gauge {
            name: "movement (at the end, or a quarter of what it is on the way)",
            unit: "mm",
            per_root: self.solved.step_mm,
        }
    }

    /// The same judge, to whom a little more movement than that of an order is as good as none: `more` is the share.
    #[must_use]
    pub fn content_with(&self, order: &[Step], more: f64) -> Self {
        let mut state = self.start();
        let mut good_enough = [0_u64; 2];
        for &step in order {
            self.apply(&mut state, step);
            let at_end = state.parts == self.parts.len();
            let most = &mut good_enough[usize::from(at_end)];
            *most = (*most).max(self.plain_magnitude(&self.view(&state)));
        }
        let square = (1.0 + more) * (1.0 + more);
        Self {
            good_enough: good_enough.map(|score| (score as f64 * square) as u64),
            ..*self
        }
    }

    /// What an order does to the frame.
    #[must_use]
    pub fn outcome(&self, order: &[Step]) -> Outcome {
        let engine = &self.solved.engine;
        engine.lay_parts(&self.parts(order), &self.solved.shrinkage)
    }

    fn parts(&self, order: &[Step]) -> Vec<Part> {
        let part = |step: &Step| self.parts[usize::from(step.weld)].part(step.reversed);
        order.iter().map(part).collect()
    }

    /// How far the frame moves in an order, mm, by [`MovementObjective::gauge`]: what the magnitudes of its steps come to.
    #[must_use]
    pub fn moves_mm(&self, order: &[Step]) -> f64 {
        let outcome = self
            .solved
            .engine
            .lay_parts_step_by_step(&self.parts(order), &self.solved.shrinkage);
        let (cost, measures) = (&self.solved.cost, self.solved.engine.measures());
        let on_the_way = outcome
            .steps_mm
            .iter()
            .map(|mm| cost.of_shape(measures, mm));
        let on_the_way = on_the_way
            .take(order.len().saturating_sub(1))
            .fold(0.0, f64::max);
        cost.of_shape(measures, &outcome.released_mm)
            .max(cost.on_the_way * on_the_way)
    }

    /// The worst bow of a member that an order leaves, mm.
    #[must_use]
    pub fn worst_bow_mm(&self, order: &[Step]) -> f64 {
        let outcome = self.outcome(order);
        let measures = self.solved.engine.measures().iter();
        measures
            .zip(outcome.released_mm)
            .filter(|(measure, _)| measure.kind == MeasureKind::Bow)
            .map(|(_, mm)| mm.abs())
            .fold(0.0, f64::max)
    }

    fn plain_magnitude(&self, shape: &Shape) -> u64 {
        let cost = &self.solved.cost;
        let of_shape = |mm: &[f64]| cost.of_shape(self.solved.engine.measures(), mm);
        let mm = if self.is_end(shape) {
            of_shape(&shape.let_go_mm)
        } else {
            cost.on_the_way * of_shape(&shape.held_mm)
        };
        let steps = (mm / self.solved.step_mm).round();
        (steps * steps) as u64
    }

    fn is_end(&self, shape: &Shape) -> bool {
        shape.parts == self.parts.len()
    }
}

/// The frame after some pieces.
#[derive(Clone, Debug)]
pub struct Laid<'a> {
    build: Build<'a>,
    parts: usize,
}

impl<'a> Objective for MovementObjective<'a> {
    type State = Laid<'a>;

    fn start(&self) -> Laid<'a> {
        self.start_towards(&[])
    }

    fn is_directed(&self, weld: u16) -> bool {
        let part = self.parts.get(usize::from(weld));
        part.is_some_and(PlannedPart::has_direction)
    }

    fn apply(&self, state: &mut Laid<'a>, step: Step) {
        if let Some(part) = self.parts.get(usize::from(step.weld)) {
            state.parts += 1;
            state.build.lay_part(&part.part(step.reversed));
        }
    }

    fn score(&self, state: &Laid<'a>) -> u64 {
        self.magnitude_of(&self.view(state))
    }
}

/// How a frame lies after some pieces.
#[derive(Clone, Debug)]
pub struct Shape {
    parts: usize,
    /// Each measure, mm, with the clamps on.
    held_mm: Vec<f64>,
    /// Each measure, mm, were the clamps let off with all other pieces laid that pull on nothing.
    let_go_mm: Vec<f64>,
}

impl PredictChange for MovementObjective<'_> {
    type View = Shape;

    fn start_towards(&self, expected: &[Step]) -> Self::State {
        let parts = self.parts(expected);
        Laid {
            build: self.solved.engine.start(&self.solved.shrinkage, &parts),
            parts: 0,
        }
    }

    fn view(&self, state: &Self::State) -> Shape {
        let parts = state.parts;
        if parts == self.parts.len() {
            let outcome = state.build.clone().release();
            return Shape {
                parts,
                held_mm: outcome.clamped_mm,
                let_go_mm: outcome.released_mm,
            };
        }
        let held_mm = state.build.measures_mm();
        let mut let_go_mm = held_mm.clone();
        let letting_go = self.solved.letting_go.iter().flatten();
        for (adds, moved) in letting_go.zip(state.build.held_mm()) {
            let sums = let_go_mm.iter_mut().zip(adds);
            sums.for_each(|(sum, more)| *sum += moved * more);
        }
        Shape {
            parts,
            held_mm,
            let_go_mm,
        }
    }

    fn magnitude_of(&self, shape: &Shape) -> u64 {
        self.plain_magnitude(shape)
            .saturating_sub(self.good_enough[usize::from(self.is_end(shape))])
    }

    fn foreseen(&self, later: &Shape, was: &Shape, now: &Shape) -> Option<Shape> {
        self.solved.letting_go.as_ref()?;
        let moved = |later: &[f64], was: &[f64], now: &[f64]| -> Vec<f64> {
            let each = later.iter().zip(was).zip(now);
            each.map(|((later, was), now)| later - was + now).collect()
        };
        Some(Shape {
            parts: later.parts,
            held_mm: moved(&later.held_mm, &was.held_mm, &now.held_mm),
            let_go_mm: moved(&later.let_go_mm, &was.let_go_mm, &now.let_go_mm),
        })
    }
}
