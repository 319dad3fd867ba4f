//! The shape of the whole frame after each weld and each release of a clamp, for drawings.
//!
//! The build state gives the forces on the tacked frame, and the tacked frame is solved under them.

use super::build_state::BuildState;
use super::clamps::BuildStep;
use super::model::MovementModel;
use super::model::compliance_block::COLUMNS;
use super::shrinkage::Shrinkage;
use crate::job::model::Point;
use crate::structure::{LoadCase, Structure, StructureError};

/// How every node of the beam model has moved, mm.
pub type NodeMovements = Vec<Point>;

/// The shapes of a build.
#[derive(Clone, Debug)]
pub struct History {
    /// After each weld, and after clamps are released between welds.
    pub steps: Vec<(BuildStep, NodeMovements)>,
    /// When the last weld is cold and the clamps are off.
    pub released: NodeMovements,
}

impl MovementModel {
    /// Welds in `order` and keeps the shape after each weld and each release of clamps on the way.
    ///
    /// # Errors
    /// [`StructureError`]; not to be expected, because a model has a frame that could be solved.
    pub fn history(
        &self,
        order: &[usize],
        shrinkage: &Shrinkage,
    ) -> Result<History, StructureError> {
        let structure = Structure::new(&self.tacked_frame)?;
        let shape = |forces: &[[f64; COLUMNS]]| self.shape(&structure, forces);
        let parts = self.whole_welds(order);
        let mut state =
            BuildState::for_sequence(self, &parts, shrinkage, &self.restraints.releases);
        let mut steps = Vec::new();
        let mut keep = |state: &BuildState<'_>, step: BuildStep| -> Result<(), StructureError> {
            if step != BuildStep::Release(Vec::new()) {
                steps.push((step, shape(&state.forces())?));
            }
            Ok(())
        };
        for part in &parts {
            let off = state.release_before(part.weld);
            keep(&state, BuildStep::Release(off))?;
            state.apply_segments(part);
            keep(&state, BuildStep::Weld(part.weld))?;
            let off = state.release_after(part.weld);
            keep(&state, BuildStep::Release(off))?;
        }
        state.release_all();
        let released = shape(&state.forces())?;
        Ok(History { steps, released })
    }

    /// Welds in `order` and gives the shape when the last weld is cold and the clamps are off.
    ///
    /// # Errors
    /// As [`MovementModel::history`].
    pub fn released(
        &self,
        order: &[usize],
        shrinkage: &Shrinkage,
    ) -> Result<NodeMovements, StructureError> {
        let parts = self.whole_welds(order);
        let mut state =
            BuildState::for_sequence(self, &parts, shrinkage, &self.restraints.releases);
        for part in &parts {
            state.release_before(part.weld);
            state.apply_segments(part);
            state.release_after(part.weld);
        }
        state.release_all();
        self.shape(&Structure::new(&self.tacked_frame)?, &state.forces())
    }

    /// How every node moves under these forces on the tacked frame.
    fn shape(
        &self,
        structure: &Structure,
        forces: &[[f64; COLUMNS]],
    ) -> Result<NodeMovements, StructureError> {
        let along = self
            .probes
            .iter()
            .cloned()
            .zip(forces.as_flattened().iter().copied());
        let shape = structure.solve(&LoadCase {
            along: along.collect(),
            ..LoadCase::default()
        })?;
        let movement = |m: &[f64; 6]| Point::new(m[0], m[1], m[2]);
        Ok(shape.nodes.iter().map(movement).collect())
    }
}
