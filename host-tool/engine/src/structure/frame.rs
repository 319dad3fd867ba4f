//! The frame as data, and the checks that need no arithmetic.

use super::beam::{Beam, Held};
use super::error::StructureError;
use super::probe::Probe;

/// Nodes, beams between them, springs and supports.
#[derive(Clone, Debug, Default)]
pub struct Frame {
    /// Positions (x, y, z), mm. A node's index is its identity; several may lie at one place.
    pub nodes: Vec<[f64; 3]>,
    /// Straight pieces of members.
    pub beams: Vec<Beam>,
    /// What joins points other than beams do: tacks, welds, soft table, clamps.
    pub springs: Vec<Spring>,
    /// What holds nodes to the ground.
    pub supports: Vec<Support>,
}

/// A spring along a probe.
#[derive(Clone, Debug)]
pub struct Spring {
    /// What it resists.
    pub along: Probe,
    /// N/mm, or N·mm/rad where the probe reads a rotation; 0 or more, finite.
    pub stiffness: f64,
}

/// How a node is held to the ground, in global axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Support {
    /// The node held.
    pub node: usize,
    /// Displacement along x, y, z and rotation about x, y, z.
    pub held: [Held; 6],
}

impl Support {
    /// A node that can neither move nor turn.
    #[must_use]
    pub const fn fixed(node: usize) -> Self {
        Self {
            node,
            held: [Held::Fixed; 6],
        }
    }

    /// A node that can turn but not move.
    #[must_use]
    pub const fn pinned(node: usize) -> Self {
        use Held::{Fixed, Free};
        Self {
            node,
            held: [Fixed, Fixed, Fixed, Free, Free, Free],
        }
    }
}

impl Frame {
    /// Most nodes, beams, springs or supports that are taken: a frame of 10,000 members in ten pieces each.
    pub const MOST: usize = 100_000;

    pub(super) fn check(&self) -> Result<(), StructureError> {
        for (what, found) in [
            ("nodes", self.nodes.len()),
            ("beams", self.beams.len()),
            ("springs", self.springs.len()),
            ("supports", self.supports.len()),
        ] {
            if found > Self::MOST {
                return Err(StructureError::TooLarge {
                    what,
                    found,
                    most: Self::MOST,
                });
            }
        }
        if self.nodes.is_empty() {
            return Err(StructureError::Empty);
        }
        if let Some(index) = self
            .nodes
            .iter()
            .position(|p| p.iter().any(|c| !c.is_finite() || c.abs() > 1e6))
        {
            return Err(StructureError::Position { node: index });
        }
        for beam in &self.beams {
            self.check_nodes("beam", beam.member, beam.nodes)?;
            beam.check(&self.nodes)?;
        }
        for (index, spring) in self.springs.iter().enumerate() {
            self.check_nodes(
                "spring",
                index,
                spring.along.terms.iter().map(|(node, _)| *node),
            )?;
            if !is_stiffness(spring.stiffness) || !spring.along.is_finite() {
                return Err(StructureError::SpringStiffness {
                    what: "spring",
                    index,
                });
            }
        }
        for (index, support) in self.supports.iter().enumerate() {
            self.check_nodes("support", index, [support.node])?;
            if support.held.iter().any(|held| !held.is_possible()) {
                return Err(StructureError::SpringStiffness {
                    what: "support",
                    index,
                });
            }
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

/// Stiffer than any steel part of this size; beyond it the arithmetic would lose the rest of the frame.
const STIFFEST: f64 = 1e14;

pub(super) fn is_stiffness(value: f64) -> bool {
    (0.0..=STIFFEST).contains(&value)
}
