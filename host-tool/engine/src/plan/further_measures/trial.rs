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
use coldsquare_core::sequence::random::Pcg32;
use coldsquare_core::uncertainty::COVERAGE_FACTOR;
use std::cell::OnceCell;

/// Most builds that are simulated to see what welds do that differ from one another.
const MAX_BUILDS: usize = 64;

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
    /// How far the frame moves with the clamps of the job alone, mm, for each of the shrinkages; worked out when needed.
    pub(super) as_planned: OnceCell<Vec<f64>>,
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
            as_planned: OnceCell::new(),
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
    // Adds the squares of what a shrinkage changes, so many of them.
    let add = |shrinkage: &Shrinkage, share: f64, variances: &mut [f64]| {
        let varied = plain
            .simulate(
                &plain.whole_welds(order),
                shrinkage,
                &SimulationOptions::default(),
            )
            .released_mm;
        let both = varied.iter().zip(expected_mm);
        for (sum, (varied, expected)) in variances.iter_mut().zip(both) {
            *sum += share * (varied - expected) * (varied - expected);
        }
    };
    let mut variances = vec![0.0; expected_mm.len()];
    for shrinkage in moved {
        add(shrinkage, 1.0, &mut variances);
    }
    let (builds, share) = scattered_builds(heat, factors);
    for build in builds {
        let shrinkage = plain.shrinkage_each(&build, factors)?;
        add(&shrinkage, share, &mut variances);
    }
    let expanded = |variance: &f64| COVERAGE_FACTOR * variance.sqrt();
    Ok(variances.iter().map(expanded).collect())
}

/// The heat of each weld in builds whose welds differ from one another, and the share of each build in the variance.
///
/// Each weld is hotter alone in one build. Where there are many welds, each is hotter or cooler by chance in a few builds:
/// the squares of what they change come to the same sum on average, within a tenth of its root.
fn scattered_builds(heat: &[f64], factors: &[Factors]) -> (Vec<Vec<f64>>, f64) {
    let scatter = |weld: usize| heat[weld] * factors[weld].weld_to_weld;
    if heat.len() <= MAX_BUILDS {
        let alone = |weld: usize| {
            let mut build = heat.to_vec();
            build[weld] += scatter(weld);
            build
        };
        return ((0..heat.len()).map(alone).collect(), 1.0);
    }
    let mut random = Pcg32::new(1);
    let mut by_chance = |(weld, heat): (usize, &f64)| {
        let sign = if random.below(2) == 0 { 1.0 } else { -1.0 };
        heat + sign * scatter(weld)
    };
    let builds = (0..MAX_BUILDS).map(|_| heat.iter().enumerate().map(&mut by_chance).collect());
    (builds.collect(), 1.0 / MAX_BUILDS as f64)
}
