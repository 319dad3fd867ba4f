//! One build as the estimator sees it: what was welded, what was read, and how the readings depend on the factors.

use super::estimate::Linear;
use crate::job::model::Job;
use crate::movement::error::MovementError;
use crate::movement::model::MovementModel;
use crate::movement::simulate::SimulationOptions;
use crate::shop::class::Class;
use crate::shop::factor::Factors;
use crate::shop::factors::{Knowledge, OF_THE_BUILD, OF_THE_PLACE, times};
use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;

/// Minimum standard uncertainty of a movement, mm: scale, burrs, members not straight to begin with. Common practice, no
/// source.
const MIN_UNCERTAINTY_MM: f64 = 0.05;

/// By how much a factor is changed to find its effect, as a share of it.
const STEP: f64 = 0.02;

/// A reading to learn from.
#[derive(Clone, Debug)]
pub struct Read {
    /// Index of the measure.
    pub measure: usize,
    /// Whether the clamps were still on.
    pub clamped: bool,
    /// Change from before welding, mm.
    pub change_mm: Uncertain,
}

/// A finished build.
#[derive(Clone, Debug)]
pub struct Build {
    /// Its name in messages.
    pub name: String,
    /// Units of its job.
    pub units: Units,
    /// The movement model of the job.
    pub engine: MovementModel,
    /// The order welded.
    pub order: Vec<usize>,
    /// Net heat of each weld, J/mm.
    pub heat: Vec<Uncertain>,
    /// Class of each weld.
    pub classes: Vec<Class>,
    /// The readings.
    pub readings: Vec<Read>,
}

impl Build {
    /// A build of a job.
    ///
    /// # Errors
    /// [`MovementError`] when the movement of the job cannot be predicted.
    pub fn new(
        name: impl Into<String>,
        job: &Job,
        order: Vec<usize>,
        heat: Vec<Uncertain>,
    ) -> Result<Self, MovementError> {
        Ok(Self {
            name: name.into(),
            units: job.units,
            engine: MovementModel::new(job)?,
            order,
            heat,
            classes: job.classes(),
            readings: Vec::new(),
        })
    }

    /// What the readings would be with these factors and heats, mm.
    ///
    /// # Errors
    /// [`MovementError`] when a heat is outside the range of the rules.
    pub fn would_read(&self, heat: &[f64], each: &[Factors]) -> Result<Vec<f64>, MovementError> {
        let shrinkage = self.engine.shrinkage_each(heat, each)?;
        let outcome = self.engine.simulate(
            &self.engine.whole_welds(&self.order),
            &shrinkage,
            &SimulationOptions::default(),
        );
        let one = |read: &Read| {
            if read.clamped {
                outcome.clamped_mm[read.measure]
            } else {
                outcome.released_mm[read.measure]
            }
        };
        Ok(self.readings.iter().map(one).collect())
    }

    /// The build, linearised about what is known.
    ///
    /// # Errors
    /// [`MovementError`] when a heat is outside the range of the rules.
    pub fn linear(&self, about: &Knowledge) -> Result<Linear, MovementError> {
        let place: Vec<usize> = self
            .classes
            .iter()
            .map(|class| about.position(class).unwrap_or_default())
            .collect();
        let factors = |moved: Option<(usize, usize)>| -> Vec<Factors> {
            let one = |&class: &usize| {
                times(std::array::from_fn(|kind| {
                    let step = if moved == Some((class, kind)) {
                        STEP
                    } else {
                        0.0
                    };
                    about.factor(class, kind).value * (1.0 + step)
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
            for kind in 0..5 {
                let moved = self.would_read(&heat, &factors(Some((class, kind))))?;
                for (k, (moved, base)) in moved.iter().zip(&base).enumerate() {
                    let slope = (moved - base) / STEP.ln_1p();
                    jacobian[k][kind] += slope;
                    jacobian[k][5 * (1 + class) + kind] = slope;
                    read[k] += slope * (about.mean[kind] + about.mean[5 * (1 + class) + kind]);
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

    /// Covariance of everything else that affects the readings: the rule or tape, single welds, fit-up and clamping, and what
    /// the model leaves out.
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
            noise[k][k] += read.change_mm.standard.powi(2)
                + (OF_THE_PLACE * base).powi(2)
                + MIN_UNCERTAINTY_MM.powi(2);
        }
        Ok(noise)
    }
}
