//! What is known of a shop's factors, and what that means for welds of given classes.
//!
//! The logarithm of a factor is the sum of a part that all welds of the shop share and a part of its class alone. So a
//! class that was never measured still gains from the others, and as long as nothing was learned every factor is the
//! published one with its published uncertainty.

use super::class::Class;
use super::factor::{Factor, Factors};
use super::matrix::{Matrix, cholesky};

/// The kinds of shrinkage that have a factor, in the order of every list of five in this folder.
pub const SHRINKAGE_KINDS: [&str; 5] = [
    "longitudinal",
    "transverse strip",
    "transverse",
    "angular",
    "yield stress",
];

/// Share of a factor's variance that all welds of a shop have in common; the rest belongs to the class. Our choice, no
/// source: hand, machine and metal are the same in all classes.
const IN_COMMON: f64 = 0.64;

/// Scatter of all movements of a frame together, from its clamping and fit-up: relative standard uncertainty. Common
/// practice, no source.
pub const OF_THE_BUILD: f64 = 0.10;
/// Scatter of each movement by itself, from what the model leaves out: relative standard uncertainty. Common practice,
/// no source.
pub const OF_THE_PLACE: f64 = 0.10;

/// What is known: a normal distribution of logarithms of factors. First comes the common part of each kind of
/// shrinkage, then each class's own part of each kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Knowledge {
    /// Classes that occur, in alphabetical order.
    pub classes: Vec<Class>,
    /// Mean of the logarithms: five in common, then five for each class.
    pub mean: Vec<f64>,
    /// Their covariance.
    pub covariance: Matrix,
}

/// The published relative standard uncertainties of the five kinds.
#[must_use]
pub fn published_uncertainties() -> [f64; 5] {
    list(&Factors::starting()).map(|factor| factor.relative_uncertainty)
}

fn list(factors: &Factors) -> [Factor; 5] {
    [
        factors.longitudinal,
        factors.transverse_strip,
        factors.transverse,
        factors.angular,
        factors.yield_stress,
    ]
}

/// The published factors, each times its multiplier.
#[must_use]
pub fn times(multipliers: [f64; 5]) -> Factors {
    let start = Factors::starting();
    let list = list(&start);
    let one = |kind: usize| Factor {
        value: list[kind].value * multipliers[kind],
        ..list[kind]
    };
    Factors {
        longitudinal: one(0),
        transverse_strip: one(1),
        transverse: one(2),
        angular: one(3),
        yield_stress: one(4),
        weld_to_weld: start.weld_to_weld,
    }
}

impl Knowledge {
    /// Nothing learned yet about these classes: the published factors.
    #[must_use]
    pub fn starting(mut classes: Vec<Class>) -> Self {
        classes.sort();
        classes.dedup();
        let uncertainties = published_uncertainties();
        let size = 5 * (1 + classes.len());
        let mut covariance = vec![vec![0.0; size]; size];
        for (k, row) in covariance.iter_mut().enumerate() {
            let share = if k < 5 { IN_COMMON } else { 1.0 - IN_COMMON };
            row[k] = share * uncertainties[k % 5] * uncertainties[k % 5];
        }
        Self {
            mean: vec![0.0; size],
            classes,
            covariance,
        }
    }

    /// The same knowledge with more classes, of which only the common part is known.
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

    /// Factor of a kind for a class, both by index, with its relative standard uncertainty.
    #[must_use]
    pub fn factor(&self, class: usize, kind: usize) -> Factor {
        let own = 5 * (1 + class) + kind;
        let variance = self.covariance[kind][kind]
            + 2.0 * self.covariance[kind][own]
            + self.covariance[own][own];
        Factor {
            value: (self.mean[kind] + self.mean[own]).exp(),
            relative_uncertainty: variance.max(0.0).sqrt(),
        }
    }

