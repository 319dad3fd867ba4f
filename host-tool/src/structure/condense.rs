//! The structure as seen from its connectors: how far each opens under a unit force at each other.

use super::error::StructureError;
use super::load::LoadCase;
use super::probe::Probe;
use super::solve::Structure;
use super::standing::Standing;

/// A structure known only at its connectors, loads and outputs.
///
/// Memory: (connectors + loads) × (connectors + outputs) numbers, at most [`Structure::MOST`].
#[derive(Debug)]
pub struct Condensed {
    connectors: Vec<Probe>,
    loads: Vec<LoadCase>,
    outputs: usize,
    /// Row i: readings of all connectors (symmetric), then of all outputs, under a unit force along connector i.
    flexibility: Vec<f64>,
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
    /// A probe or load that names what does not exist, or more numbers than [`Structure::MOST`].
    pub fn condense(
        &self,
        connectors: &[Probe],
        outputs: &[Probe],
        loads: &[LoadCase],
    ) -> Result<Condensed, StructureError> {
        let readings: Vec<Probe> = connectors.iter().chain(outputs).cloned().collect();
        let found = (connectors.len() + loads.len()).saturating_mul(readings.len());
        if found > Self::MOST {
            return Err(StructureError::TooLarge {
                what: "flexibilities",
                found,
                most: Self::MOST,
            });
        }
        let mut flexibility = self.flexibility(connectors, &readings)?;
        make_symmetric(&mut flexibility, connectors.len(), readings.len());
        let mut response = Vec::with_capacity(loads.len() * readings.len());
        for load in loads {
            let shape = self.solve(load)?;
            response.extend(readings.iter().map(|probe| shape.read(probe)));
        }
        Ok(Condensed {
            connectors: connectors.to_vec(),
            loads: loads.to_vec(),
            outputs: outputs.len(),
            flexibility,
            response,
        })
    }
}

impl Condensed {
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
        (i < self.connectors() && j < self.connectors())
            .then(|| self.rows(&self.flexibility, i).0[j])
    }

    pub(super) fn flexibility_row(&self, connector: usize) -> &[f64] {
        self.rows(&self.flexibility, connector).0
    }

    pub(super) fn influence_row(&self, connector: usize) -> &[f64] {
        self.rows(&self.flexibility, connector).1
    }

    /// Readings of the connectors and of the outputs under a load.
    pub(super) fn response_rows(&self, load: usize) -> (&[f64], &[f64]) {
        self.rows(&self.response, load)
    }

    /// A row, cut into connectors and outputs.
    fn rows<'a>(&self, table: &'a [f64], row: usize) -> (&'a [f64], &'a [f64]) {
        let width = self.connectors() + self.outputs;
        table[row * width..][..width].split_at(self.connectors())
    }

    pub(super) fn connector(&self, index: usize) -> &Probe {
        &self.connectors[index]
    }

    pub(super) fn load(&self, index: usize) -> &LoadCase {
        &self.loads[index]
    }
}

/// Betti's law holds to rounding; the factorisations to come want it exactly.
fn make_symmetric(matrix: &mut [f64], size: usize, width: usize) {
    for i in 0..size {
        for j in 0..i {
            let mean = f64::midpoint(matrix[i * width + j], matrix[j * width + i]);
            matrix[i * width + j] = mean;
            matrix[j * width + i] = mean;
        }
    }
}
