//! Judges orders on the structure: how far the frame moves as each piece of weld is laid on it as it then stands.

use super::Workpiece;
use super::model::Gauge;
use super::pieces::WeldPiece;
use crate::job::model::Job;
use crate::movement::answers::MeasureKind;
use crate::movement::build::Build;
use crate::movement::cost::Cost;
use crate::movement::engine::{Engine, Outcome, Shrinkage};
use crate::movement::part::Part;
use crate::shop::factors::of_welds;
use coldsquare_core::sequence::{Assess, Step};

/// Magnitudes are squares of this many to the millimetre: nobody measures less, and a tie is a tie.
const STEPS_PER_MM: f64 = 1e4;

/// A frame solved once, on which any order can be judged.
#[derive(Clone, Debug)]
pub struct Solved {
    engine: Engine,
    shrinkage: Shrinkage,
    cost: Cost,
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
        Ok(Self {
            engine,
            shrinkage,
            cost,
        })
    }

    /// The judge of the orders of these pieces.
    #[must_use]
    pub fn judge<'a>(&'a self, work: &'a Workpiece<'_>) -> Judge<'a> {
        Judge {
            solved: self,
            pieces: &work.pieces,
            good_enough: [0; 2],
        }
    }
}

/// Judges orders on the structure.
#[derive(Clone, Copy, Debug)]
pub struct Judge<'a> {
    solved: &'a Solved,
    pieces: &'a [WeldPiece],
    /// Magnitudes up to this are as good as none: on the way, and at the end.
    good_enough: [u64; 2],
}

impl Judge<'_> {
    /// What an order is judged by.
    pub const GAUGE: Gauge = Gauge {
        name: "movement (at the end, or a quarter of what it is on the way)",
        unit: "mm",
        per_root: 1.0 / STEPS_PER_MM,
    };

    /// The same judge, to whom a little more movement than that of an order is as good as none: `more` is the share.
    #[must_use]
    pub fn content_with(&self, order: &[Step], more: f64) -> Self {
        let mut state = self.start();
        let mut good_enough = [0_u64; 2];
        for &step in order {
            self.lay(&mut state, step);
            let at_end = state.pieces == self.pieces.len();
            let most = &mut good_enough[usize::from(at_end)];
            *most = (*most).max(self.plain_magnitude(&state));
        }
        let square = (1.0 + more) * (1.0 + more);
        Self {
            good_enough: good_enough.map(|magnitude| (magnitude as f64 * square) as u64),
            ..*self
        }
    }

    /// What an order does to the frame.
    #[must_use]
    pub fn outcome(&self, order: &[Step]) -> Outcome {
        let part = |step: &Step| self.pieces[usize::from(step.weld)].part(step.reversed);
        let parts: Vec<Part> = order.iter().map(part).collect();
        self.solved.engine.lay_parts(&parts, &self.solved.shrinkage)
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

    fn plain_magnitude(&self, state: &Laid<'_>) -> u64 {
        let (cost, measures) = (&self.solved.cost, self.solved.engine.measures());
        let mm = if state.pieces == self.pieces.len() {
            let outcome = state.build.clone().release();
            cost.of_shape(measures, &outcome.released_mm)
        } else if cost.on_the_way > 0.0 {
            cost.on_the_way * cost.of_shape(measures, &state.build.measures_mm())
        } else {
            0.0
        };
        let steps = (mm * STEPS_PER_MM).round();
        (steps * steps) as u64
    }
}

/// The frame after some pieces.
#[derive(Clone, Debug)]
pub struct Laid<'a> {
    build: Build<'a>,
    pieces: usize,
}

impl<'a> Assess for Judge<'a> {
    type State = Laid<'a>;

    fn start(&self) -> Laid<'a> {
        Laid {
            build: self.solved.engine.start(&self.solved.shrinkage),
            pieces: 0,
        }
    }

    fn is_directed(&self, weld: u16) -> bool {
        let piece = self.pieces.get(usize::from(weld));
        piece.is_some_and(WeldPiece::has_direction)
    }

    fn lay(&self, state: &mut Laid<'a>, step: Step) {
        if let Some(piece) = self.pieces.get(usize::from(step.weld)) {
            state.pieces += 1;
            state.build.lay_part(&piece.part(step.reversed));
        }
    }

    fn magnitude(&self, state: &Laid<'a>) -> u64 {
        let at_end = state.pieces == self.pieces.len();
        self.plain_magnitude(state)
            .saturating_sub(self.good_enough[usize::from(at_end)])
    }
}
