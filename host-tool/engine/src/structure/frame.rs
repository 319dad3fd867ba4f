//! The frame as data, and the checks that need no arithmetic.

use super::beam::Beam;
use super::error::StructureError;
use super::fixity::{Fixity, is_stiffness};
use super::probe::Probe;

/// Nodes, beams between them, springs and supports.
#[derive(Clone, Debug, Default)]
pub struct Frame {
    /// Positions (x, y, z), mm. A node's index is its identity; several may lie at one place.
    pub nodes: Vec<[f64; 3]>,
    /// Beam elements: straight lengths of members.
    pub beams: Vec<Beam>,
    /// What joins points other than beams do: tacks, welds, clamps, a table that gives.
    pub springs: Vec<Spring>,
    /// Restraints of nodes to the ground.
    pub supports: Vec<Support>,
}

/// A spring along a probe.
#[derive(Clone, Debug)]
pub struct Spring {
    /// The movement that it resists.
    pub along: Probe,
    /// N/mm, or N·mm/rad where the probe reads a rotation; 0 to 1e14.
    pub stiffness: f64,
}

/// How a node is restrained to the ground, in global axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Support {
    /// The node.
    pub node: usize,
    /// Displacement along x, y, z, then rotation about x, y, z.
    pub fixity: [Fixity; 6],
}

impl Support {
    /// A node that can neither move nor turn.
    #[must_use]
    pub const fn fixed(node: usize) -> Self {
        Self {
            node,
            fixity: [Fixity::Fixed; 6],
        }
    }
}

impl Frame {
    /// Limit of the number of nodes, of beams, of springs and of supports: a frame of 10,000 members in ten elements
    /// each.
    pub const MAX_ITEMS: usize = 100_000;

    pub(super) fn check(&self) -> Result<(), StructureError> {
        self.check_size()?;
        let far = |c: &f64| !c.is_finite() || c.abs() > 1e6;
        if let Some(node) = self.nodes.iter().position(|p| p.iter().any(far)) {
            return Err(StructureError::Position { node });
        }
        for beam in &self.beams {
            self.check_nodes("beam", beam.member, beam.nodes)?;
            beam.check(&self.nodes)?;
        }
        for (index, spring) in self.springs.iter().enumerate() {
            self.check_spring(index, spring)?;
        }
        for (index, support) in self.supports.iter().enumerate() {
            self.check_nodes("support", index, [support.node])?;
            if support.fixity.iter().any(|fixity| !fixity.is_valid()) {
                return Err(StructureError::SpringStiffness {
                    what: "support",
                    index,
                });
            }
        }
        Ok(())
    }

    fn check_size(&self) -> Result<(), StructureError> {
        for (what, found) in [
            ("nodes", self.nodes.len()),
            ("beams", self.beams.len()),
            ("springs", self.springs.len()),
            ("supports", self.supports.len()),
        ] {
            if found > Self::MAX_ITEMS {
                return Err(StructureError::TooLarge {
                    what,
                    found,
                    max: Self::MAX_ITEMS,
                });
            }
        }
        if self.nodes.is_empty() {
            return Err(StructureError::Empty);
        }
        Ok(())
    }

    fn check_spring(&self, index: usize, spring: &Spring) -> Result<(), StructureError> {
        let nodes = spring.along.terms.iter().map(|(node, _)| *node);
        self.check_nodes("spring", index, nodes)?;
        if !is_stiffness(spring.stiffness) || !spring.along.is_finite() {
            return Err(StructureError::SpringStiffness {
                what: "spring",
                index,
            });
        }
        Ok(())
    }

    fn check_nodes(
        &self,
        what: &'static str,
        index: usize,
        nodes: impl IntoIterator<Item = usize>,
    ) -> Result<(), StructureError> {
        match nodes.into_iter().find(|node| *node >= self.nodes.len()) {
            Some(node) => Err(StructureError::NoSuchNode { what, index, node }),
            None => Ok(()),
        }
    }
}