    /// What it means for welds of these classes.
    #[must_use]
    pub fn for_welds(&self, of_weld: &[Class]) -> JobFactors {
        let known = self.with_classes(of_weld);
        let mut used = of_weld.to_vec();
        used.sort();
        used.dedup();
        let places: Vec<usize> = used.iter().filter_map(|c| known.position(c)).collect();
        let size = 5 * places.len();
        let total = known.covariance_of(&places);
        // Only rounding can make this fail; each factor's own uncertainty is still good.
        let lower = cholesky(&total).unwrap_or_else(|| standard_deviations(&total));
        let factors = |moved: &dyn Fn(usize) -> f64| -> Vec<Factors> {
            of_weld
                .iter()
                .map(|class| {
                    let at = used
                        .iter()
                        .position(|other| other == class)
                        .unwrap_or_default();
                    times(std::array::from_fn(|kind| {
                        known.factor(places[at], kind).value * (1.0 + moved(5 * at + kind))
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

    /// Covariance of the logarithms of the factors of these classes, by index, five after five.
    fn covariance_of(&self, classes: &[usize]) -> Matrix {
        let row = |k: usize| [k % 5, 5 * (1 + classes[k / 5]) + k % 5];
        let size = 5 * classes.len();
        (0..size)
            .map(|i| {
                (0..size)
                    .map(|j| {
                        let sum = |a: usize| row(j).map(|b| self.covariance[a][b]);
                        row(i).iter().flat_map(|&a| sum(a)).sum()
                    })
                    .collect()
            })
            .collect()
    }
}

/// The standard deviations of a covariance on the diagonal, as if nothing were correlated.
fn standard_deviations(covariance: &Matrix) -> Matrix {
    let size = covariance.len();
    (0..size)
        .map(|i| {
            let diagonal = |j| {
                if i == j {
                    covariance[i][i].max(0.0).sqrt()
                } else {
                    0.0
                }
            };
            (0..size).map(diagonal).collect()
        })
        .collect()
}

/// The factors of every weld of a job, and the independent errors that they can share.
#[derive(Clone, Debug)]
pub struct JobFactors {
    /// By weld.
    pub each: Vec<Factors>,
    /// For each independent error the factors moved by its standard uncertainty, by weld.
    pub moved: Vec<Vec<Factors>>,
}

/// A shop's factors as a job names them.
#[derive(Clone, Debug)]
pub struct ShopFactors {
    /// The file, as the job names it.
    pub file: String,
    /// Whether the file exists.
    pub is_there: bool,
    /// The revision in use; 0 if nothing was learned.
    pub revision: usize,
    /// When it was added, as `2026-11-25`; empty if nothing was learned.
    pub on: String,
    /// Number of builds it was learned from.
    pub used: usize,
    /// SHA-256 of every job, measurement and log that it rests on.
    pub rests_on: Vec<String>,
    /// What it knows.
    pub knowledge: Knowledge,
    /// The class of each weld of the job.
    pub classes: Vec<Class>,
    /// What the knowledge means for the job.
    pub factors: JobFactors,
}

impl ShopFactors {
    /// A sentence with the file, the revision, and the factors of each class of the job beside the published ones.
    #[must_use]
    pub fn describe(&self) -> String {
        if self.revision == 0 {
            return if self.is_there {
                format!("{} holds no factors yet: published factors.", self.file)
            } else {
                format!(
                    "The job names the shop factors file {}, which does not exist: published factors. Check the name, or \
                     make the file with `coldsquare learn JOB --keep`.",
                    self.file
                )
            };
        }
        let mut used = self.classes.clone();
        used.sort();
        used.dedup();
        let known = self.knowledge.with_classes(&used);
        let of_class = |class: &Class| {
            let at = known.position(class).unwrap_or_default();
            let kinds = SHRINKAGE_KINDS
                .iter()
                .enumerate()
                .filter_map(|(kind, name)| {
                    let factor = known.factor(at, kind);
                    let uncertainty = factor.relative_uncertainty;
                    let before = published_uncertainties()[kind];
                    (uncertainty < 0.95 * before).then(|| {
                        format!(
                            "{name} {:.2} ± {:.0} % (published: 1.00 ± {:.0} %)",
                            factor.value,
                            200.0 * uncertainty,
                            200.0 * before
                        )
                    })
                });
            let kinds: Vec<String> = kinds.collect();
            if kinds.is_empty() {
                format!("{}: as published", class.name())
            } else {
                format!("{}: {}", class.name(), kinds.join(", "))
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
            used => format!(", from {}", crate::format::count(used, "build")),
        };
        format!(
            "{}, revision {} of {}{builds}",
            self.file, self.revision, self.on
        )
    }
}
