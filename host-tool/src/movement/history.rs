//! The shape of the whole frame after each weld, for drawings.
//!
//! Slower than [`Engine::lay`], because nothing is dropped on the way: what the welds, tacks and strips push on the
//! structure of the first moment is added up, and the movements of all nodes follow from it.

use super::condensed::{Matrix6, Stage};
use super::engine::{Engine, Shrinkage};
use crate::job::model::Point;
use crate::structure::{LoadCase, Structure, StructureError};

/// How every node of the frame model has moved, mm.
pub type NodeMovements = Vec<Point>;

/// The shapes of a build.
#[derive(Clone, Debug)]
pub struct History {
    /// After each weld, in the order laid, with the clamps on.
    pub steps: Vec<NodeMovements>,
    /// When the last weld is cold and the clamps are off.
    pub released: NodeMovements,
}

impl Engine {
    /// Lays the welds in `order` and keeps the shape after each.
    ///
    /// # Errors
    /// [`StructureError`] never for an engine that was made: its frame stands.
    pub fn history(
        &self,
        order: &[usize],
        shrinkage: &Shrinkage,
    ) -> Result<History, StructureError> {
        let structure = Structure::new(&self.first)?;
        let all: Vec<usize> = (0..self.layout.size()).collect();
        let mut stage = Stage::new(&self.condensed, &all);
        let mut melted = vec![false; self.tacks.len()];
        let mut joints: Vec<(Matrix6, [f64; 6])> =
            vec![([[0.0; 6]; 6], [0.0; 6]); self.model.pairs.len()];
        let mut on_first = vec![0.0; self.layout.size()];
        let mut steps = Vec::new();
        for &weld in order {
            for deposit in &self.deposits[weld] {
                let (change, at_zero) = self.deposit(&mut stage, deposit, shrinkage, &mut melted);
                let (stiffness, rest) = &mut joints[self.model.seams[deposit.seam].pair];
                for i in 0..6 {
                    rest[i] += at_zero[i];
                    for j in 0..6 {
                        stiffness[i][j] += change[i][j];
                    }
                }
                for (k, force) in shrinkage.seams[deposit.seam].strips_n.iter().enumerate() {
                    on_first[self.layout.strip(deposit.seam, k)] += force;
                }
            }
            self.joints_push(&stage, &joints, &mut on_first);
            steps.push(self.movements(&structure, &on_first)?);
        }
        let rests_before: Vec<f64> = (0..6).map(|r| stage.moved(self.layout.rest(r))).collect();
        self.release(&mut stage);
        self.joints_push(&stage, &joints, &mut on_first);
        for clamp in &self.held.clamps {
            on_first[clamp.direction[0].0] = clamp.stiffness * stage.moved_along(clamp.direction());
        }
        if !self.held.lies_on_rests {
            for (rest, before) in self.held.rests.iter().zip(rests_before) {
                on_first[rest.direction[0].0] =
                    -rest.stiffness * (stage.moved_along(rest.direction()) - before);
            }
        }
        let released = self.movements(&structure, &on_first)?;
        Ok(History { steps, released })
    }

    /// What the joints push on the structure of the first moment, for where they stand now.
    fn joints_push(&self, stage: &Stage, joints: &[(Matrix6, [f64; 6])], on_first: &mut [f64]) {
        for (pair, (stiffness, rest)) in joints.iter().enumerate() {
            let first = self.layout.pair(pair, 0);
            let moved = stage.moved_joint(first);
            for i in 0..6 {
                on_first[first + i] =
                    rest[i] - (0..6).map(|j| stiffness[i][j] * moved[j]).sum::<f64>();
            }
        }
    }

    /// The structure of the first moment under what welds, tacks and strips push on it.
    fn movements(
        &self,
        structure: &Structure,
        on_first: &[f64],
    ) -> Result<NodeMovements, StructureError> {
        let pushed = self.probes.iter().zip(on_first);
        let shape = structure.solve(&LoadCase {
            along: pushed
                .map(|(probe, &force)| (probe.clone(), force))
                .collect(),
            ..LoadCase::default()
        })?;
        let movement = |m: &[f64; 6]| Point::new(m[0], m[1], m[2]);
        Ok(shape.nodes.iter().map(movement).collect())
    }
}
