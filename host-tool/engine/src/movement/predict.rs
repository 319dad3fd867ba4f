//! The prediction a maker reads: each measure with its doubt, what fits, and how long to cut.

use super::answers::MeasureKind;
use super::effect::{Factor, Factors};
use super::engine::{Engine, Outcome};
use super::error::MovementError;
use crate::job::model::{Job, Opening, Weld};
use crate::map::model::WeldMap;
use crate::order;
use crate::shop::factors::JobFactors;
use crate::shop::factors::{OF_THE_BUILD, OF_THE_PLACE};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};

/// A measure as predicted.
#[derive(Clone, Debug)]
pub struct Predicted {
    /// In the maker's words.
    pub name: String,
    /// What kind it is.
    pub kind: MeasureKind,
    /// The member, for a bow.
    pub member: Option<usize>,
    /// Distance before welding, outside to outside, mm; zero for what starts at nothing.
    pub nominal_mm: f64,
    /// Change while the clamps hold, mm, with its standard uncertainty.
    pub clamped_mm: Uncertain,
    /// Change when the clamps are off, mm, with its standard uncertainty.
    pub released_mm: Uncertain,
}

/// How long to cut a member so that the finished frame measures what was asked.
#[derive(Clone, Debug)]
pub struct Allowance {
    /// The member.
    pub member: usize,
    /// What to add to its cut length, mm.
    pub add_mm: Uncertain,
}

/// Whether the finished frame fits its opening, for one direction.
#[derive(Clone, Debug)]
pub struct Fit {
    /// "width" or "height".
    pub direction: &'static str,
    /// The clear opening, mm.
    pub opening_mm: f64,
    /// The greatest outside size predicted, mm.
    pub size_mm: Uncertain,
    /// Clearance left on each side if it hangs in the middle, mm.
    pub clearance_mm: f64,
    /// Clearance wanted on each side, mm.
    pub wanted_mm: f64,
}

/// What is to be expected of a frame welded in one order.
#[derive(Clone, Debug)]
pub struct Prediction {
    /// Indices of the welds, in order.
    pub order: Vec<usize>,
    /// Net heat of each weld by index, J/mm, all runs together.
    pub net_heat_j_per_mm: Vec<Uncertain>,
    /// Sizes, diagonals, wind and bows.
    pub measures: Vec<Predicted>,
    /// Force in each clamp before it comes off, N.
    pub clamp_forces_n: Vec<Uncertain>,
    /// How far each clamp slips before that, mm.
    pub clamp_slips_mm: Vec<f64>,
    /// For each weld by index how far its joint stood open just before it was laid, mm; negative where it pressed.
    pub gaps_mm: Vec<f64>,
    /// How long to cut.
    pub allowances: Vec<Allowance>,
    /// Whether it fits.
    pub fits: Vec<Fit>,
}

/// The net heat of every weld as planned, J/mm, all runs together. It has no doubt of its own: how far welds scatter
/// about their plan is the shop's [`Factors::weld_to_weld`].
#[must_use]
pub fn planned_net_heat(job: &Job) -> Vec<Uncertain> {
    let heat =
        |weld: &Weld| job.procedures[weld.procedure].planned_heat_input.0 * f64::from(weld.runs);
    job.welds
        .iter()
        .map(|w| Uncertain::exact(heat(w)))
        .collect()
}

/// The net heat of every weld as measured, J/mm, all runs together, and the numbers of the welds that were not or not
/// wholly measured: these are taken as planned.
#[must_use]
pub fn measured_net_heat(job: &Job, map: &WeldMap) -> (Vec<Uncertain>, Vec<u16>) {
    let mut heat = planned_net_heat(job);
    let mut planned = Vec::new();
    for (heat, weld) in heat.iter_mut().zip(&map.welds) {
        let runs: Option<Vec<Uncertain>> = weld
            .runs
            .iter()
            .map(|run| {
                run.heat_input.estimate.map(|measured| Uncertain {
                    value: measured.value.0,
                    standard: measured.expanded.0 / COVERAGE_FACTOR,
                })
            })
            .collect();
        match runs.filter(|runs| runs.len() == usize::from(weld.planned_runs)) {
            // The runs of a log share its calibration, so their doubts go the same way.
            Some(runs) => {
                *heat = Uncertain {
                    value: runs.iter().map(|run| run.value).sum(),
                    standard: runs.iter().map(|run| run.standard).sum(),
                };
            }
            None => planned.push(weld.number),
        }
    }
    (heat, planned)
}

