//! A frame checked and factorised, and its shape under load.

use super::beam::Held;
use super::block::{Block, Lanes, Six};
use super::error::StructureError;
use super::factor::{Factor, Matrix};
use super::frame::Frame;
use super::load::{InitialStrain, LoadCase};
use super::mechanism::{self, Verdict};
use super::ordering::Pattern;
use super::probe::Probe;

/// A frame that stands: checked, put together, factorised.
pub struct Structure {
    frame: Frame,
    factor: Factor,
    /// For each node, the components that a support holds completely.
    held: Vec<[bool; 6]>,
}

/// Displacements of all nodes: mm along and rad about the global axes.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// For each node of the frame: displacement x, y, z and rotation about x, y, z.
    pub nodes: Vec<[f64; 6]>,
}

impl Shape {
    /// What a probe reads.
    ///
    /// # Panics
    /// If the probe belongs to another frame and names a node that this one does not have.
    #[must_use]
    pub fn read(&self, probe: &Probe) -> f64 {
        probe.read(&self.nodes)
    }
}

/// Ways in which a frame may be loose that are listed.
const MOST_MOTIONS: usize = 12;
/// Nodes beyond which a loose frame is not searched for more ways.
const LARGE: usize = 1000;

/// Load cases that [`Structure::flexibility`] solves at once.
const LANES: usize = 8;

impl Structure {
    /// Most numbers that [`Structure::flexibility`] gives: 160 MB.
    pub const MOST: usize = 20_000_000;

    /// Checks the frame, puts its stiffness together and factorises it.
    ///
    /// # Errors
    /// What is wrong with the data, or in which ways the frame can move freely.
    pub fn new(frame: &Frame) -> Result<Self, StructureError> {
        frame.check()?;
        let mut held = vec![[false; 6]; frame.nodes.len()];
        for support in &frame.supports {
            held[support.node]
                .iter_mut()
                .zip(support.held)
                .for_each(|(h, s)| *h |= s == Held::Fixed);
        }
        let mut motions = Vec::new();
        let mut pinned = held.clone();
        loop {
            let factor = assemble(frame, &pinned)?.factor();
            let Verdict { loose, more } = mechanism::judge(frame, &factor)?;
            if loose.is_empty() && motions.is_empty() {
                return Ok(Self {
                    frame: frame.clone(),
                    factor,
                    held,
                });
            }
            // Hold what was found loose and look whether anything else is; in a large frame one answer is enough.
            for (soft, motion) in loose {
                pinned[soft.node][soft.component] = true;
                motions.push(motion);
            }
            if !more || motions.len() >= MOST_MOTIONS || frame.nodes.len() > LARGE {
                motions.truncate(MOST_MOTIONS);
                return Err(StructureError::Loose(motions));
            }
        }
    }

    /// The frame as it was given.
    #[must_use]
    pub fn frame(&self) -> &Frame {
        &self.frame
    }

    /// The shape under a load case.
    ///
    /// # Errors
    /// A load on something that does not exist, or that is not a number.
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

