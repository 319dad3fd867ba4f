//! The prediction: each measure with its uncertainty, whether the frame fits its opening, and how long to cut.

use super::error::MovementError;
use super::joint_measures::JOINT_STANDARD_MM;
use super::measures::MeasureKind;
use super::model::MovementModel;
use super::outcome::Outcome;
use super::simulate::SimulationOptions;
use crate::algebra::hypot3;
use crate::job::model::{Job, Opening, Weld};
use crate::map::model::WeldMap;
use crate::order;
use crate::shop::factor::Factors;
use crate::shop::factors::{JobFactors, OF_THE_BUILD, OF_THE_PLACE};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};

/// A measure as predicted.
#[derive(Clone, Debug)]
pub struct Predicted {
    /// As the maker calls it.
    pub name: String,
    /// What kind it is.
    pub kind: MeasureKind,
    /// The member, for a bow.
    pub member: Option<usize>,
    /// Distance before welding, outside to outside, mm; 0 for bows, racking and twist.
    pub nominal_mm: f64,
    /// Change with clamps on, mm.
    pub clamped_mm: Uncertain,
    /// Change with clamps off, mm.
    pub released_mm: Uncertain,
}

/// What to add to the cut length of a member so that the finished frame comes out to size.
#[derive(Clone, Debug)]
pub struct Allowance {
    /// The member.
    pub member: usize,
    /// To add, mm.
    pub add_mm: Uncertain,
}

/// Standard uncertainty of a size of a frame before welding, mm: two saw cuts against a stop, and gaps that were not
/// quite closed. Common practice, no source: such frames come out within half a millimetre.
pub const SAW_AND_FIT_UP_STANDARD_MM: f64 = 0.25;

/// Whether the finished frame fits its opening, for one direction.
#[derive(Clone, Debug)]
pub struct Fit {
    /// "width" or "height".
    pub direction: &'static str,
    /// The clear opening, mm.
    pub opening_mm: f64,
    /// The greatest outside size predicted, mm. Its uncertainty has [`SAW_AND_FIT_UP_STANDARD_MM`] in it unless the frame
    /// was measured.
    pub size_mm: Uncertain,
    /// Clearance left on each side with the frame in the middle, mm.
    pub clearance_mm: f64,
    /// Clearance wanted on each side, mm.
    pub wanted_mm: f64,
    /// Sides that need it: two, or one for the height of a frame on the floor.
    pub sides: f64,
}

/// The prediction of a frame welded in one order.
#[derive(Clone, Debug)]
pub struct Prediction {
    /// Indices of the welds, in order.
    pub order: Vec<usize>,
    /// Net heat of each weld by index, J/mm, all runs together.
    pub net_heat_j_per_mm: Vec<Uncertain>,
    /// Sizes, diagonals, racking, twist and bows.
    pub measures: Vec<Predicted>,
    /// Force in each clamp before it is released, N.
    pub clamp_forces_n: Vec<Uncertain>,
    /// How far each clamp has slipped by then, mm.
    pub clamp_slips_mm: Vec<f64>,
    /// Gap of each weld's joint just before it is welded, mm, by index; negative where the sides press on each other.
    pub gaps_mm: Vec<f64>,
    /// Allowances for the cut list.
    pub allowances: Vec<Allowance>,
    /// Whether it fits its opening: width, then height.
    pub fits: Vec<Fit>,
}

/// The planned net heat of every weld, J/mm, all runs together. It has no uncertainty of its own: the scatter of welds
/// about the plan is the shop's [`Factors::weld_to_weld`].
#[must_use]
pub fn planned_net_heat(job: &Job) -> Vec<Uncertain> {
    let heat =
        |weld: &Weld| job.procedures[weld.procedure].planned_heat_input.0 * f64::from(weld.runs);
    job.welds
        .iter()
        .map(|w| Uncertain::exact(heat(w)))
        .collect()
}

/// The measured net heat of every weld, J/mm, all runs together, and the numbers of the welds that were not measured
/// completely. Those have their planned heat.
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
            // The runs of a log share its calibration, so their uncertainties are fully correlated.
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

