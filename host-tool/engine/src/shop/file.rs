//! The file of a shop: revisions of what was learned, each added at its end; going back is a revision too.

use super::class::Class;
use super::factors::{Knowledge, ShopFactors, WAYS};
use super::matrix::cholesky;
use crate::failure::Failure;
use crate::files::{Files, text_if_there};
use crate::job::model::Job;
use crate::located::{Mistakes, Source};
use crate::notebook;
use serde::{Deserialize, Serialize};
use serde_spanned::Spanned;
use std::path::Path;

/// First lines of a new file.
const HEADING: &str = "\
# What this shop has learned of its own shrinkage. Revisions are added by `coldsquare learn --keep` and stay as they are;
# `coldsquare learn --back N` adds one that goes back. A job names this file: shop = \"our-shop.toml\"
";

/// What stands for all welds of the shop in the place of a class.
const ALL: &str = "all welds";

/// A file that the builds were learned from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Digest {
    /// Its path, as seen from the file of the shop.
    pub file: String,
    /// Its SHA-256.
    pub sha256: String,
}

/// A job whose builds were learned from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recorded {
    /// Path of the job, as seen from the file of the shop.
    pub job: String,
    /// The order planned, as it was given; empty for the order drawn.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub order: String,
    /// Builds that did not fit and were left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<String>,
    /// Job, measurements and logs as they were.
    #[serde(default)]
    pub digest: Vec<Digest>,
}

/// The parameter of one way for one class.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    class: String,
    way: String,
    /// Natural logarithm of the multiplier.
    log: f64,
    /// Row of the lower triangle of the covariance of these logarithms.
    covariance: Vec<f64>,
}

/// One entry of the file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Revision {
    /// When it was added, as `2026-11-25`.
    pub on: String,
    /// The revision that it goes back to; 0 is the published factors.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub back_to: Option<usize>,
    /// How many builds it rests on.
    #[serde(default)]
    pub used: usize,
    /// How many readings they have.
    #[serde(default)]
    pub readings: usize,
    /// From which builds.
    #[serde(default, rename = "build", skip_serializing_if = "Vec::is_empty")]
    pub builds: Vec<Recorded>,
    #[serde(default, rename = "factor", skip_serializing_if = "Vec::is_empty")]
    rows: Vec<Row>,
}

impl Revision {
    /// A revision that holds what was learned from so many builds and readings.
    #[must_use]
    pub fn new(
        on: String,
        [used, readings]: [usize; 2],
        builds: Vec<Recorded>,
        known: &Knowledge,
    ) -> Self {
        let row = |k: usize| Row {
            class: match k / 5 {
                0 => ALL.to_owned(),
                class => known.classes[class - 1].words().to_owned(),
            },
            way: WAYS[k % 5].to_owned(),
            log: known.mean[k],
            covariance: known.covariance[k][..=k].to_vec(),
        };
        Self {
            on,
            back_to: None,
            used,
            readings,
            builds,
            rows: (0..known.mean.len()).map(row).collect(),
        }
    }

    /// A revision that goes back to an earlier one.
    #[must_use]
    pub fn back(on: String, to: usize) -> Self {
        Self {
            on,
            back_to: Some(to),
            used: 0,
            readings: 0,
            builds: Vec::new(),
            rows: Vec::new(),
        }
    }

    /// What it holds, or what is wrong with it.
    fn knowledge(&self) -> Result<Knowledge, &'static str> {
        let names: Vec<Class> = self
            .rows
            .iter()
            .step_by(5)
            .skip(1)
            .map(|row| Class::named(&row.class))
            .collect();
        let mut known = Knowledge::starting(names.clone());
        if known.classes != names || known.mean.len() != self.rows.len() {
            return Err("the factors are not five for all welds and five for each class");
        }
        for (k, row) in self.rows.iter().enumerate() {
            let class = match k / 5 {
                0 => ALL,
                class => names[class - 1].words(),
            };
            if row.class != class || row.way != WAYS[k % 5] || row.covariance.len() != k + 1 {
                return Err("the factors are not in their order");
            }
            let numbers = row.covariance.iter().all(|entry| entry.is_finite());
            if !(row.log.abs() <= 5.0 && numbers) {
                return Err("a factor is no number that can be");
            }
            known.mean[k] = row.log;
            for (j, &entry) in row.covariance.iter().enumerate() {
                known.covariance[k][j] = entry;
                known.covariance[j][k] = entry;
            }
        }
        if cholesky(&known.covariance).is_none() {
            return Err("the doubts of the factors do not belong together");
        }
        Ok(known)
    }

    fn fault(&self, number: usize) -> Option<&'static str> {
        if self.on.parse::<jiff::civil::Date>().is_err() {
            return Some("the date is none; it is written as 2026-11-25");
        }
        match self.back_to {
            Some(to) if to >= number => Some("it goes back to a revision that is not before it"),
            Some(_) if !self.rows.is_empty() => Some("it goes back and holds factors too"),
            Some(_) => None,
            None => self.knowledge().err(),
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    revision: Vec<Spanned<Revision>>,
}