/// The order in which the welds were done, by index; those that were not measured come last, as drawn.
#[must_use]
pub fn order_done(map: &WeldMap) -> Vec<usize> {
    let mut order: Vec<usize> = (0..map.welds.len()).collect();
    order.sort_by_key(|&weld| map.welds[weld].done_place.unwrap_or(usize::MAX));
    order
}

/// Predicts a build: the welds in `order`, each with its net heat (J/mm, by index).
///
/// The doubt of each measure is worked out by moving one factor after the other by its standard uncertainty, and each
/// weld by the scatter of single welds and the doubt of its heat; the changes are added in squares (JCGM 100:2008,
/// 5.1.3).
///
/// # Errors
/// [`MovementError`] when the order is not complete or the heat is outside what the rules hold for.
pub fn predict(
    job: &Job,
    engine: &Engine,
    order: &[usize],
    net_heat_j_per_mm: &[Uncertain],
    factors: &Factors,
) -> Result<Prediction, MovementError> {
    let factors = published(job, factors);
    predict_with(job, engine, order, net_heat_j_per_mm, &factors, [0.0; 2])
}

/// Predicts a build with the shop's own factors where the job names them, else with the published ones.
///
/// The shop's factors were learned from whole frames, so the doubt then holds too what fit-up, clamping and the model
/// do to a frame.
///
/// # Errors
/// [`MovementError`] when the order is not complete or the heat is outside what the rules hold for.
pub fn predict_for(
    job: &Job,
    engine: &Engine,
    order: &[usize],
    net_heat_j_per_mm: &[Uncertain],
) -> Result<Prediction, MovementError> {
    let (factors, shares) = factors_for(job);
    predict_with(job, engine, order, net_heat_j_per_mm, &factors, shares)
}

/// The factors that [`predict_for`] takes, and the shares of each movement that are doubts of their own.
#[must_use]
pub fn factors_for(job: &Job) -> (JobFactors, [f64; 2]) {
    match &job.shop {
        // With nothing learned yet the prediction is the same as without a shop.
        Some(shop) if shop.revision > 0 => (shop.factors.clone(), [OF_THE_BUILD, OF_THE_PLACE]),
        _ => (published(job, &Factors::starting()), [0.0; 2]),
    }
}

/// The same factors for all welds, and moved by their doubts.
fn published(job: &Job, factors: &Factors) -> JobFactors {
    let of_all = |factors: Factors| vec![factors; job.welds.len()];
    JobFactors {
        each: of_all(*factors),
        moved: one_factor_moved(factors).map(of_all).into(),
    }
}

/// Predicts a build with factors for each weld; `shares` of each movement are doubts of their own.
///
/// # Errors
/// [`MovementError`] when the order is not complete or the heat is outside what the rules hold for.
pub fn predict_with(
    job: &Job,
    engine: &Engine,
    order: &[usize],
    net_heat_j_per_mm: &[Uncertain],
    factors: &JobFactors,
    shares: [f64; 2],
) -> Result<Prediction, MovementError> {
    order::check(order, job.welds.len()).map_err(MovementError::Order)?;
    let heat: Vec<f64> = net_heat_j_per_mm.iter().map(|heat| heat.value).collect();
    let lay = |heat: &[f64], each: &[Factors]| -> Result<Outcome, MovementError> {
        Ok(engine.lay(order, &engine.shrinkage_each(heat, each)?))
    };
    let base = lay(&heat, &factors.each)?;
    let mut doubt = Doubt::about(&base);
    for varied in &factors.moved {
        doubt.add(&lay(&heat, varied)?);
    }
    for (weld, own) in net_heat_j_per_mm.iter().enumerate() {
        let mut varied = heat.clone();
        let scatter = factors.each[weld].weld_to_weld;
        varied[weld] += own.standard.hypot(scatter * own.value);
        doubt.add(&lay(&varied, &factors.each)?);
    }
    for share in shares {
        doubt.add_share(share);
    }
    let results = doubt.results();
    let (released, rest) = results.split_at(base.released_mm.len());
    let (clamped, forces) = rest.split_at(base.clamped_mm.len());
    let mut prediction = Prediction {
        order: order.to_vec(),
        net_heat_j_per_mm: net_heat_j_per_mm.to_vec(),
        measures: Vec::new(),
        clamp_forces_n: forces.to_vec(),
        clamp_slips_mm: base.clamp_slips_mm,
        gaps_mm: base.gaps_mm,
        allowances: Vec::new(),
        fits: Vec::new(),
    };
    for ((measure, &change), &clamped_mm) in engine.measures().iter().zip(released).zip(clamped) {
        if let (MeasureKind::Span, Some(member)) = (measure.kind, measure.member) {
            prediction.allowances.push(Allowance {
                member,
                add_mm: Uncertain {
                    value: -change.value,
                    ..change
                },
            });
        } else {
            prediction.measures.push(Predicted {
                name: measure.name.clone(),
                kind: measure.kind,
                member: measure.member,
                nominal_mm: measure.nominal_mm,
                clamped_mm,
                released_mm: change,
            });
        }
    }
    if let Some(opening) = &job.opening {
        prediction.fits = fits(opening, &prediction.measures);
    }
    Ok(prediction)
}

