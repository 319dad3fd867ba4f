//! The prediction a maker reads: each measure with its doubt, what fits, and how long to cut.

use super::answers::MeasureKind;
use super::effect::{Factor, Factors};
use super::engine::Engine;
use crate::job::model::{Job, Opening};
use crate::structure::StructureError;
use coldsquare_core::formula::FormulaError;
use coldsquare_core::uncertainty::Uncertain;

/// Why a movement could not be predicted.
#[derive(Clone, Debug)]
pub enum PredictError {
    /// The structure cannot stand.
    Structure(StructureError),
    /// A heat or a thickness is outside what the rules hold for.
    Rule(FormulaError),
    /// The order names a weld twice or leaves one out; the number as on the drawing.
    Order(u16),
}

impl From<StructureError> for PredictError {
    fn from(error: StructureError) -> Self {
        Self::Structure(error)
    }
}

impl From<FormulaError> for PredictError {
    fn from(error: FormulaError) -> Self {
        Self::Rule(error)
    }
}

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
    /// Change while the clamps hold, mm.
    pub clamped_mm: f64,
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
    /// Sizes, diagonals, wind and bows.
    pub measures: Vec<Predicted>,
    /// Greatest force on each clamp before it comes off, N.
    pub clamp_forces_n: Vec<f64>,
    /// How long to cut.
    pub allowances: Vec<Allowance>,
    /// Whether it fits.
    pub fits: Vec<Fit>,
}

/// The net heat of every weld as planned, J/mm, all runs together.
#[must_use]
pub fn planned_net_heat(job: &Job) -> Vec<f64> {
    job.welds
        .iter()
        .map(|weld| job.procedures[weld.procedure].planned_heat_input.0 * f64::from(weld.runs))
        .collect()
}

/// Checks that an order has every weld of the job once.
///
/// # Errors
/// [`PredictError::Order`] with the number of the first weld that is missing or there twice.
pub fn check_order(job: &Job, order: &[usize]) -> Result<(), PredictError> {
    let mut times = vec![0; job.welds.len()];
    for &weld in order {
        match times.get_mut(weld) {
            Some(count) => *count += 1,
            None => {
                return Err(PredictError::Order(
                    u16::try_from(weld + 1).unwrap_or(u16::MAX),
                ));
            }
        }
    }
    match times.iter().position(|&count| count != 1) {
        Some(weld) => Err(PredictError::Order(job.welds[weld].number)),
        None => Ok(()),
    }
}

/// Predicts a build: the welds in `order`, each with its net heat (J/mm, by index).
///
/// The doubt of each measure is worked out by moving one factor after the other by its standard uncertainty, and each
/// weld by the scatter of single welds; the changes are added in squares (JCGM 100:2008, 5.1.3).
///
/// # Errors
/// [`PredictError`] when the order is not complete or the heat is outside what the rules hold for.
pub fn predict(
    job: &Job,
    engine: &Engine,
    order: &[usize],
    net_heat_j_per_mm: &[f64],
    factors: &Factors,
) -> Result<Prediction, PredictError> {
    check_order(job, order)?;
    let base = engine.lay(order, &engine.shrinkage(net_heat_j_per_mm, factors)?);
    let mut variance = vec![0.0; base.released_mm.len()];
    let mut add = |released: &[f64]| {
        for ((sum, &moved), &at) in variance.iter_mut().zip(released).zip(&base.released_mm) {
            *sum += (moved - at) * (moved - at);
        }
    };
    for varied in one_factor_moved(factors) {
        add(&engine
            .lay(order, &engine.shrinkage(net_heat_j_per_mm, &varied)?)
            .released_mm);
    }
    for weld in 0..job.welds.len() {
        let mut heat = net_heat_j_per_mm.to_vec();
        heat[weld] *= 1.0 + factors.weld_to_weld;
        add(&engine
            .lay(order, &engine.shrinkage(&heat, factors)?)
            .released_mm);
    }
    let released = |m: usize| Uncertain {
        value: base.released_mm[m],
        standard: variance[m].sqrt(),
    };
    let mut prediction = Prediction {
        order: order.to_vec(),
        measures: Vec::new(),
        clamp_forces_n: base
            .clamp_forces_n
            .iter()
            .map(|f| f[0].hypot(f[1]).hypot(f[2]))
            .collect(),
        allowances: Vec::new(),
        fits: Vec::new(),
    };
    for (m, measure) in engine.measures().iter().enumerate() {
        if let (MeasureKind::Span, Some(member)) = (measure.kind, measure.member) {
            let change = released(m);
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
                clamped_mm: base.clamped_mm[m],
                released_mm: released(m),
            });
        }
    }
    if let Some(opening) = &job.opening {
        prediction.fits = fits(opening, &prediction.measures);
    }
    Ok(prediction)
}

/// The factors with one of them moved by its standard uncertainty, one after the other.
fn one_factor_moved(factors: &Factors) -> [Factors; 4] {
    let moved = |factor: Factor| Factor {
        value: factor.value * (1.0 + factor.relative_uncertainty),
        ..factor
    };
    [
        Factors {
            along: moved(factors.along),
            ..*factors
        },
        Factors {
            across_strip: moved(factors.across_strip),
            ..*factors
        },
        Factors {
            closing: moved(factors.closing),
            ..*factors
        },
        Factors {
            turning: moved(factors.turning),
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
