//! One build as the estimator sees it: what was welded, what was read, and what the engine makes of factors.

use super::estimate::Linear;
use crate::job::model::Job;
use crate::movement::effect::Factors;
use crate::movement::engine::Engine;
use crate::movement::error::MovementError;
use crate::shop::class::{Class, classes};
use crate::shop::factors::{Knowledge, OF_THE_BUILD, OF_THE_PLACE, times};
use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;

/// Least doubt of any movement that is learned from, mm: scale, burrs, members not straight to begin with. Common
/// practice, no source.
const LEAST_MM: f64 = 0.05;

/// How far a factor is moved to see what it does.
const STEP: f64 = 0.02;

/// A reading that is learned from.
#[derive(Clone, Debug)]
pub struct Read {
    /// Index of the engine's measure.
    pub measure: usize,
    /// Whether the clamps were still on.
    pub clamped: bool,
    /// Change from before welding, mm.
    pub change_mm: Uncertain,
}

/// A finished build.
#[derive(Clone, Debug)]
pub struct Build {
    /// What it is called in print.
    pub name: String,
    /// Units of its job.
    pub units: Units,
    /// The job, prepared.
    pub engine: Engine,
    /// The order welded.
    pub order: Vec<usize>,
    /// Net heat of each weld, J/mm.
    pub heat: Vec<Uncertain>,
    /// Class of each weld.
    pub classes: Vec<Class>,
    /// What was read.
    pub readings: Vec<Read>,
}

impl Build {
    /// A build of a job.
    ///
    /// # Errors
    /// [`MovementError`] when the movement of the job cannot be worked out.
    pub fn new(
        name: impl Into<String>,
        job: &Job,
        order: Vec<usize>,
        heat: Vec<Uncertain>,
    ) -> Result<Self, MovementError> {
        Ok(Self {
            name: name.into(),
            units: job.units,
            engine: Engine::new(job)?,
            order,
            heat,
            classes: classes(job),
            readings: Vec::new(),
        })
    }

    /// What the readings would be with these factors and heats, mm.
    ///
    /// # Errors
    /// [`MovementError`] when a heat is outside what the rules hold for.
    pub fn would_read(&self, heat: &[f64], each: &[Factors]) -> Result<Vec<f64>, MovementError> {
        let shrinkage = self.engine.shrinkage_each(heat, each)?;
        let outcome = self.engine.lay(&self.order, &shrinkage);
        let one = |read: &Read| {
            if read.clamped {
                outcome.clamped_mm[read.measure]
            } else {
                outcome.released_mm[read.measure]
            }
        };
        Ok(self.readings.iter().map(one).collect())
    }

    /// The build as a straight line about what is known now.
    ///
    /// # Errors
    /// [`MovementError`] when a heat is outside what the rules hold for.
    pub fn linear(&self, about: &Knowledge) -> Result<Linear, MovementError> {
        let place: Vec<usize> = self
            .classes
            .iter()
            .map(|class| about.position(class).unwrap_or_default())
            .collect();
        let factors = |moved: Option<(usize, usize)>| -> Vec<Factors> {
            let one = |&class: &usize| {
                times(std::array::from_fn(|way| {
                    let step = if moved == Some((class, way)) {
                        STEP
                    } else {
                        0.0
                    };
                    about.factor(class, way).value * (1.0 + step)
                }))
            };
            place.iter().map(one).collect()
        };
        let heat: Vec<f64> = self.heat.iter().map(|heat| heat.value).collect();
        let base = self.would_read(&heat, &factors(None))?;
        let mut jacobian = vec![vec![0.0; about.mean.len()]; base.len()];
        let mut read: Vec<f64> = self
            .readings
            .iter()
            .zip(&base)
            .map(|(read, base)| read.change_mm.value - base)
            .collect();
        let mut met = place.clone();
        met.sort_unstable();
        met.dedup();
        for &class in &met {
            for way in 0..5 {
                let moved = self.would_read(&heat, &factors(Some((class, way))))?;
                for (k, (moved, base)) in moved.iter().zip(&base).enumerate() {
                    let slope = (moved - base) / STEP.ln_1p();
                    jacobian[k][way] += slope;
                    jacobian[k][5 * (1 + class) + way] = slope;
                    read[k] += slope * (about.mean[way] + about.mean[5 * (1 + class) + way]);
                }
            }
        }
        let noise = self.noise(&heat, &base, &factors(None))?;
        Ok(Linear {
            jacobian,
            read,
            noise,
        })
    }

    /// What else moves the readings: the ruler, single welds, fit-up and clamping, and what the model does not see.
    fn noise(
        &self,
        heat: &[f64],
        base: &[f64],
        each: &[Factors],
    ) -> Result<Vec<Vec<f64>>, MovementError> {
        let outer = |a: &[f64], share: f64| -> Vec<Vec<f64>> {
            let row = |x: &f64| a.iter().map(|y| share * x * y).collect();
            a.iter().map(row).collect()
        };
        let mut noise = outer(base, OF_THE_BUILD * OF_THE_BUILD);
        for (weld, own) in self.heat.iter().enumerate() {
            let mut varied = heat.to_vec();
            varied[weld] += own.standard.hypot(each[weld].weld_to_weld * own.value);
            let moved = self.would_read(&varied, each)?;
            let change: Vec<f64> = moved.iter().zip(base).map(|(m, b)| m - b).collect();
            for (row, more) in noise.iter_mut().zip(outer(&change, 1.0)) {
                row.iter_mut()
                    .zip(more)
                    .for_each(|(entry, more)| *entry += more);
            }
        }
        for (k, (read, base)) in self.readings.iter().zip(base).enumerate() {
            noise[k][k] +=
                read.change_mm.standard.powi(2) + (OF_THE_PLACE * base).powi(2) + LEAST_MM.powi(2);
        }
        Ok(noise)
    }
}
