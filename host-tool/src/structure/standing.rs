//! A condensed structure at one moment: which connectors hold, at what natural reading, and what that does.
//!
//! With F the flexibility at the active connectors, k their stiffness, c₀ their readings under the loads alone and g
//! their natural readings, the spring forces f obey (F + 1/k) f = c₀ − g. The lower factor L of the left side grows by
//! a row for each activation (bordered Cholesky), and z = L⁻¹ (c₀ − g) by one number: a connector that is activated
//! stress-free and then changes its natural reading by δ has z = −δ / L_nn, whatever the history. Forces and outputs
//! cost a back substitution when they are asked for.

use super::condense::Condensed;
use super::load::LoadCase;
use super::lower::{Lower, dot};
use std::fmt;

/// A connector to be activated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Activation {
    /// Index of the connector.
    pub connector: usize,
    /// N/mm, or N·mm/rad for one that turns; greater than 0, infinity for a rigid joint.
    pub stiffness: f64,
    /// By how much its natural reading differs from the reading at the moment of activation, mm or rad: negative for
    /// a weld that shrinks across an opening, 0 for a clamp closed where things are.
    pub eigen: f64,
}

/// Why a step was refused; nothing has changed then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ActivationError {
    /// No such connector.
    NoSuchConnector(usize),
    /// No such load.
    NoSuchLoad(usize),
    /// The connector is active already.
    Active(usize),
    /// The connector is not active.
    NotActive(usize),
    /// A stiffness that is not above 0, or a number that is not finite.
    Value(usize),
    /// Rigid where the active connectors are rigid already: its force would be undetermined.
    Redundant(usize),
}

impl fmt::Display for ActivationError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSuchConnector(k) => write!(out, "there is no connector {k}"),
            Self::NoSuchLoad(k) => write!(out, "there is no load {k}"),
            Self::Active(k) => write!(out, "connector {k} is active already; impose on it instead"),
            Self::NotActive(k) => write!(out, "connector {k} is not active"),
            Self::Value(k) => write!(
                out,
                "a stiffness or displacement given for {k} is not possible"
            ),
            Self::Redundant(k) => {
                write!(
                    out,
                    "connector {k} is held rigidly by the others already; give it a finite stiffness"
                )
            }
        }
    }
}

impl std::error::Error for ActivationError {}

/// See the module. Cheap to clone, so that a search can branch.
#[derive(Clone, Debug)]
pub struct Standing<'a> {
    condensed: &'a Condensed,
    /// Active connectors in order of activation.
    active: Vec<usize>,
    /// For each connector its place in `active`.
    slot: Vec<Option<usize>>,
    /// L, a row for each active connector.
    lower: Lower,
    /// c₀ − g.
    gap: Vec<f64>,
    /// L⁻¹ (c₀ − g).
    z: Vec<f64>,
    /// c₀ for all connectors.
    loaded: Vec<f64>,
    /// Outputs under the loads alone.
    loaded_outputs: Vec<f64>,
    /// How much of each load acts.
    factors: Vec<f64>,
}

impl<'a> Standing<'a> {
    pub(super) fn new(condensed: &'a Condensed) -> Self {
        Self {
            condensed,
            active: Vec::new(),
            slot: vec![None; condensed.connectors()],
            lower: Lower::default(),
            gap: Vec::new(),
            z: Vec::new(),
            loaded: vec![0.0; condensed.connectors()],
            loaded_outputs: vec![0.0; condensed.outputs()],
            factors: vec![0.0; condensed.loads()],
        }
    }

    /// Closes connectors stress-free where things now are, then changes their natural readings by their `eigen`, all
    /// together.
    ///
    /// # Errors
    /// See [`ActivationError`].
    pub fn activate(&mut self, together: &[Activation]) -> Result<(), ActivationError> {
        let before = self.active.len();
        for one in together {
            if let Err(error) = self.push(one, before) {
                self.truncate(before);
                return Err(error);
            }
        }
        Ok(())
    }

    /// Changes natural readings of active connectors, each by the value given (mm or rad).
    ///
    /// # Errors
    /// See [`ActivationError`].
    pub fn impose(&mut self, changes: &[(usize, f64)]) -> Result<(), ActivationError> {
        for (connector, change) in changes {
            self.active_slot(*connector)?;
            finite(*connector, *change)?;
        }
        let mut first = self.active.len();
        for (connector, change) in changes {
            let slot = self.active_slot(*connector)?;
            self.gap[slot] -= change;
            first = first.min(slot);
        }
        self.substitute_from(first);
        Ok(())
    }

    /// Adds loads, each times a factor, to those that act already; a factor of −1 takes one off.
    ///
    /// # Errors
    /// See [`ActivationError`].
    pub fn apply(&mut self, loads: &[(usize, f64)]) -> Result<(), ActivationError> {
        for (load, factor) in loads {
            if *load >= self.factors.len() {
                return Err(ActivationError::NoSuchLoad(*load));
            }
            finite(*load, *factor)?;
        }
        for (load, factor) in loads {
            self.factors[*load] += factor;
            let (connectors, outputs) = self.condensed.response_rows(*load);
            self.loaded
                .iter_mut()
                .zip(connectors)
                .for_each(|(sum, r)| *sum += factor * r);
            self.loaded_outputs
                .iter_mut()
                .zip(outputs)
                .for_each(|(sum, r)| *sum += factor * r);
            for (gap, connector) in self.gap.iter_mut().zip(&self.active) {
                *gap += factor * connectors[*connector];
            }
        }
        self.substitute_from(0);
        Ok(())
    }