/// The order in which the welds were done, by index; those that were not measured come last, in file order.
#[must_use]
pub fn order_done(map: &WeldMap) -> Vec<usize> {
    let mut order: Vec<usize> = (0..map.welds.len()).collect();
    order.sort_by_key(|&weld| map.welds[weld].done_place.unwrap_or(usize::MAX));
    order
}

/// Predicts a build with the welds in `order` and the net heat of each (J/mm, by index).
///
/// For the uncertainty of each measure, each factor is changed by its standard uncertainty in turn, and the heat of each
/// weld by the scatter from weld to weld and its own uncertainty. The changes are summed in squares (JCGM 100:2008, 5.1.3).
///
/// # Errors
/// [`MovementError`] when the order is not complete or a heat is outside the range of a rule.
pub fn predict(
    job: &Job,
    model: &MovementModel,
    order: &[usize],
    net_heat_j_per_mm: &[Uncertain],
    factors: &Factors,
) -> Result<Prediction, MovementError> {
    let factors = published(job, factors);
    predict_with(job, model, order, net_heat_j_per_mm, &factors, [0.0; 2])
}

/// Predicts a build with the shop factors where the job names them, otherwise with the published factors.
///
/// Shop factors were learned from whole frames, so their uncertainty includes that of fit-up, clamping and the model.
///
/// # Errors
/// [`MovementError`] when the order is not complete or a heat is outside the range of a rule.
pub fn predict_for(
    job: &Job,
    model: &MovementModel,
    order: &[usize],
    net_heat_j_per_mm: &[Uncertain],
) -> Result<Prediction, MovementError> {
    let (factors, shares) = factors_for(job);
    predict_with(job, model, order, net_heat_j_per_mm, &factors, shares)
}

/// The factors that [`predict_for`] uses, and further relative standard uncertainties of each movement.
#[must_use]
pub fn factors_for(job: &Job) -> (JobFactors, [f64; 2]) {
    match &job.shop {
        // With nothing learned yet the prediction is the same as without shop factors.
        Some(shop) if shop.revision > 0 => (shop.factors.clone(), [OF_THE_BUILD, OF_THE_PLACE]),
        _ => (published(job, &Factors::starting()), [0.0; 2]),
    }
}

/// The same factors for all welds, and changed by their uncertainties.
fn published(job: &Job, factors: &Factors) -> JobFactors {
    let of_all = |factors: Factors| vec![factors; job.welds.len()];
    JobFactors {
        each: of_all(*factors),
        moved: factors.each_changed().map(of_all).into(),
    }
}

/// Predicts a build with factors for each weld. `shares` are further relative standard uncertainties of each movement.
///
/// # Errors
/// [`MovementError`] when the order is not complete or a heat is outside the range of a rule.
pub fn predict_with(
    job: &Job,
    model: &MovementModel,
    order: &[usize],
    net_heat_j_per_mm: &[Uncertain],
    factors: &JobFactors,
    shares: [f64; 2],
) -> Result<Prediction, MovementError> {
    order::check(order, job.welds.len()).map_err(MovementError::Order)?;
    let (base, uncertainty) = vary(model, order, net_heat_j_per_mm, factors, shares)?;
    let results = uncertainty.results();
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
    for ((measure, &change), &clamped_mm) in model.measures().iter().zip(released).zip(clamped) {
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
                clamped_mm: with_joint(measure.kind, clamped_mm),
                released_mm: with_joint(measure.kind, change),
            });
        }
    }
    if let Some(opening) = &job.opening {
        prediction.fits = fits(opening, &prediction.measures, SAW_AND_FIT_UP_STANDARD_MM);
    }
    Ok(prediction)
}

/// A lean or a corner with the uncertainty of the model of a joint.
fn with_joint(kind: MeasureKind, change: Uncertain) -> Uncertain {
    match kind {
        MeasureKind::Lean | MeasureKind::Corner => Uncertain {
            standard: change.standard.hypot(JOINT_STANDARD_MM),
            ..change
        },
        _ => change,
    }
}

