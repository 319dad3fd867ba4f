//! The structure as seen from its connectors: how far each opens under a unit force at each other.

use super::error::StructureError;
use super::load::LoadCase;
use super::probe::Probe;
use super::solve::{Shape, Structure};
use super::standing::Standing;

/// A structure known only at its connectors, loads and outputs.
///
/// Memory: (connectors + loads) × (connectors + outputs) numbers, at most [`Condensed::MOST`].
#[derive(Debug)]
pub struct Condensed {
    connectors: Vec<Probe>,
    loads: Vec<LoadCase>,
    outputs: usize,
    /// Row i: readings of all connectors under a unit force along connector i. Symmetric.
    flexibility: Vec<f64>,
    /// Row i: readings of all outputs under a unit force along connector i.
    influence: Vec<f64>,
    /// Row l: readings of all connectors, then of all outputs, under load l.
    response: Vec<f64>,
}

impl Structure {
    /// Condenses the structure to `connectors`: probes that may become springs later. Each of `loads` can be applied
    /// later, whole or in part; each of `outputs` can be read.
    ///
    /// One solution for each connector and load; nothing is factorised. The structure must stand without its
    /// connectors: hold it at three points (3 + 2 + 1 displacements) and by its tacks rather than by very soft springs,
    /// because what a soft spring lets move has to cancel again when a connector closes, and digits go with it.
    ///
    /// # Errors
    /// A probe or load that names what does not exist, or more numbers than [`Condensed::MOST`].
    pub fn condense(
        &self,
        connectors: &[Probe],
        outputs: &[Probe],
        loads: &[LoadCase],
    ) -> Result<Condensed, StructureError> {
        let nodes = self.frame().nodes.len();
        for probe in connectors.iter().chain(outputs) {
            if let Some(index) = probe.stray_node(nodes) {
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
        let found =
            (connectors.len() + loads.len()).saturating_mul(connectors.len() + outputs.len());
        if found > Condensed::MOST {
            return Err(StructureError::TooLarge {
                what: "flexibilities",
                found,
                most: Condensed::MOST,
            });
        }
        let read = |shape: &Shape, into: &mut Vec<f64>, probes: &[Probe]| {
            into.extend(probes.iter().map(|probe| shape.read(probe)));
        };
        let (mut flexibility, mut influence, mut response) = (Vec::new(), Vec::new(), Vec::new());
        for connector in connectors {
            let shape = self.unit_shape(connector);
            read(&shape, &mut flexibility, connectors);
            read(&shape, &mut influence, outputs);
        }
        for load in loads {
            let shape = self.solve(load)?;
            read(&shape, &mut response, connectors);
            read(&shape, &mut response, outputs);
        }
        make_symmetric(&mut flexibility, connectors.len());
        Ok(Condensed {
            connectors: connectors.to_vec(),
            loads: loads.to_vec(),
            outputs: outputs.len(),
            flexibility,
            influence,
            response,
        })
    }
}

impl Condensed {
    /// Most numbers held: 160 MB.
    pub const MOST: usize = 20_000_000;

    /// The structure without load and with no connector active.
    #[must_use]
    pub fn start(&self) -> Standing<'_> {
        Standing::new(self)
    }

    /// Number of connectors.
    #[must_use]
    pub fn connectors(&self) -> usize {
        self.connectors.len()
    }

    /// Number of loads.
    #[must_use]
    pub fn loads(&self) -> usize {
        self.loads.len()
    }

    /// Number of outputs.
    #[must_use]
    pub fn outputs(&self) -> usize {
        self.outputs
    }

    /// Reading of connector `j` under a unit force along connector `i`, no connector active.
    #[must_use]
    pub fn flexibility(&self, i: usize, j: usize) -> Option<f64> {
        let row = self
            .flexibility
            .get(i * self.connectors()..(i + 1) * self.connectors())?;
        row.get(j).copied()
    }

    pub(super) fn flexibility_row(&self, connector: usize) -> &[f64] {
        &self.flexibility[connector * self.connectors()..][..self.connectors()]
    }

    pub(super) fn influence_row(&self, connector: usize) -> &[f64] {
        &self.influence[connector * self.outputs..][..self.outputs]
    }

    /// Readings of the connectors and of the outputs under a load.
    pub(super) fn response_rows(&self, load: usize) -> (&[f64], &[f64]) {
        let width = self.connectors() + self.outputs;
        self.response[load * width..][..width].split_at(self.connectors())
    }

    pub(super) fn connector(&self, index: usize) -> &Probe {
        &self.connectors[index]
    }

    pub(super) fn load(&self, index: usize) -> &LoadCase {
        &self.loads[index]
    }
}

/// Betti's law holds to rounding; the factorisations to come want it exactly.
fn make_symmetric(matrix: &mut [f64], size: usize) {
    for i in 0..size {
        for j in 0..i {
            let mean = f64::midpoint(matrix[i * size + j], matrix[j * size + i]);
            matrix[i * size + j] = mean;
            matrix[j * size + i] = mean;
        }
    }
}
