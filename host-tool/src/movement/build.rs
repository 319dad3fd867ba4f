//! A build under way: welds laid one by one, with the measures to be read in between.
//!
//! A search that chooses its next weld on the way clones a [`Build`] and goes on from there; an order that is known
//! from the start is laid faster by [`Engine::lay`], because it may drop what no later weld needs.

use super::condensed::Stage;
use super::coordinates::Tie;
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
    pub(super) fn new(engine: &'a Engine, shrinkage: &'a Shrinkage) -> Self {
        let all: Vec<usize> = (0..engine.layout.size()).collect();
        Self {
            engine,
            shrinkage,
            stage: Stage::new(&engine.condensed, &all),
            melted: vec![false; engine.tacks.len()],
            gaps_mm: vec![0.0; engine.welds()],
        }
    }

    /// Lays one weld (by index) on the frame as it stands. Each weld is to be laid once.
    pub fn lay(&mut self, weld: usize) {
        self.gaps_mm[weld] = self.gap_mm(weld);
        let engine = self.engine;
        for deposit in &engine.deposits[weld] {
            let first = engine.layout.pair(engine.model.seams[deposit.seam].pair, 0);
            let shrinks = &self.shrinkage.seams[deposit.seam];
            let before = self.stage.moved_joint(first);
            let mut joining = deposit.join(before, &engine.tacks, &mut self.melted);
            let compliance = self.stage.stiffen_joint(first, &joining.change);
            deposit.cool(shrinks, &compliance, &mut joining);
            self.stage.push_joint(first, &joining.force);
            for (k, &force) in shrinks.strips_n.iter().enumerate() {
                if force != 0.0 {
                    let strip = engine.layout.strip(deposit.seam, k);
                    self.stage.push(&[(strip, 1.0)], force);
                }
            }
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
        let clamp_forces_n = self.let_go();
        Outcome {
            released_mm: self.measures_mm(),
            clamped_mm,
            clamp_forces_n,
            gaps_mm: self.gaps_mm,
            steps_mm: Vec::new(),
        }
    }

    /// Takes the clamps off and returns the forces they held.
    fn let_go(&mut self) -> Vec<[f64; 3]> {
        let held = &self.engine.held;
        let stage = &mut self.stage;
        let force = |tie: &Tie| -tie.stiffness * stage.moved_along(tie.direction());
        let forces = held
            .clamps
            .chunks_exact(3)
            .map(|clamp| [force(&clamp[0]), force(&clamp[1]), force(&clamp[2])])
            .collect();
        if !held.lies_on_rests {
            for tie in &held.rests {
                stage.stiffen(tie.direction(), tie.stiffness);
            }
        }
        for tie in &held.clamps {
            stage.cut(tie.direction(), tie.stiffness);
        }
        forces
    }
}
