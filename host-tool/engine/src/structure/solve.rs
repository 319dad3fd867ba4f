//! A frame checked and factorised, and its shape under load.

use super::block::{Block, Lanes};
use super::error::StructureError;
use super::factor::{Factor, Matrix};
use super::fixity::Fixity;
use super::frame::Frame;
use super::load::{InitialStrain, LoadCase};
use super::mechanism::{self, Verdict};
use super::ordering::Pattern;
use super::probe::Probe;
use crate::algebra::{Vector6, add6};

/// A frame that is no mechanism: checked, assembled and factorised. It can be solved for any number of load cases.
pub struct Structure {
    frame: Frame,
    factor: Factor,
    /// For each node, the components that a support fixes.
    fixed: Vec<[bool; 6]>,
}

/// Displacements of all nodes: mm along and rad about the global axes.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// For each node of the frame: displacement x, y, z and rotation about x, y, z.
    pub nodes: Vec<[f64; 6]>,
}

impl Shape {
    /// What a probe reads, mm or rad.
    ///
    /// # Panics
    /// If the probe names a node that this frame does not have.
    #[must_use]
    pub fn read(&self, probe: &Probe) -> f64 {
        probe.read(&self.nodes)
    }
}

/// Limit of the number of mechanisms that are listed.
const MAX_MOTIONS: usize = 12;
/// Frames with more nodes than this are not searched for a second mechanism.
const MAX_SEARCHED_NODES: usize = 1000;

/// Load cases that [`Structure::flexibility`] solves at once.
const LANES: usize = 8;

impl Structure {
    /// Limit of the number of entries that [`Structure::flexibility`] returns: 160 MB.
    pub const MAX_FLEXIBILITIES: usize = 20_000_000;

    /// Checks the frame, assembles its stiffness and factorises it.
    ///
    /// # Errors
    /// [`StructureError`] with what is wrong in the data, or how the frame can move freely.
    pub fn new(frame: &Frame) -> Result<Self, StructureError> {
        frame.check()?;
        let mut fixed = vec![[false; 6]; frame.nodes.len()];
        for support in &frame.supports {
            fixed[support.node]
                .iter_mut()
                .zip(support.fixity)
                .for_each(|(fixed, how)| *fixed |= how == Fixity::Fixed);
        }
        let mut motions = Vec::new();
        let mut more_fixed = fixed.clone();
        loop {
            let factor = assemble(frame, &more_fixed)?.factor();
            let Verdict { mechanisms, more } = mechanism::judge(frame, &factor)?;
            if mechanisms.is_empty() && motions.is_empty() {
                return Ok(Self {
                    frame: frame.clone(),
                    factor,
                    fixed,
                });
            }
            // Fix what can move and look whether anything else can; in a large frame one answer is enough.
            for (small, motion) in mechanisms {
                more_fixed[small.node][small.component] = true;
                motions.push(motion);
            }
            if !more || motions.len() >= MAX_MOTIONS || frame.nodes.len() > MAX_SEARCHED_NODES {
                motions.truncate(MAX_MOTIONS);
                return Err(StructureError::Mechanism(motions));
            }
        }
    }

    /// The frame as given.
    #[must_use]
    pub fn frame(&self) -> &Frame {
        &self.frame
    }

    /// The shape under a load case.
    ///
    /// # Errors
    /// [`StructureError`] for a load on something that does not exist, or that is not a number.
    pub fn solve(&self, case: &LoadCase) -> Result<Shape, StructureError> {
        let mut lanes: Vec<Lanes<1>> = self
            .node_forces(case)?
            .iter()
            .map(|six| six.map(|value| [value]))
            .collect();
        self.factor.solve(&mut lanes);
        Ok(Shape {
            nodes: lanes.iter().map(|six| six.map(|[value]| value)).collect(),
        })
    }

    /// The flexibility matrix: how far each of `readings` moves under a unit force (1 N, or 1 N·mm along a rotation)
    /// along each of `forces`, one row for each force. With the same probes twice it is symmetric but for rounding
    /// (Betti 1872). This is much faster than a load case for each force.
    ///
    /// # Errors
    /// [`StructureError`] for a probe that is not finite or names a node that does not exist, and for more than
    /// [`Structure::MAX_FLEXIBILITIES`] entries.
    pub fn flexibility(
        &self,
        forces: &[Probe],
        readings: &[Probe],
    ) -> Result<Vec<f64>, StructureError> {
        for probe in forces.iter().chain(readings) {
            if let Some(index) = probe.stray_node(self.fixed.len()) {
                return Err(StructureError::NoSuchItem {
                    what: "node",
                    index,
                });
            }
            if !probe.is_finite() {
                return Err(StructureError::Load {
                    what: "a direction",
                });
            }
        }
        let found = forces.len().saturating_mul(readings.len());
        if found > Self::MAX_FLEXIBILITIES {
            return Err(StructureError::TooLarge {
                what: "flexibilities",
                found,
                max: Self::MAX_FLEXIBILITIES,
            });
        }
        let mut rows = vec![0.0; found];
        for (batch, probes) in forces.chunks(LANES).enumerate() {
            let shapes = self.unit_shapes(probes);
            for (column, reading) in readings.iter().enumerate() {
                let values = reading.read_lanes(&shapes);
                for (lane, value) in values.into_iter().take(probes.len()).enumerate() {
                    rows[(batch * LANES + lane) * readings.len() + column] = value;
                }
            }
        }
        Ok(rows)
    }

