//! From finished builds to a shop's own factors.
//!
//! Which builds and readings count is decided in `gather`, how far each is trusted in `build::noise`; the arithmetic is in
//! `estimate`.
//!
//! ```text
//! job + log + measurements (gather) -> Build -> linearised about what is known -> Gaussian -> Knowledge
//! Knowledge, builds, what was left out (report) -> terminal | JSON | revision of the shop factors file (keep)
//! ```
//!
//! Learning always starts from the published factors and takes all builds together: their order does not matter, none
//! counts twice, and a better calibration of a log changes everything that was learned from it.
//!
//! ```
//! let learned = coldsquare_engine::learn::learn(&[]).unwrap();
//! assert!(learned.misfits.is_empty(), "without builds the published factors stand");
//! ```

pub mod build;
pub mod estimate;
pub mod gather;
pub mod report;
pub mod text;

use crate::movement::error::MovementError;
use crate::shop::factors::Knowledge;
use build::Build;
use estimate::{Gaussian, Linear, farthest};

/// A build that does not fit the others, or the published factors.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// Index of the build.
    pub build: usize,
    /// How far off its readings are together, in standard uncertainties of one.
    pub distance: f64,
    /// Index of the reading that is furthest off, and how far, in standard uncertainties.
    pub worst: (usize, f64),
    /// Number of builds it was compared with; 0 for the published factors alone.
    pub against: usize,
}

/// What was learned from builds.
#[derive(Clone, Debug)]
pub struct Learned {
    /// Before: the published factors of the classes that occur.
    pub start: Knowledge,
    /// After.
    pub knowledge: Knowledge,
    /// Builds that were left out because they do not fit.
    pub misfits: Vec<Misfit>,
    /// Indices of the builds that were used.
    pub used: Vec<usize>,
}

/// Number of linearisations, each about the result of the one before: yielding makes the movement slightly nonlinear.
const LINEARISATIONS: usize = 2;

/// Learns from builds. A build without readings is not used.
///
/// A build is left out and reported if its readings together are further from what the others predict than those of one
/// good build in a thousand; the worst first, until all fit.
///
/// # Errors
/// [`MovementError`] when a heat is outside the range of the rules.
pub fn learn(builds: &[Build]) -> Result<Learned, MovementError> {
    let classes = builds.iter().flat_map(|build| build.classes.clone());
    let start = Knowledge::starting(classes.collect());
    let mut used: Vec<usize> = (0..builds.len())
        .filter(|&build| !builds[build].readings.is_empty())
        .collect();
    let mut misfits = Vec::new();
    loop {
        let (knowledge, linear) = fit(builds, &used, &start)?;
        let Some(misfit) = worst_misfit(&used, &linear, &start) else {
            misfits.sort_by_key(|misfit: &Misfit| misfit.build);
            return Ok(Learned {
                start,
                knowledge,
                misfits,
                used,
            });
        };
        used.retain(|&build| build != misfit.build);
        misfits.push(misfit);
    }
}

fn fit(
    builds: &[Build],
    used: &[usize],
    start: &Knowledge,
) -> Result<(Knowledge, Vec<Linear>), MovementError> {
    let prior = Gaussian {
        mean: start.mean.clone(),
        covariance: start.covariance.clone(),
    };
    let mut knowledge = start.clone();
    let mut linear = Vec::new();
    for _ in 0..LINEARISATIONS {
        linear = used
            .iter()
            .map(|&build| builds[build].linear(&knowledge))
            .collect::<Result<Vec<_>, _>>()?;
        if linear.is_empty() {
            break;
        }
        let Some(narrowed) = prior.given(&linear) else {
            break;
        };
        knowledge.mean = narrowed.mean;
        knowledge.covariance = narrowed.covariance;
    }
    Ok((knowledge, linear))
}

fn worst_misfit(used: &[usize], linear: &[Linear], start: &Knowledge) -> Option<Misfit> {
    let prior = Gaussian {
        mean: start.mean.clone(),
        covariance: start.covariance.clone(),
    };
    let one = |left_out: usize| {
        let others = linear
            .iter()
            .enumerate()
            .filter(|&(k, _)| k != left_out)
            .map(|(_, line)| line);
        let line = &linear[left_out];
        let (squared, single) = prior.given(others)?.distance(line)?;
        let excess = squared / farthest(line.read.len());
        let worst = single
            .into_iter()
            .enumerate()
            .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
        (excess > 1.0).then(|| {
            let misfit = Misfit {
                build: used[left_out],
                distance: (squared / line.read.len() as f64).sqrt(),
                worst,
                against: used.len() - 1,
            };
            (excess, misfit)
        })
    };
    let found = (0..used.len()).filter_map(one);
    found
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, misfit)| misfit)
}
