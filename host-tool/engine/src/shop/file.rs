//! The shop factors file: revisions of what was learned, each added at its end. Returning to an earlier revision adds
//! one too.
//!
//! ```
//! use coldsquare_engine::file_error::Source;
//! use coldsquare_engine::shop::file::{Revision, added, read};
//!
//! let back = Revision::back("2026-11-25".into(), 0);
//! let text = added(&Source::new("our-shop.toml", ""), &back).expect("an empty file is fine");
//! let history = read(&Source::new("our-shop.toml", text.as_str())).expect("it was just written");
//! assert_eq!(history.latest(), 1);
//! ```

use super::class::Class;
use super::factors::{Knowledge, SHRINKAGE_KINDS};
use super::hours::Hours;
use super::matrix::cholesky;
use crate::append_only;
use crate::failure::Failure;
use crate::file_error::{FileErrors, Source};
use crate::files::{Files, text_if_there};
use serde::{Deserialize, Serialize};
use serde_spanned::Spanned;
use std::path::Path;

/// First lines of a new file.
pub(super) const HEADING: &str = "\
# What this shop has learned of its own shrinkage. `coldsquare learn --keep` adds a revision and never changes one;
# `coldsquare learn --back N` adds one that returns to revision N. A job names this file: shop_factors = \"our-shop.toml\"
";

/// In place of a class: all welds of the shop.
const ALL: &str = "all welds";

/// A file that was learned from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Digest {
    /// Its path, relative to the shop factors file.
    pub file: String,
    /// Its SHA-256.
    pub sha256: String,
}

/// A job whose builds were learned from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recorded {
    /// Path of the job, relative to the shop factors file.
    pub job: String,
    /// The planned order, as it was given; empty for the file order.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub order: String,
    /// Builds that did not fit and were left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<String>,
    /// Job, measurements and logs as they were.
    #[serde(default)]
    pub digest: Vec<Digest>,
}

/// The factor of one kind of shrinkage for one class.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    class: String,
    #[serde(alias = "way")]
    shrinkage: String,
    /// Natural logarithm of the multiplier.
    log: f64,
    /// Row of the lower triangle of the covariance of these logarithms.
    covariance: Vec<f64>,
}

/// One revision.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Revision {
    /// When it was added, as `2026-11-25`.
    pub on: String,
    /// The revision that it returns to; 0 for the published factors.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub back_to: Option<usize>,
    /// Number of builds it was learned from.
    #[serde(default)]
    pub used: usize,
    /// Number of their readings.
    #[serde(default)]
    pub readings: usize,
    /// The jobs of those builds.
    #[serde(default, rename = "build", skip_serializing_if = "Vec::is_empty")]
    pub builds: Vec<Recorded>,
    #[serde(default, rename = "factor", skip_serializing_if = "Vec::is_empty")]
    rows: Vec<Row>,
}

