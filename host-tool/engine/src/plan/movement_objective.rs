//! Scores orders by the movement of the frame model, weld by weld.
//!
//! How a part pulls depends on which parts were welded before it, not on the shape of the frame. So what a change in
//! the middle of an order does to the shape stays to the end, and the score there can be predicted. The prediction
//! leaves out that tacks melted later release a little more or less, and clamps that slip.

use super::PlanningProblem;
use super::model::Gauge;
use super::parts::PlannedPart;
use super::search::PredictChange;
use super::search::remembered::AddEffects;
use crate::job::model::Job;
use crate::movement::build_state::BuildState;
use crate::movement::cost::MovementWeights;
use crate::movement::measures::MeasureKind;
use crate::movement::model::MovementModel;
use crate::movement::model::weld_part::WeldPart;
use crate::movement::outcome::Outcome;
use crate::movement::shrinkage::Shrinkage;
use crate::movement::simulate::SimulationOptions;
use coldsquare_core::sequence::{Objective, Step};

/// Movements are counted in steps of this share of the movement in file order: finer than anybody measures, coarser
/// than the noise of the arithmetic, so that a tie is a tie. It is a share so that more heat all over changes no count.
const COUNT: f64 = 1e-5;

/// A frame model solved once, to score any order with.
#[derive(Clone, Debug)]
pub struct Solved {
    model: MovementModel,
    shrinkage: Shrinkage,
    weights: MovementWeights,
    /// One step of the count, mm.
    step_mm: f64,
    /// See [`MovementModel::springback`].
    springback: Option<Vec<Vec<f64>>>,
}

impl Solved {
    /// Solves the frame model of a job for the net heat of each weld by index, J/mm.
    ///
    /// # Errors
    /// Why it cannot be solved, as a sentence.
    pub fn new(job: &Job, net_heat_j_per_mm: &[f64]) -> Result<Self, String> {
        Self::with_weights(job, net_heat_j_per_mm, MovementWeights::of_goal(&job.goal))
    }

    /// The same with other weights of what counts.
    ///
    /// # Errors
    /// As [`Solved::new`].
    pub fn with_weights(
        job: &Job,
        net_heat_j_per_mm: &[f64],
        weights: MovementWeights,
    ) -> Result<Self, String> {
        if job.welds.is_empty() {
            return Err("there is no weld".into());
        }
        let model = MovementModel::new(job).map_err(|error| error.to_string())?;
        let shrinkage = model
            .shrinkage_each(net_heat_j_per_mm, &job.shrinkage_factors())
            .map_err(|error| error.to_string())?;
        let file_order: Vec<usize> = (0..model.welds()).collect();
        let outcome = model.simulate(
            &model.whole_welds(&file_order),
            &shrinkage,
            &SimulationOptions::after_each_part(),
        );
        let moves_mm = weights.of(model.measures(), &outcome);
        Ok(Self {
            step_mm: COUNT * if moves_mm > 0.0 { moves_mm } else { 1.0 },
            springback: model.springback(&shrinkage),
            model,
            shrinkage,
            weights,
        })
    }

    /// The objective for the orders of these parts.
    #[must_use]
    pub fn objective<'a>(&'a self, problem: &'a PlanningProblem<'_>) -> MovementObjective<'a> {
        MovementObjective {
            solved: self,
            parts: &problem.parts,
            good_enough: [0; 2],
        }
    }
}

/// Scores orders by movement.
#[derive(Clone, Copy, Debug)]
pub struct MovementObjective<'a> {
    solved: &'a Solved,
    parts: &'a [PlannedPart],
    /// Scores up to this count as none: on the way, and at the end.
    good_enough: [u64; 2],
}

impl MovementObjective<'_> {
    /// What orders are scored by.
    #[must_use]
    pub const fn gauge(&self) -> Gauge {
        Gauge {
            name: "movement (at the end, or a quarter of it on the way)",
            unit: "mm",
            per_root: self.solved.step_mm,
        }
    }

    /// The same objective, to which all movement up to that of `order`, and a share `more` of it, counts as none.
    #[must_use]
    pub fn indifferent_to(&self, order: &[Step], more: f64) -> Self {
        let mut state = self.start();
        let mut good_enough = [0_u64; 2];
        for &step in order {
            self.apply(&mut state, step);
            let at_end = state.parts == self.parts.len();
            let most = &mut good_enough[usize::from(at_end)];
            *most = (*most).max(self.score_of_shape(&self.view(&state)));
        }
        let square = (1.0 + more) * (1.0 + more);
        Self {
            good_enough: good_enough.map(|score| (score as f64 * square) as u64),
            ..*self
        }
    }

    /// How an order moves the frame.
    #[must_use]
    pub fn outcome(&self, order: &[Step]) -> Outcome {
        let model = &self.solved.model;
        model.simulate(
            &self.parts(order),
            &self.solved.shrinkage,
            &SimulationOptions::default(),
        )
    }

    fn parts(&self, order: &[Step]) -> Vec<WeldPart> {
        let part = |step: &Step| self.parts[usize::from(step.weld)].part(step.reversed);
        order.iter().map(part).collect()
    }

    /// How far an order moves the frame, mm, by [`MovementObjective::gauge`].
    #[must_use]
    pub fn moves_mm(&self, order: &[Step]) -> f64 {
        let outcome = self.solved.model.simulate(
            &self.parts(order),
            &self.solved.shrinkage,
            &SimulationOptions::after_each_part(),
        );
        let (weights, measures) = (&self.solved.weights, self.solved.model.measures());
        let on_the_way = outcome
            .steps_mm
            .iter()
            .map(|mm| weights.of_shape(measures, mm));
        let on_the_way = on_the_way
            .take(order.len().saturating_sub(1))
            .fold(0.0, f64::max);
        weights
            .of_shape(measures, &outcome.released_mm)
            .max(weights.during_welding * on_the_way)
    }

    /// The worst bow of a member that an order leaves, mm.
    #[must_use]
    pub fn worst_bow_mm(&self, order: &[Step]) -> f64 {
        let outcome = self.outcome(order);
        let measures = self.solved.model.measures().iter();
        measures
            .zip(outcome.released_mm)
            .filter(|(measure, _)| measure.kind == MeasureKind::Bow)
            .map(|(_, mm)| mm.abs())
            .fold(0.0, f64::max)
    }

    fn score_of_shape(&self, shape: &Shape) -> u64 {
        let weights = &self.solved.weights;
        let of_shape = |mm: &[f64]| weights.of_shape(self.solved.model.measures(), mm);
        let measures = self.solved.model.measures().len();
        let mm = if self.is_end(shape) {
            // Without clamps there is no other shape.
            of_shape(&shape.mm[shape.mm.len() - measures..])
        } else {
            weights.during_welding * of_shape(&shape.mm[..measures])
        };
        let steps = (mm / self.solved.step_mm).round();
        (steps * steps) as u64
    }

    fn is_end(&self, shape: &Shape) -> bool {
        shape.parts == self.parts.len()
    }
}

