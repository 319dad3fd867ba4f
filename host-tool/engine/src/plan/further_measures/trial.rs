//! An order simulated with every clamp that could help.

use super::candidates::Candidates;
use crate::job::model::Job;
use crate::movement::cost::MovementWeights;
use crate::movement::error::MovementError;
use crate::movement::measures::Measure;
use crate::movement::model::MovementModel;
use crate::movement::model::weld_part::WeldPart;
use crate::movement::predict::factors_for;
use crate::movement::shrinkage::Shrinkage;
use crate::movement::simulate::SimulationOptions;
use crate::plan::planned_heat;
use crate::shop::factor::Factors;
use coldsquare_core::uncertainty::COVERAGE_FACTOR;

/// An order on a model that has every clamp.
pub(super) struct Trial<'a> {
    pub(super) job: &'a Job,
    pub(super) order: &'a [usize],
    weights: &'a MovementWeights,
    pub(super) parts: Vec<WeldPart>,
    pub(super) candidates: Candidates,
    pub(super) model: MovementModel,
    /// With the factors as they are, then with each of them moved by its standard uncertainty.
    pub(super) shrinkages: Vec<Shrinkage>,
    /// Each measure with the clamps of the job alone, mm.
    pub(super) expected_mm: Vec<f64>,
    /// The expanded uncertainty of each (k = 2), mm.
    pub(super) uncertainty_mm: Vec<f64>,
}

impl<'a> Trial<'a> {
    pub(super) fn new(
        job: &'a Job,
        order: &'a [usize],
        weights: &'a MovementWeights,
    ) -> Result<Self, MovementError> {
        let heat = planned_heat(job);
        let (factors, _) = factors_for(job);
        let plain = MovementModel::new(job)?;
        let shrinkage = plain.shrinkage_each(&heat, &factors.each)?;
        let expected_mm = plain
            .simulate(
                &plain.whole_welds(order),
                &shrinkage,
                &SimulationOptions::default(),
            )
            .released_mm;
        let candidates = Candidates::new(job, &plain, &expected_mm);
        let model = MovementModel::new(&candidates.job)?;
        let mut shrinkages = vec![shrinkage];
        for moved in &factors.moved {
            shrinkages.push(model.shrinkage_each(&heat, moved)?);
        }
        Ok(Self {
            job,
            order,
            parts: order.iter().map(|&weld| model.whole_weld(weld)).collect(),
            weights,
            candidates,
            model,
            uncertainty_mm: uncertainty_mm(
                &plain,
                order,
                &heat,
                &factors.each,
                &shrinkages[1..],
                &expected_mm,
            )?,
            shrinkages,
            expected_mm,
        })
    }

    pub(super) fn cost(&self, measures_mm: &[f64]) -> f64 {
        self.weights.of_shape(self.measures(), measures_mm)
    }

    pub(super) fn measures(&self) -> &[Measure] {
        self.model.measures()
    }
}

/// The expanded uncertainty (k = 2) of each measure, mm: from the factors, and from welds that differ from one another.
fn uncertainty_mm(
    plain: &MovementModel,
    order: &[usize],
    heat: &[f64],
    factors: &[Factors],
    moved: &[Shrinkage],
    expected_mm: &[f64],
) -> Result<Vec<f64>, MovementError> {
    let mut variances = vec![0.0; expected_mm.len()];
    let mut vary = |shrinkage: &Shrinkage| {
        let varied = plain
            .simulate(
                &plain.whole_welds(order),
                shrinkage,
                &SimulationOptions::default(),
            )
            .released_mm;
        let both = varied.iter().zip(expected_mm);
        for (sum, (varied, expected)) in variances.iter_mut().zip(both) {
            *sum += (varied - expected) * (varied - expected);
        }
    };
    moved.iter().for_each(&mut vary);
    for weld in 0..heat.len() {
        let mut varied = heat.to_vec();
        varied[weld] *= 1.0 + factors[weld].weld_to_weld;
        vary(&plain.shrinkage_each(&varied, factors)?);
    }
    let expanded = |variance: &f64| COVERAGE_FACTOR * variance.sqrt();
    Ok(variances.iter().map(expanded).collect())
}