/// What comes out of a build, with the squares of what each doubt changes in it.
struct Doubt {
    values: Vec<f64>,
    variance: Vec<f64>,
}

impl Doubt {
    fn about(base: &Outcome) -> Self {
        let values = Self::values(base);
        Self {
            variance: vec![0.0; values.len()],
            values,
        }
    }

    /// Measures with the clamps off, the same with the clamps on, then the size of each clamp's force.
    fn values(outcome: &Outcome) -> Vec<f64> {
        let forces = outcome
            .clamp_forces_n
            .iter()
            .map(|f| f[0].hypot(f[1]).hypot(f[2]));
        let measures = outcome.released_mm.iter().chain(&outcome.clamped_mm);
        measures.copied().chain(forces).collect()
    }

    fn add(&mut self, varied: &Outcome) {
        let changes = Self::values(varied).into_iter().zip(&self.values);
        for (sum, (varied, base)) in self.variance.iter_mut().zip(changes) {
            *sum += (varied - base) * (varied - base);
        }
    }

    /// A doubt in proportion to each value.
    fn add_share(&mut self, share: f64) {
        for (sum, value) in self.variance.iter_mut().zip(&self.values) {
            *sum += (share * value) * (share * value);
        }
    }

    fn results(self) -> Vec<Uncertain> {
        let both = self.values.into_iter().zip(self.variance);
        both.map(|(value, variance)| Uncertain {
            value,
            standard: variance.sqrt(),
        })
        .collect()
    }
}

/// The factors with one of them moved by its standard uncertainty, one after the other.
fn one_factor_moved(factors: &Factors) -> [Factors; 5] {
    let moved = |factor: Factor| Factor {
        value: factor.value * (1.0 + factor.relative_uncertainty),
        ..factor
    };
    [
        Factors {
            longitudinal: moved(factors.longitudinal),
            ..*factors
        },
        Factors {
            transverse_strip: moved(factors.transverse_strip),
            ..*factors
        },
        Factors {
            transverse: moved(factors.transverse),
            ..*factors
        },
        Factors {
            angular: moved(factors.angular),
            ..*factors
        },
        Factors {
            yield_stress: moved(factors.yield_stress),
            ..*factors
        },
    ]
}

fn fits(opening: &Opening, measures: &[Predicted]) -> Vec<Fit> {
    let greatest = |direction: &'static str, clear: f64| {
        measures
            .iter()
            .filter(|m| m.kind == MeasureKind::Size && m.name.starts_with(direction))
            .map(|m| Uncertain {
                value: m.nominal_mm + m.released_mm.value,
                ..m.released_mm
            })
            .max_by(|a, b| a.value.total_cmp(&b.value))
            .map(|size_mm| Fit {
                direction,
                opening_mm: clear,
                size_mm,
                clearance_mm: (clear - size_mm.value) / 2.0,
                wanted_mm: opening.clearance.0,
            })
    };
    let height = opening
        .height
        .and_then(|height| greatest("height", height.0));
    greatest("width", opening.width.0)
        .into_iter()
        .chain(height)
        .collect()
}

impl Fit {
    /// Whether the clearance wanted is there, with the doubt (k = 2) counted against it.
    #[must_use]
    pub fn is_sure(&self) -> bool {
        self.clearance_mm - self.size_mm.expanded() / 2.0 >= self.wanted_mm
    }
}

impl Prediction {
    /// The worst bow, mm, with its place; `None` for a job without slender members.
    #[must_use]
    pub fn worst_bow(&self) -> Option<&Predicted> {
        self.measures
            .iter()
            .filter(|m| m.kind == MeasureKind::Bow)
            .max_by(|a, b| {
                a.released_mm
                    .value
                    .abs()
                    .total_cmp(&b.released_mm.value.abs())
            })
    }
}

/// An order as numbers on the drawing.
#[must_use]
pub fn numbers(job: &Job, order: &[usize]) -> Vec<u16> {
    order.iter().map(|&weld| job.welds[weld].number).collect()
}