    /// Opens connectors; the forces locked into them go, the rest of the structure moves accordingly.
    ///
    /// # Errors
    /// See [`ActivationError`].
    pub fn release(&mut self, connectors: &[usize]) -> Result<(), ActivationError> {
        for (k, connector) in connectors.iter().enumerate() {
            self.active_slot(*connector)?;
            if connectors[..k].contains(connector) {
                return Err(ActivationError::NotActive(*connector));
            }
        }
        for connector in connectors {
            let slot = self.active_slot(*connector)?;
            self.take_out(slot);
        }
        Ok(())
    }

    /// True when the connector holds.
    #[must_use]
    pub fn is_active(&self, connector: usize) -> bool {
        self.slot.get(connector).is_some_and(Option::is_some)
    }

    /// Force in each connector (N, or N·mm), positive when its reading is above its natural one; 0 where not active.
    #[must_use]
    pub fn forces(&self) -> Vec<f64> {
        let mut all = vec![0.0; self.slot.len()];
        self.active
            .iter()
            .zip(self.active_forces())
            .for_each(|(connector, force)| all[*connector] = force);
        all
    }

    /// Readings of the outputs.
    #[must_use]
    pub fn outputs(&self) -> Vec<f64> {
        let mut sum = self.loaded_outputs.clone();
        for (connector, force) in self.active.iter().zip(self.active_forces()) {
            let influence = self.condensed.influence_row(*connector);
            sum.iter_mut()
                .zip(influence)
                .for_each(|(s, i)| *s -= force * i);
        }
        sum
    }

    /// Readings of all connectors, active or not.
    #[must_use]
    pub fn readings(&self) -> Vec<f64> {
        let mut sum = self.loaded.clone();
        for (connector, force) in self.active.iter().zip(self.active_forces()) {
            let flexibility = self.condensed.flexibility_row(*connector);
            sum.iter_mut()
                .zip(flexibility)
                .for_each(|(s, f)| *s -= force * f);
        }
        sum
    }

    /// By how much the force in an active connector grows for each unit that its natural reading is lowered: the
    /// stiffness with which the structure, as it stands, resists its shrinking (N/mm or N·mm/rad).
    ///
    /// # Errors
    /// See [`ActivationError`].
    pub fn resistance(&self, connector: usize) -> Result<f64, ActivationError> {
        let slot = self.active_slot(connector)?;
        let mut unit = vec![0.0; self.active.len()];
        unit[slot] = 1.0;
        let mut column = vec![0.0; self.active.len()];
        self.lower.forward(slot, &unit, &mut column);
        Ok(dot(&column, &column))
    }

    /// Loads and connector forces as a load case of the structure that was condensed: solving it gives the whole
    /// shape, for drawing.
    #[must_use]
    pub fn as_load_case(&self) -> LoadCase {
        let mut case = LoadCase::default();
        for (load, factor) in self
            .factors
            .iter()
            .enumerate()
            .filter(|(_, factor)| **factor != 0.0)
        {
            case.add(*factor, self.condensed.load(load));
        }
        let forces = self.active.iter().zip(self.active_forces());
        case.along.extend(
            forces.map(|(connector, force)| (self.condensed.connector(*connector).clone(), -force)),
        );
        case
    }

    fn active_slot(&self, connector: usize) -> Result<usize, ActivationError> {
        let slot = self
            .slot
            .get(connector)
            .ok_or(ActivationError::NoSuchConnector(connector))?;
        slot.ok_or(ActivationError::NotActive(connector))
    }

    /// Appends a connector whose natural reading is the one that the first `before` connectors give, plus its eigen.
    fn push(&mut self, one: &Activation, before: usize) -> Result<(), ActivationError> {
        let connector = one.connector;
        match self.slot.get(connector) {
            None => return Err(ActivationError::NoSuchConnector(connector)),
            Some(Some(_)) => return Err(ActivationError::Active(connector)),
            Some(None) => finite(connector, one.eigen)?,
        }
        if one.stiffness.is_nan() || one.stiffness <= 0.0 {
            return Err(ActivationError::Value(connector));
        }
        let n = self.active.len();
        let flexibility = self.condensed.flexibility_row(connector);
        let entries = self.active.iter().map(|other| flexibility[*other]);
        if !self
            .lower
            .push(entries, flexibility[connector] + 1.0 / one.stiffness)
        {
            return Err(ActivationError::Redundant(connector));
        }
        let (then, since) = self.lower.row(n).split_at(before);
        self.gap.push(dot(then, &self.z[..before]) - one.eigen);
        self.z
            .push((-one.eigen - dot(since, &self.z[before..])) * self.lower.inverse(n));
        self.slot[connector] = Some(n);
        self.active.push(connector);
        Ok(())
    }

    fn truncate(&mut self, length: usize) {
        for connector in self.active.drain(length..) {
            self.slot[connector] = None;
        }
        self.lower.truncate(length);
        self.gap.truncate(length);
        self.z.truncate(length);
    }

    fn take_out(&mut self, slot: usize) {
        self.lower.remove(slot);
        self.gap.remove(slot);
        self.z.remove(slot);
        self.slot[self.active.remove(slot)] = None;
        for (k, connector) in self.active.iter().enumerate().skip(slot) {
            self.slot[*connector] = Some(k);
        }
        self.substitute_from(slot);
    }

    fn substitute_from(&mut self, first: usize) {
        self.lower.forward(first, &self.gap, &mut self.z);
    }

    fn active_forces(&self) -> Vec<f64> {
        let mut forces = self.z.clone();
        self.lower.backward(&mut forces);
        forces
    }
}

fn finite(index: usize, value: f64) -> Result<(), ActivationError> {
    if value.is_finite() {
        Ok(())
    } else {
        Err(ActivationError::Value(index))
    }
}
