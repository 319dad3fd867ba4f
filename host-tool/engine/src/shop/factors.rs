//! What is known of a shop's factors, and what that means for the welds of one job.
//!
//! The logarithm of a factor is the sum of what all welds of the shop share and what its class has of its own. So a
//! class never measured still profits from the others, and with nothing learned every factor is the published one with
//! its published doubt.

use super::class::{Class, classes};
use super::matrix::{Matrix, cholesky};
use crate::job::model::Job;
use crate::movement::effect::{Factor, Factors};

/// The ways in which a weld shrinks, in the order of all that counts them.
pub const WAYS: [&str; 5] = [
    "along",
    "across a strip",
    "closing",
    "turning",
    "yield stress",
];

/// Share of a factor's variance that all welds of a shop have in common; the rest is each class's own. Our choice, no
/// source: hand, machine and metal are the same in all classes.
const IN_COMMON: f64 = 0.64;

/// What clamping and fit-up of one frame do to all its movements together, as a share (k = 1). Common practice, no
/// source.
pub const OF_THE_BUILD: f64 = 0.10;
/// What the model does not see at each place of its own, as a share (k = 1). Common practice, no source.
pub const OF_THE_PLACE: f64 = 0.10;

/// What is known: a normal distribution of logarithms of factors, first the common part of each way, then for each
/// class its own part of each way.
#[derive(Clone, Debug, PartialEq)]
pub struct Knowledge {
    /// Classes that were met, in alphabetical order.
    pub classes: Vec<Class>,
    /// Mean of the logarithms: five in common, then five a class.
    pub mean: Vec<f64>,
    /// Their covariance.
    pub covariance: Matrix,
}

/// The published doubts of the five ways, relative.
#[must_use]
pub fn published_doubts() -> [f64; 5] {
    list(&Factors::starting()).map(|factor| factor.relative_uncertainty)
}

fn list(factors: &Factors) -> [Factor; 5] {
    [
        factors.along,
        factors.across_strip,
        factors.closing,
        factors.turning,
        factors.yielding,
    ]
}

/// The starting factors, each times its multiplier.
#[must_use]
pub fn times(multipliers: [f64; 5]) -> Factors {
    let start = Factors::starting();
    let list = list(&start);
    let one = |way: usize| Factor {
        value: list[way].value * multipliers[way],
        ..list[way]
    };
    Factors {
        along: one(0),
        across_strip: one(1),
        closing: one(2),
        turning: one(3),
        yielding: one(4),
        weld_to_weld: start.weld_to_weld,
    }
}

impl Knowledge {
    /// Nothing learned yet about these classes: the published factors.
    #[must_use]
    pub fn starting(mut classes: Vec<Class>) -> Self {
        classes.sort();
        classes.dedup();
        let doubts = published_doubts();
        let size = 5 * (1 + classes.len());
        let mut covariance = vec![vec![0.0; size]; size];
        for (k, row) in covariance.iter_mut().enumerate() {
            let share = if k < 5 { IN_COMMON } else { 1.0 - IN_COMMON };
            row[k] = share * doubts[k % 5] * doubts[k % 5];
        }
        Self {
            mean: vec![0.0; size],
            classes,
            covariance,
        }
    }

    /// The same knowledge with room for more classes, of which nothing but the common part is known.
    #[must_use]
    pub fn with_classes(&self, more: &[Class]) -> Self {
        let all = self.classes.iter().chain(more).cloned().collect();
        let mut wider = Self::starting(all);
        let place = |known: usize| {
            if known < 5 {
                return known;
            }
            let class = &self.classes[known / 5 - 1];
            let at = wider.classes.iter().position(|other| other == class);
            5 * (1 + at.unwrap_or_default()) + known % 5
        };
        let places: Vec<usize> = (0..self.mean.len()).map(place).collect();
        for (i, &to) in places.iter().enumerate() {
            wider.mean[to] = self.mean[i];
            for (j, &across) in places.iter().enumerate() {
                wider.covariance[to][across] = self.covariance[i][j];
            }
        }
        wider
    }

    /// Index of a class.
    #[must_use]
    pub fn position(&self, class: &Class) -> Option<usize> {
        self.classes.iter().position(|known| known == class)
    }

    /// Factor of a way for a class by index, and its relative standard uncertainty.
    #[must_use]
    pub fn factor(&self, class: usize, way: usize) -> Factor {
        let own = 5 * (1 + class) + way;
        let variance =
            self.covariance[way][way] + 2.0 * self.covariance[way][own] + self.covariance[own][own];
        Factor {
            value: (self.mean[way] + self.mean[own]).exp(),
            relative_uncertainty: variance.max(0.0).sqrt(),
        }
    }