impl Revision {
    /// A revision with what was learned from `[builds, readings]`.
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
                class => known.classes[class - 1].name().to_owned(),
            },
            shrinkage: SHRINKAGE_KINDS[k % 5].to_owned(),
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

    /// A revision that returns to an earlier one; 0 for the published factors.
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
    fn knowledge(&self) -> Result<Knowledge, String> {
        if let Some((old, new)) = self.old_name() {
            return Err(format!("shrinkage \"{old}\" is now called \"{new}\""));
        }
        let names: Vec<Class> = self
            .rows
            .iter()
            .step_by(5)
            .skip(1)
            .map(|row| Class::named(&row.class))
            .collect();
        let mut known = Knowledge::starting(names.clone());
        if known.classes != names || known.mean.len() != self.rows.len() {
            return Err("it needs five factors for all welds and five for each class".into());
        }
        for (k, row) in self.rows.iter().enumerate() {
            let class = match k / 5 {
                0 => ALL,
                class => names[class - 1].name(),
            };
            if row.class != class
                || row.shrinkage != SHRINKAGE_KINDS[k % 5]
                || row.covariance.len() != k + 1
            {
                return Err("the factors are not in the right order".into());
            }
            let numbers = row.covariance.iter().all(|entry| entry.is_finite());
            if !(row.log.abs() <= 5.0 && numbers) {
                return Err("a factor is not a number in its range".into());
            }
            known.mean[k] = row.log;
            for (j, &entry) in row.covariance.iter().enumerate() {
                known.covariance[k][j] = entry;
                known.covariance[j][k] = entry;
            }
        }
        if cholesky(&known.covariance).is_none() {
            return Err("the covariances contradict each other".into());
        }
        Ok(known)
    }

    /// A kind of shrinkage by a name of earlier versions, and its name now.
    fn old_name(&self) -> Option<(&str, &'static str)> {
        const OLD: [&str; 4] = ["along", "across a strip", "closing", "turning"];
        self.rows.iter().find_map(|row| {
            let kind = OLD.iter().position(|&old| old == row.shrinkage)?;
            Some((row.shrinkage.as_str(), SHRINKAGE_KINDS[kind]))
        })
    }

    fn fault(&self, number: usize) -> Option<String> {
        if self.on.parse::<jiff::civil::Date>().is_err() {
            return Some("`on` is not a date; write it as 2026-11-25".into());
        }
        match self.back_to {
            Some(to) if to >= number => {
                Some("it returns to a revision that is not before it".into())
            }
            Some(_) if !self.rows.is_empty() => {
                Some("it returns to a revision and holds factors too".into())
            }
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
    #[serde(default)]
    hours: Vec<Spanned<Hours>>,
}

#[derive(Serialize)]
struct Entry<'a> {
    revision: [&'a Revision; 1],
}

/// The revisions of a shop, oldest first; the first is revision 1.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct History(pub Vec<Revision>);

impl History {
    /// Number of the latest revision; 0 without any.
    #[must_use]
    pub fn latest(&self) -> usize {
        self.0.len()
    }

    /// The revision whose factors apply at a revision: itself, or the one that it returns to; `None` for the published
    /// factors.
    #[must_use]
    pub fn meant(&self, number: usize) -> Option<&Revision> {
        let revision = self.0.get(number.checked_sub(1)?)?;
        match revision.back_to {
            // It is always an earlier one, so this ends.
            Some(to) if to < number => self.meant(to),
            Some(_) => None,
            None => Some(revision),
        }
    }

    /// What is known at a revision.
    #[must_use]
    pub fn knowledge(&self, number: usize) -> Knowledge {
        self.meant(number)
            .and_then(|revision| revision.knowledge().ok())
            .unwrap_or_else(|| Knowledge::starting(Vec::new()))
    }
}

/// Reads a shop factors file. No file: nothing learned yet.
///
/// # Errors
/// [`Failure::Input`] with the errors in the file, [`Failure::File`] when it cannot be read.
pub fn load(files: &dyn Files, path: &Path) -> Result<History, Failure> {
    let Some(source) = text_if_there(files, path)? else {
        return Ok(History::default());
    };
    read(&source).map_err(|errors| Failure::Input(errors.to_string()))
}

/// Reads the text of a shop factors file.
///
/// # Errors
/// Text that is not TOML of this kind, and every revision with something wrong in it.
pub fn read(source: &Source) -> Result<History, FileErrors> {
    const HINT_HOURS: &str =
        "`coldsquare traveller --spent` writes the hours; undo any change made by hand";
    const HINT: &str = "`coldsquare learn` writes the revisions; undo any change made by hand";
    let file: File = toml::from_str(source.text()).map_err(|error| {
        source
            .error(error.span().unwrap_or(0..0), error.message())
            .hint(HINT)
    })?;
    let wrong = file.revision.iter().enumerate().filter_map(|(k, entry)| {
        let what = entry.get_ref().fault(k + 1)?;
        let what = format!("revision {}: {what}", k + 1);
        Some(source.error(entry.span(), what).hint(HINT))
    });
    let wrong_hours = file.hours.iter().filter_map(|entry| {
        let what = entry.get_ref().fault()?;
        Some(
            source
                .error(entry.span(), format!("hours: {what}"))
                .hint(HINT_HOURS),
        )
    });
    FileErrors::none_of(wrong.chain(wrong_hours).collect())?;
    let revisions = file.revision.into_iter();
    Ok(History(revisions.map(Spanned::into_inner).collect()))
}

/// The text of a shop factors file with a revision added at its end.
///
/// # Errors
/// [`Failure::Input`] when the text has errors.
pub fn added(before: &Source, revision: &Revision) -> Result<String, Failure> {
    let refuse = |errors: FileErrors| Failure::Input(errors.to_string());
    read(before).map_err(refuse)?;
    let entry = Entry {
        revision: [revision],
    };
    let text = append_only::append(before.text(), HEADING, [entry])?;
    // Check that it can be read back before anybody keeps it.
    read(&Source::new(before.name(), text.as_str())).map_err(refuse)?;
    Ok(text)
}

/// A path that is relative to another file.
#[must_use]
pub fn beside(file: &Path, path: &str) -> std::path::PathBuf {
    file.parent().unwrap_or_else(|| Path::new("")).join(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file of an earlier version is read as far as its words are the same, and is told the new ones.
    #[test]
    fn an_old_kind_of_shrinkage_is_now_called_otherwise() {
        let known = Knowledge::starting(Vec::new());
        let revision = Revision::new("2026-05-01".into(), [1, 9], Vec::new(), &known);
        let text = added(&Source::new("our-shop.toml", ""), &revision).expect("written");
        let with_old_key = text.replace("shrinkage = ", "way = ");
        let source = Source::new("our-shop.toml", with_old_key.as_str());
        assert_eq!(read(&source).expect("the same words").latest(), 1);
        let with_old_word = with_old_key.replace("\"longitudinal\"", "\"along\"");
        let error = read(&Source::new("our-shop.toml", with_old_word.as_str())).expect_err("old");
        let told = "shrinkage \"along\" is now called \"longitudinal\"";
        assert!(error.to_string().contains(told), "{error}");
    }
}