    /// Shapes under a unit force along each of up to [`LANES`] probes.
    fn unit_shapes(&self, probes: &[Probe]) -> Vec<Lanes<LANES>> {
        let mut values = vec![[[0.0; LANES]; 6]; self.fixed.len()];
        for (lane, probe) in probes.iter().enumerate() {
            for (node, coefficients) in &probe.terms {
                let free = coefficients
                    .iter()
                    .zip(&self.fixed[*node])
                    .map(|(c, fixed)| if *fixed { 0.0 } else { *c });
                values[*node]
                    .iter_mut()
                    .zip(free)
                    .for_each(|(v, c)| v[lane] += c);
            }
        }
        self.factor.solve(&mut values);
        values
    }

    /// Forces on the nodes from all loads, the natural readings of springs included.
    fn node_forces(&self, case: &LoadCase) -> Result<Vec<Vector6>, StructureError> {
        let frame = &self.frame;
        case.check(frame.nodes.len(), frame.beams.len(), frame.springs.len())?;
        let mut forces = vec![[0.0; 6]; frame.nodes.len()];
        for (node, force) in &case.forces {
            add6(&mut forces[*node], force);
        }
        for (probe, force) in &case.along {
            probe.push(*force, &mut forces);
        }
        for (spring, reading) in &case.natural {
            let spring = &frame.springs[*spring];
            spring.along.push(spring.stiffness * reading, &mut forces);
        }
        let strained = case
            .strains
            .iter()
            .map(|(beam, strain)| (*beam, *strain, [0.0; 3]));
        let loaded = case
            .beam_loads
            .iter()
            .map(|(beam, load)| (*beam, InitialStrain::default(), *load));
        for (index, strain, load) in strained.chain(loaded) {
            let beam = &frame.beams[index];
            let ends = beam.node_forces(&frame.nodes, strain, load)?;
            beam.nodes
                .iter()
                .zip(&ends)
                .for_each(|(node, force)| add6(&mut forces[*node], force));
        }
        self.clear_fixed(&mut forces);
        Ok(forces)
    }

    fn clear_fixed(&self, forces: &mut [Vector6]) {
        for (force, fixed) in forces.iter_mut().zip(&self.fixed) {
            force
                .iter_mut()
                .zip(fixed)
                .filter(|(_, fixed)| **fixed)
                .for_each(|(f, _)| *f = 0.0);
        }
    }
}

/// The stiffness of beams, springs and supports, with the marked unknowns fixed.
fn assemble(frame: &Frame, fixed: &[[bool; 6]]) -> Result<Matrix, StructureError> {
    let left_out: Vec<bool> = fixed.iter().map(|h| h.iter().all(|c| *c)).collect();
    let mut matrix = Matrix::new(Pattern::new(neighbours(frame), &left_out)?);
    for beam in &frame.beams {
        beam.stiffness(&frame.nodes, |row, column, block| {
            if row == column {
                matrix.add_own(beam.nodes[row], block);
            } else {
                matrix.add_between(beam.nodes[row], beam.nodes[column], block);
            }
        })?;
    }
    for spring in &frame.springs {
        let between =
            |ca: &Vector6, cb: &Vector6| Block::from_fn(|r, c| spring.stiffness * ca[r] * cb[c]);
        for (k, (a, ca)) in spring.along.terms.iter().enumerate() {
            matrix.add_own(*a, &between(ca, ca));
            for (b, cb) in &spring.along.terms[k + 1..] {
                matrix.add_between(*a, *b, &between(ca, cb));
            }
        }
    }
    for support in &frame.supports {
        for (component, how) in support.fixity.iter().enumerate() {
            if let Fixity::Spring(stiffness) = how {
                let mut block = Block::ZERO;
                block.set(component, component, *stiffness);
                matrix.add_own(support.node, &block);
            }
        }
    }
    matrix.fix(fixed);
    Ok(matrix)
}

/// For each node those that a beam or a spring joins to it.
fn neighbours(frame: &Frame) -> Vec<Vec<usize>> {
    let mut neighbours = vec![Vec::new(); frame.nodes.len()];
    for beam in &frame.beams {
        let [a, b] = beam.nodes;
        neighbours[a].push(b);
        neighbours[b].push(a);
    }
    for spring in &frame.springs {
        for (a, _) in &spring.along.terms {
            neighbours[*a].extend(spring.along.terms.iter().map(|(b, _)| *b));
        }
    }
    neighbours
}