    /// What it means for the welds of a job.
    #[must_use]
    pub fn for_job(&self, job: &Job) -> JobFactors {
        let of_weld = classes(job);
        let known = self.with_classes(&of_weld);
        let mut used = of_weld.clone();
        used.sort();
        used.dedup();
        let places: Vec<usize> = used.iter().filter_map(|c| known.position(c)).collect();
        let row = |k: usize| [k % 5, 5 * (1 + places[k / 5]) + k % 5];
        let size = 5 * places.len();
        let total: Matrix = (0..size)
            .map(|i| {
                (0..size)
                    .map(|j| {
                        let sum = |a: usize| row(j).map(|b| known.covariance[a][b]);
                        row(i).iter().flat_map(|&a| sum(a)).sum()
                    })
                    .collect()
            })
            .collect();
        let lower = cholesky(&total).unwrap_or_else(|| {
            // Rounding alone can do this; the single doubts are still there.
            (0..size)
                .map(|i| {
                    let diagonal = |j| {
                        if i == j {
                            total[i][i].max(0.0).sqrt()
                        } else {
                            0.0
                        }
                    };
                    (0..size).map(diagonal).collect()
                })
                .collect()
        });
        let factors = |moved: &dyn Fn(usize) -> f64| -> Vec<Factors> {
            of_weld
                .iter()
                .map(|class| {
                    let at = used
                        .iter()
                        .position(|other| other == class)
                        .unwrap_or_default();
                    times(std::array::from_fn(|way| {
                        known.factor(places[at], way).value * (1.0 + moved(5 * at + way))
                    }))
                })
                .collect()
        };
        JobFactors {
            each: factors(&|_| 0.0),
            moved: (0..size)
                .map(|column| factors(&|k| lower[k][column]))
                .collect(),
        }
    }
}

/// The factors of every weld of a job, and in which independent ways they may be off together.
#[derive(Clone, Debug)]
pub struct JobFactors {
    /// By weld.
    pub each: Vec<Factors>,
    /// For each independent doubt the factors moved by one standard uncertainty of it, by weld.
    pub moved: Vec<Vec<Factors>>,
}

/// A shop's factors as a job names them.
#[derive(Clone, Debug)]
pub struct ShopFactors {
    /// The file, as the job names it.
    pub file: String,
    /// Whether there is such a file.
    pub is_there: bool,
    /// The revision that is used; 0 while nothing was learned.
    pub revision: usize,
    /// When that was added, as `2026-11-25`; empty while nothing was learned.
    pub on: String,
    /// From how many builds.
    pub used: usize,
    /// SHA-256 of every job, measurement and log that it rests on.
    pub rests_on: Vec<String>,
    /// What it knows.
    pub knowledge: Knowledge,
    /// What that means for the job.
    pub factors: JobFactors,
}

impl ShopFactors {
    /// In a sentence: file, revision, and the factors of each class of the job with their doubts against the
    /// published ones.
    #[must_use]
    pub fn words(&self, job: &Job) -> String {
        if self.revision == 0 {
            return if self.is_there {
                format!("{} holds nothing learned: published factors.", self.file)
            } else {
                format!(
                    "The job names the shop file {}, which is not there: published factors. Is it mistyped? `coldsquare \
                     learn JOB --keep` makes it.",
                    self.file
                )
            };
        }
        let mut used = classes(job);
        used.sort();
        used.dedup();
        let known = self.knowledge.with_classes(&used);
        let of_class = |class: &Class| {
            let at = known.position(class).unwrap_or_default();
            let ways = WAYS.iter().enumerate().filter_map(|(way, name)| {
                let factor = known.factor(at, way);
                let doubt = factor.relative_uncertainty;
                let before = published_doubts()[way];
                (doubt < 0.95 * before).then(|| {
                    format!(
                        "{name} {:.2} ± {:.0} % (published: 1.00 ± {:.0} %)",
                        factor.value,
                        200.0 * doubt,
                        200.0 * before
                    )
                })
            });
            let ways: Vec<String> = ways.collect();
            if ways.is_empty() {
                format!("{}: as published", class.words())
            } else {
                format!("{}: {}", class.words(), ways.join(", "))
            }
        };
        let each: Vec<String> = used.iter().map(of_class).collect();
        format!("Shop factors of {}. {}.", self.source(), each.join("; "))
    }

    /// "our-shop.toml, revision 2 of 2026-11-25, from 3 builds".
    #[must_use]
    pub fn source(&self) -> String {
        let builds = match self.used {
            0 => String::new(),
            1 => ", from 1 build".to_owned(),
            used => format!(", from {used} builds"),
        };
        format!(
            "{}, revision {} of {}{builds}",
            self.file, self.revision, self.on
        )
    }
}

/// Whose factors a job is predicted with, in words.
#[must_use]
pub fn in_use(job: &Job) -> String {
    match &job.shop {
        Some(shop) if shop.revision > 0 => {
            format!("the factors of {}", shop.source())
        }
        Some(shop) if !shop.is_there => {
            format!("the published factors ({} is not there)", shop.file)
        }
        _ => "the published factors".to_owned(),
    }
}

/// The factors of every weld of a job: the shop's where the job names it, else the published ones.
#[must_use]
pub fn of_welds(job: &Job) -> Vec<Factors> {
    match &job.shop {
        Some(shop) => shop.factors.each.clone(),
        None => vec![Factors::starting(); job.welds.len()],
    }
}