/// Simulates an order with the factors and heats as they are and with each of them changed in turn.
fn vary(
    model: &MovementModel,
    order: &[usize],
    net_heat_j_per_mm: &[Uncertain],
    factors: &JobFactors,
    shares: [f64; 2],
) -> Result<(Outcome, OutcomeUncertainty), MovementError> {
    let sequence = model.whole_welds(order);
    let heat: Vec<f64> = net_heat_j_per_mm.iter().map(|heat| heat.value).collect();
    let simulate = |heat: &[f64], each: &[Factors]| -> Result<Outcome, MovementError> {
        let shrinkage = model.shrinkage_each(heat, each)?;
        Ok(model.simulate(&sequence, &shrinkage, &SimulationOptions::default()))
    };
    let base = simulate(&heat, &factors.each)?;
    let mut uncertainty = OutcomeUncertainty::of(&base);
    for varied in &factors.moved {
        uncertainty.add(&simulate(&heat, varied)?);
    }
    for (weld, own) in net_heat_j_per_mm.iter().enumerate() {
        let mut varied = heat.clone();
        let scatter = factors.each[weld].weld_to_weld;
        varied[weld] += own.standard.hypot(scatter * own.value);
        uncertainty.add(&simulate(&varied, &factors.each)?);
    }
    for share in shares {
        uncertainty.add_share(share);
    }
    Ok((base, uncertainty))
}

/// The values of an outcome with the sum of the squares of their changes.
struct OutcomeUncertainty {
    values: Vec<f64>,
    variance: Vec<f64>,
}

impl OutcomeUncertainty {
    fn of(base: &Outcome) -> Self {
        let values = Self::values(base);
        Self {
            variance: vec![0.0; values.len()],
            values,
        }
    }

    /// Measures with clamps off, measures with clamps on, then the size of each clamp's force.
    fn values(outcome: &Outcome) -> Vec<f64> {
        let forces = outcome.clamp_forces_n.iter().map(|&force| hypot3(force));
        let measures = outcome.released_mm.iter().chain(&outcome.clamped_mm);
        measures.copied().chain(forces).collect()
    }

    /// Adds one changed input.
    fn add(&mut self, varied: &Outcome) {
        let changes = Self::values(varied).into_iter().zip(&self.values);
        for (sum, (varied, base)) in self.variance.iter_mut().zip(changes) {
            *sum += (varied - base) * (varied - base);
        }
    }

    /// Adds an uncertainty in proportion to each value.
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

/// Whether a frame fits, whose size before welding is known with this standard uncertainty, mm.
fn fits(opening: &Opening, measures: &[Predicted], before_mm: f64) -> Vec<Fit> {
    let greatest = |direction: &'static str, clear: f64| {
        measures
            .iter()
            .filter(|m| m.kind == MeasureKind::Size && m.name.starts_with(direction))
            .map(|m| Uncertain {
                value: m.nominal_mm + m.released_mm.value,
                standard: m.released_mm.standard.hypot(before_mm),
            })
            .max_by(|a, b| a.value.total_cmp(&b.value))
            .map(|size_mm| Fit {
                direction,
                opening_mm: clear,
                size_mm,
                clearance_mm: (clear - size_mm.value) / opening.clear_sides(direction),
                sides: opening.clear_sides(direction),
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

impl Prediction {
    /// Adds to each measure what its frame had before the first weld, mm, by index of [`Prediction::measures`].
    pub(crate) fn start_at(&mut self, before: &[(usize, f64)], opening: Option<&Opening>) {
        for &(measure, mm) in before {
            self.measures[measure].clamped_mm.value += mm;
            self.measures[measure].released_mm.value += mm;
        }
        if let Some(opening) = opening {
            self.fits = fits(opening, &self.measures, 0.0);
        }
    }
}

impl Fit {
    /// Whether the clearance wanted is left even if the frame is larger by the expanded uncertainty.
    #[must_use]
    pub fn is_sure(&self) -> bool {
        self.clearance_mm - self.size_mm.expanded() / self.sides >= self.wanted_mm
    }
}

/// An order as the numbers of the welds.
#[must_use]
pub fn numbers(job: &Job, order: &[usize]) -> Vec<u16> {
    order.iter().map(|&weld| job.welds[weld].number).collect()
}
