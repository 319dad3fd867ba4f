//! The shape of the whole frame after each weld and each release of a clamp, for drawings.
//!
//! The build state gives the forces on the tacked frame, and the tacked frame is solved under them.

use super::build_state::BuildState;
use super::clamps::BuildStep;
use super::model::MovementModel;
use super::model::compliance_block::COLUMNS;
use super::shrinkage::Shrinkage;
use crate::job::model::Point;
use crate::structure::{LoadCase, Shape, Structure, StructureError};

/// How every node of the beam model has moved, mm.
pub type NodeMovements = Vec<Point>;

/// The frame when the last weld is cold and the clamps are off.
#[derive(Clone, Debug)]
pub struct Released {
    /// How far every node has moved.
    pub nodes: NodeMovements,
    /// Change of each measure of the model, mm.
    pub measures_mm: Vec<f64>,
}

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
        let shape =
            |forces: &[[f64; COLUMNS]]| self.shape(&structure, forces).map(|shape| points(&shape));
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

    /// Welds in `order` and gives the shape when the last weld is cold and the clamps are off, with what would be
    /// measured of it.
    ///
    /// # Errors
    /// As [`MovementModel::history`].
    pub fn released(
        &self,
        order: &[usize],
        shrinkage: &Shrinkage,
    ) -> Result<Released, StructureError> {
        let parts = self.whole_welds(order);
        let mut state =
            BuildState::for_sequence(self, &parts, shrinkage, &self.restraints.releases);
        for part in &parts {
            state.release_before(part.weld);
            state.apply_segments(part);
            state.release_after(part.weld);
        }
        state.release_all();
        let shape = self.shape(&Structure::new(&self.tacked_frame)?, &state.forces())?;
        let measures = &self.probes[self.layout.measure(0)..];
        Ok(Released {
            nodes: points(&shape),
            measures_mm: measures.iter().map(|probe| shape.read(probe)).collect(),
        })
    }

    /// How every node moves under these forces on the tacked frame.
    fn shape(
        &self,
        structure: &Structure,
        forces: &[[f64; COLUMNS]],
    ) -> Result<Shape, StructureError> {
        let along = self
            .probes
            .iter()
            .cloned()
            .zip(forces.as_flattened().iter().copied());
        structure.solve(&LoadCase {
            along: along.collect(),
            ..LoadCase::default()
        })
    }
}

fn points(shape: &Shape) -> NodeMovements {
    let movement = |m: &[f64; 6]| Point::new(m[0], m[1], m[2]);
    shape.nodes.iter().map(movement).collect()
}
