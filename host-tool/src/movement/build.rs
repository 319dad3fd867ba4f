//! A build under way: welds laid one by one, with the measures to be read in between.
//!
//! A search that chooses its next weld on the way clones a [`Build`] and goes on from there; an order that is known
//! from the start is laid faster by [`Engine::lay`], because it may drop what no later weld needs.

use super::condensed::Stage;
use super::engine::{Engine, Outcome, Shrinkage};

/// The frame after some of its welds.
#[derive(Clone, Debug)]
pub struct Build<'a> {
    engine: &'a Engine,
    shrinkage: &'a Shrinkage,
    stage: Stage,
    melted: Vec<bool>,
    gaps_mm: Vec<f64>,
}

impl<'a> Build<'a> {
    pub(super) fn new(engine: &'a Engine, shrinkage: &'a Shrinkage, coordinates: &[usize]) -> Self {
        Self {
            engine,
            shrinkage,
            stage: Stage::new(&engine.condensed, coordinates),
            melted: vec![false; engine.tacks.len()],
            gaps_mm: vec![0.0; engine.welds()],
        }
    }

    /// Lays one weld (by index) on the frame as it stands. Each weld is to be laid once.
    pub fn lay(&mut self, weld: usize) {
        self.gaps_mm[weld] = self.gap_mm(weld);
        for deposit in &self.engine.deposits[weld] {
            self.engine
                .deposit(&mut self.stage, deposit, self.shrinkage, &mut self.melted);
        }
    }

    /// How far the joint of a weld stands open there, mm: the widest of its pieces.
    fn gap_mm(&self, weld: usize) -> f64 {
        self.engine.deposits[weld]
            .iter()
            .map(|deposit| {
                let pair = self.engine.model.seams[deposit.seam].pair;
                let moved = self.stage.moved_joint(self.engine.layout.pair(pair, 0));
                deposit.across.read(&moved)
            })
            .max_by(|a, b| a.abs().total_cmp(&b.abs()))
            .unwrap_or(0.0)
    }

    pub(super) fn keep(&mut self, live: usize) {
        self.stage.keep(live);
    }

    /// Each measure as the frame lies now, mm, in the order of [`Engine::measures`].
    #[must_use]
    pub fn measures_mm(&self) -> Vec<f64> {
        (0..self.engine.measures.len())
            .map(|m| self.stage.moved(self.engine.layout.measure(m)))
            .collect()
    }

    /// Lets the clamps off: what the frame is then.
    #[must_use]
    pub fn release(mut self) -> Outcome {
        let clamped_mm = self.measures_mm();
        let clamp_forces_n = self.engine.release(&mut self.stage);
        Outcome {
            released_mm: self.measures_mm(),
            clamped_mm,
            clamp_forces_n,
            gaps_mm: self.gaps_mm,
            steps_mm: Vec::new(),
        }
    }
}
