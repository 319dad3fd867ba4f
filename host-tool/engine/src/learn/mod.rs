//! From finished builds to a shop's own factors.
//!
//! ```text
//! job + log + measurement (gather) -> Build -> straight line about what is known -> Gaussian -> Knowledge
//! Knowledge, builds, what was left out (report) -> terminal | JSON | revision of the shop's file (keep)
//! ```
//!
//! Always from the published start and all builds together: the order of builds does not matter, none counts twice, and
//! a log read with a better calibration changes all that was learned from it.

pub mod build;
pub mod estimate;
pub mod gather;
pub mod report;
pub mod text;

use crate::movement::error::MovementError;
use crate::shop::factors::Knowledge;
use build::Build;
use estimate::{Gaussian, Linear, farthest};

/// A build that the others, or the published start, do not let expect.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// Index of the build.
    pub build: usize,
    /// How far its readings lie together, in standard uncertainties of one.
    pub distance: f64,
    /// Index of its reading that lies farthest, and how far, in standard uncertainties.
    pub worst: (usize, f64),
    /// How many builds it was compared with; 0 for the published start alone.
    pub against: usize,
}

/// What builds teach.
#[derive(Clone, Debug)]
pub struct Learned {
    /// Before: the published factors of the classes met.
    pub start: Knowledge,
    /// After.
    pub knowledge: Knowledge,
    /// Builds that were left out because they do not fit.
    pub misfits: Vec<Misfit>,
    /// Indices of the builds that were used.
    pub used: Vec<usize>,
}

/// How often the straight line is drawn anew about what it gave: yield bends the answer a little.
const TURNS: usize = 2;

/// Learns from builds. A build without readings is not used.
///
/// A build is left out, and named, when its readings together lie farther from what all the others let expect than one
/// honest build in a thousand; the worst first, until none is left.
///
/// # Errors
/// [`MovementError`] when a heat is outside what the rules hold for.
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
    for _ in 0..TURNS {
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