    /// How far each of `readings` moves under a unit force along each of `forces`: one row for each force. With the
    /// same probes twice it is symmetric but for rounding (Betti 1872). Much faster than a load case for each.
    ///
    /// # Errors
    /// A probe that names a node that does not exist or is not finite, or more than [`Structure::MOST`] numbers.
    pub fn flexibility(
        &self,
        forces: &[Probe],
        readings: &[Probe],
    ) -> Result<Vec<f64>, StructureError> {
        for probe in forces.iter().chain(readings) {
            if let Some(index) = probe.stray_node(self.held.len()) {
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
        if found > Self::MOST {
            return Err(StructureError::TooLarge {
                what: "flexibilities",
                found,
                most: Self::MOST,
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
        let mut values = vec![[[0.0; LANES]; 6]; self.held.len()];
        for (lane, probe) in probes.iter().enumerate() {
            for (node, coefficients) in &probe.terms {
                let free = coefficients
                    .iter()
                    .zip(&self.held[*node])
                    .map(|(c, held)| if *held { 0.0 } else { *c });
                values[*node]
                    .iter_mut()
                    .zip(free)
                    .for_each(|(v, c)| v[lane] += c);
            }
        }
        self.factor.solve(&mut values);
        values
    }

    /// Forces that a beam's ends exert on the beam (N, N·mm) in its local axes, at the ends of its arms.
    ///
    /// # Errors
    /// No such beam, or a bad load case.
    pub fn end_forces(
        &self,
        shape: &Shape,
        case: &LoadCase,
        beam: usize,
    ) -> Result<[[f64; 6]; 2], StructureError> {
        case.check(
            self.frame.nodes.len(),
            self.frame.beams.len(),
            self.frame.springs.len(),
        )?;
        let Some(piece) = self.frame.beams.get(beam) else {
            return Err(StructureError::NoSuchItem {
                what: "beam",
                index: beam,
            });
        };
        let none = InitialStrain::default();
        let strain = case
            .strains
            .iter()
            .filter(|(b, _)| *b == beam)
            .fold(none, |sum, (_, s)| sum.plus(1.0, *s));
        let mut load = [0.0; 3];
        for (_, q) in case.beam_loads.iter().filter(|(b, _)| *b == beam) {
            load.iter_mut().zip(q).for_each(|(sum, v)| *sum += v);
        }
        piece.end_forces(
            &self.frame.nodes,
            piece.nodes.map(|n| shape.nodes[n]),
            strain,
            load,
        )
    }

    /// Force in a spring (N, or N·mm for a turning one), positive when its reading is above its natural one.
    ///
    /// # Errors
    /// No such spring.
    pub fn spring_force(
        &self,
        shape: &Shape,
        case: &LoadCase,
        spring: usize,
    ) -> Result<f64, StructureError> {
        let Some(found) = self.frame.springs.get(spring) else {
            return Err(StructureError::NoSuchItem {
                what: "spring",
                index: spring,
            });
        };
        let natural: f64 = case
            .natural
            .iter()
            .filter(|(s, _)| *s == spring)
            .map(|(_, reading)| reading)
            .sum();
        Ok(found.stiffness * (shape.read(&found.along) - natural))
    }

    /// Forces that all loads, springs included at their natural reading, put on the nodes.
    fn node_forces(&self, case: &LoadCase) -> Result<Vec<Six>, StructureError> {
        let frame = &self.frame;
        case.check(frame.nodes.len(), frame.beams.len(), frame.springs.len())?;
        let mut forces = vec![[0.0; 6]; frame.nodes.len()];
        for (node, force) in &case.forces {
            add(&mut forces[*node], force);
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
                .for_each(|(node, force)| add(&mut forces[*node], force));
        }
        self.clear_held(&mut forces);
        Ok(forces)
    }

    fn clear_held(&self, forces: &mut [Six]) {
        for (force, held) in forces.iter_mut().zip(&self.held) {
            force
                .iter_mut()
                .zip(held)
                .filter(|(_, held)| **held)
                .for_each(|(f, _)| *f = 0.0);
        }
    }
}

fn add(sum: &mut Six, more: &Six) {
    sum.iter_mut().zip(more).for_each(|(s, m)| *s += m);
}

/// The stiffness of beams, springs and supports.
fn assemble(frame: &Frame, held: &[[bool; 6]]) -> Result<Matrix, StructureError> {
    let mut links = vec![Vec::new(); frame.nodes.len()];
    for beam in &frame.beams {
        let [a, b] = beam.nodes;
        links[a].push(b);
        links[b].push(a);
    }
    for spring in &frame.springs {
        for (a, _) in &spring.along.terms {
            links[*a].extend(spring.along.terms.iter().map(|(b, _)| *b));
        }
    }
    let gone: Vec<bool> = held.iter().map(|h| h.iter().all(|c| *c)).collect();
    let mut matrix = Matrix::new(Pattern::new(links, &gone)?);
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
        for (k, (a, ca)) in spring.along.terms.iter().enumerate() {
            matrix.add_own(*a, &Block::from_fn(|r, c| spring.stiffness * ca[r] * ca[c]));
            for (b, cb) in &spring.along.terms[k + 1..] {
                matrix.add_between(
                    *a,
                    *b,
                    &Block::from_fn(|r, c| spring.stiffness * ca[r] * cb[c]),
                );
            }
        }
    }
    for support in &frame.supports {
        for (component, how) in support.held.iter().enumerate() {
            if let Held::Spring(stiffness) = how {
                let only = |r, c| {
                    if r == component && c == component {
                        *stiffness
                    } else {
                        0.0
                    }
                };
                matrix.add_own(support.node, &Block::from_fn(only));
            }
        }
    }
    matrix.hold(held);
    Ok(matrix)
}