/// The frame after some parts.
#[derive(Clone, Debug)]
pub struct FrameState<'a> {
    build: BuildState<'a>,
    parts: usize,
}

impl<'a> Objective for MovementObjective<'a> {
    type State = FrameState<'a>;

    fn start(&self) -> FrameState<'a> {
        self.start_towards(&[])
    }

    fn is_directed(&self, weld: u16) -> bool {
        let part = self.parts.get(usize::from(weld));
        part.is_some_and(PlannedPart::has_direction)
    }

    fn apply(&self, state: &mut FrameState<'a>, step: Step) {
        if let Some(part) = self.parts.get(usize::from(step.weld)) {
            state.parts += 1;
            state.build.apply_part(&part.part(step.reversed));
        }
    }

    fn score(&self, state: &FrameState<'a>) -> u64 {
        self.score_of(&self.view(state))
    }
}

/// The shape of a frame after some parts.
#[derive(Clone, Debug)]
pub struct Shape {
    parts: usize,
    /// Each measure, mm, with the clamps on; and then, where there are clamps, each measure if they were taken off after
    /// all other parts, welded without heat.
    mm: Vec<f64>,
}

impl Shape {
    fn new(parts: usize, clamped_mm: Vec<f64>, released_mm: Option<Vec<f64>>) -> Self {
        let mut mm = clamped_mm;
        mm.extend(released_mm.into_iter().flatten());
        Self { parts, mm }
    }
}

impl MovementObjective<'_> {
    /// Whether the effect of a change, or of an item, can be predicted: no clamp comes off on the way.
    #[must_use]
    pub const fn is_predictable(&self) -> bool {
        self.solved.springback.is_some()
    }
}

impl PredictChange for MovementObjective<'_> {
    type View = Shape;

    fn start_towards(&self, expected: &[Step]) -> Self::State {
        let parts = self.parts(expected);
        FrameState {
            build: self.solved.model.start(&self.solved.shrinkage, &parts),
            parts: 0,
        }
    }

    fn view(&self, state: &Self::State) -> Shape {
        let parts = state.parts;
        let has_clamps = !state.build.restraint_movements_mm().is_empty();
        if has_clamps && parts == self.parts.len() {
            let outcome = state.build.clone().release();
            return Shape::new(parts, outcome.clamped_mm, Some(outcome.released_mm));
        }
        let clamped_mm = state.build.measures_mm();
        let released_mm = has_clamps.then(|| {
            let mut released_mm = clamped_mm.clone();
            let springback = self.solved.springback.iter().flatten();
            for (adds, moved) in springback.zip(state.build.restraint_movements_mm()) {
                let sums = released_mm.iter_mut().zip(adds);
                sums.for_each(|(sum, more)| *sum += moved * more);
            }
            released_mm
        });
        Shape::new(parts, clamped_mm, released_mm)
    }

    fn score_of(&self, shape: &Shape) -> u64 {
        self.score_of_shape(shape)
            .saturating_sub(self.good_enough[usize::from(self.is_end(shape))])
    }

    fn predict_after_change(&self, later: &Shape, before: &Shape, after: &Shape) -> Option<Shape> {
        self.solved.springback.as_ref()?;
        let each = later.mm.iter().zip(&before.mm).zip(&after.mm);
        Some(Shape {
            parts: later.parts,
            mm: each
                .map(|((later, before), after)| later - before + after)
                .collect(),
        })
    }
}

impl AddEffects for MovementObjective<'_> {
    fn numbers<'v>(&self, shape: &'v Shape) -> &'v [f64] {
        &shape.mm
    }

    fn add(&self, shape: &mut Shape, effect: &[f64]) {
        shape.parts += 1;
        let sums = shape.mm.iter_mut().zip(effect);
        sums.for_each(|(sum, more)| *sum += more);
    }
}
