//! The shape of the whole frame after each weld, for drawings.
//!
//! The walk tells what welds, tacks and strips push on the frame of the first moment; that frame is solved under it.

use super::engine::{Engine, Shrinkage};
use super::update::WIDE;
use super::walk::Walk;
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
        let shape = |pushes: &[[f64; WIDE]]| -> Result<NodeMovements, StructureError> {
            let along = self
                .probes
                .iter()
                .cloned()
                .zip(pushes.as_flattened().iter().copied());
            let shape = structure.solve(&LoadCase {
                along: along.collect(),
                ..LoadCase::default()
            })?;
            let movement = |m: &[f64; 6]| Point::new(m[0], m[1], m[2]);
            Ok(shape.nodes.iter().map(movement).collect())
        };
        let parts = self.whole_welds(order);
        let mut walk = Walk::new(self, &parts, shrinkage);
        let mut steps = Vec::new();
        for part in &parts {
            walk.lay(part);
            steps.push(shape(&walk.pushes())?);
        }
        walk.release();
        let released = shape(&walk.pushes())?;
        Ok(History { steps, released })
    }
}
