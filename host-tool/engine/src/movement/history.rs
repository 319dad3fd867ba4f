//! The shape of the whole frame after each weld and each clamp that comes off, for drawings.
//!
//! The walk tells what welds, tacks and strips push on the frame of the first moment; that frame is solved under it.

use super::engine::{Engine, Shrinkage};
use super::holding::Moment;
use super::update::WIDE;
use super::walk::Walk;
use crate::job::model::Point;
use crate::structure::{LoadCase, Structure, StructureError};

/// How every node of the frame model has moved, mm.
pub type NodeMovements = Vec<Point>;

/// The shapes of a build.
#[derive(Clone, Debug)]
pub struct History {
    /// After each weld, in the order laid, and after clamps that come off between them.
    pub steps: Vec<(Moment, NodeMovements)>,
    /// When the last weld is cold and the clamps are off.
    pub released: NodeMovements,
}

impl Engine {
    /// Lays the welds in `order` and keeps the shape after each, and after each time clamps come off on the way.
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
        let mut walk = Walk::new(self, &parts, shrinkage, &self.held.releases);
        let mut steps = Vec::new();
        let mut keep = |walk: &Walk<'_>, moment: Moment| -> Result<(), StructureError> {
            if moment != Moment::ClampsOff(Vec::new()) {
                steps.push((moment, shape(&walk.pushes())?));
            }
            Ok(())
        };
        for part in &parts {
            let off = walk.come_off_before(part.weld);
            keep(&walk, Moment::ClampsOff(off))?;
            walk.part(part);
            keep(&walk, Moment::Weld(part.weld))?;
            let off = walk.come_off_after(part.weld);
            keep(&walk, Moment::ClampsOff(off))?;
        }
        walk.release();
        let released = shape(&walk.pushes())?;
        Ok(History { steps, released })
    }
}