#[derive(Serialize)]
struct Entry<'a> {
    revision: [&'a Revision; 1],
}

/// The revisions of a shop, oldest first; revision 1 is the first.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct History(pub Vec<Revision>);

impl History {
    /// Number of the latest revision; 0 for none.
    #[must_use]
    pub fn latest(&self) -> usize {
        self.0.len()
    }

    /// The revision that holds what a revision stands for: itself, or where it goes back to; `None` for the published
    /// factors.
    #[must_use]
    pub fn meant(&self, number: usize) -> Option<&Revision> {
        let revision = self.0.get(number.checked_sub(1)?)?;
        match revision.back_to {
            // Always before it, so this ends.
            Some(to) if to < number => self.meant(to),
            Some(_) => None,
            None => Some(revision),
        }
    }

    /// What a revision knows.
    #[must_use]
    pub fn knowledge(&self, number: usize) -> Knowledge {
        self.meant(number)
            .and_then(|revision| revision.knowledge().ok())
            .unwrap_or_else(|| Knowledge::starting(Vec::new()))
    }
}

/// Reads the file of a shop; no file is a shop that has learned nothing.
///
/// # Errors
/// [`Failure::Input`] with the mistakes in the file, [`Failure::File`] when it cannot be read.
pub fn load(files: &dyn Files, path: &Path) -> Result<History, Failure> {
    let Some(source) = text_if_there(files, path)? else {
        return Ok(History::default());
    };
    read(&source).map_err(|mistakes| Failure::Input(mistakes.to_string()))
}

/// Reads the text of a file of a shop.
///
/// # Errors
/// What is not TOML of this kind, and every revision that cannot be.
pub fn read(source: &Source) -> Result<History, Mistakes> {
    const HINT: &str =
        "revisions are written by `coldsquare learn`; put back what was changed by hand";
    let file: File = toml::from_str(source.text()).map_err(|error| {
        source
            .mistake(error.span().unwrap_or(0..0), error.message())
            .hint(HINT)
    })?;
    let wrong = file.revision.iter().enumerate().filter_map(|(k, entry)| {
        let what = entry.get_ref().fault(k + 1)?;
        let what = format!("revision {}: {what}", k + 1);
        Some(source.mistake(entry.span(), what).hint(HINT))
    });
    Mistakes::none_of(wrong.collect())?;
    let revisions = file.revision.into_iter();
    Ok(History(revisions.map(Spanned::into_inner).collect()))
}

/// The text of a shop's file with a revision at its end.
///
/// # Errors
/// [`Failure::Input`] when the text has mistakes.
pub fn added(before: &Source, revision: &Revision) -> Result<String, Failure> {
    let refuse = |mistakes: Mistakes| Failure::Input(mistakes.to_string());
    read(before).map_err(refuse)?;
    let entry = Entry {
        revision: [revision],
    };
    let text = notebook::with_added(before.text(), HEADING, [entry])?;
    // What could not be read again must not be kept.
    read(&Source::new(before.name(), text.as_str())).map_err(refuse)?;
    Ok(text)
}

/// Reads the file of the shop that a job names, if it names one, and keeps with the job what it means for it.
///
/// # Errors
/// [`Failure`] when the file has mistakes or not the revision that the job wants.
pub fn attach(files: &dyn Files, job: &mut Job, job_path: &Path) -> Result<(), Failure> {
    let Some(named) = job.shop_file.clone() else {
        return Ok(());
    };
    let path = beside(job_path, &named.path);
    let history = load(files, &path)?;
    let revision = named.revision.unwrap_or_else(|| history.latest());
    if revision > history.latest() {
        return Err(Failure::Input(format!(
            "{}: shop_revision = {revision}, but {} has {} so far",
            job_path.display(),
            path.display(),
            history.latest()
        )));
    }
    let meant = history.meant(revision);
    let knowledge = history.knowledge(revision);
    let digests = meant.iter().flat_map(|one| &one.builds);
    let digests = digests.flat_map(|build| &build.digest);
    job.shop = Some(ShopFactors {
        file: named.path,
        is_there: files.exists(&path),
        revision: meant.map_or(0, |_| revision),
        on: meant.map_or_else(String::new, |_| history.0[revision - 1].on.clone()),
        used: meant.map_or(0, |one| one.used),
        rests_on: digests.map(|digest| digest.sha256.clone()).collect(),
        factors: knowledge.for_job(job),
        knowledge,
    });
    Ok(())
}

/// A path as seen from another file.
#[must_use]
pub fn beside(file: &Path, path: &str) -> std::path::PathBuf {
    file.parent().unwrap_or_else(|| Path::new("")).join(path)
}
