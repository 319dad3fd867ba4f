//! How long the steps of a job took, noted in the shop factors file, and what they say about the estimates.
//!
//! ```
//! use coldsquare_engine::file_error::Source;
//! use coldsquare_engine::shop::hours::{Hours, Pace, added, read};
//!
//! let note = Hours {
//!     on: "2026-11-28".into(),
//!     job: "gate.toml".into(),
//!     step: "fixture".into(),
//!     estimated_min: 30.0,
//!     spent_min: 45.0,
//!     note: String::new(),
//! };
//! let text = added(&Source::new("our-shop.toml", ""), &note).expect("an empty file is fine");
//! let notes = read(&Source::new("our-shop.toml", text.as_str())).expect("it was just written");
//! let pace = Pace::of(&notes, "fixture");
//! assert_eq!(pace.count, 1);
//! assert!(pace.factor > 1.0 && pace.factor < 1.5, "one note is not yet believed in full");
//! ```

use super::file::HEADING;
use crate::append_only;
use crate::failure::Failure;
use crate::file_error::{FileErrors, Source};
use crate::files::{Files, text_if_there};
use coldsquare_core::uncertainty::COVERAGE_FACTOR;
use serde::{Deserialize, Serialize};
use serde_spanned::Spanned;
use std::path::Path;

/// Standard uncertainty of an estimate that nobody has noted anything for, on a logarithmic scale: a factor of 1.6. Our own
/// estimate.
const OF_THE_TABLE: f64 = 0.5;
/// The same for how far a shop is from its own pace from job to job: a factor of 1.35. Our own estimate.
const OF_A_JOB: f64 = 0.3;

/// How long a step took.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hours {
    /// Date, as `2026-11-28`.
    pub on: String,
    /// File name of the job.
    pub job: String,
    /// The step ("fixture").
    pub step: String,
    /// What the table of times says, without what was learned, minutes.
    pub estimated_min: f64,
    /// What it took, minutes.
    pub spent_min: f64,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

#[derive(Deserialize)]
struct File {
    #[serde(default)]
    hours: Vec<Spanned<Hours>>,
}

#[derive(Serialize)]
struct Entry<'a> {
    hours: [&'a Hours; 1],
}

impl Hours {
    /// What is wrong with it.
    pub(super) fn fault(&self) -> Option<String> {
        if self.on.parse::<jiff::civil::Date>().is_err() {
            return Some("`on` is not a date; write it as 2026-11-28".into());
        }
        let positive = |minutes: f64| minutes.is_finite() && minutes > 0.0;
        let both = positive(self.estimated_min) && positive(self.spent_min);
        (!both).then(|| "minutes must be more than 0".into())
    }
}

/// The notes in a shop factors file, oldest first; none without a file.
///
/// # Errors
/// [`Failure::Input`] with the errors in the file, [`Failure::File`] when it cannot be read.
pub fn load(files: &dyn Files, path: &Path) -> Result<Vec<Hours>, Failure> {
    let Some(source) = text_if_there(files, path)? else {
        return Ok(Vec::new());
    };
    read(&source).map_err(|errors| Failure::Input(errors.to_string()))
}

/// Reads the notes of a shop factors file.
///
/// # Errors
/// Text that is not TOML of this kind, and every note with something wrong in it.
pub fn read(source: &Source) -> Result<Vec<Hours>, FileErrors> {
    super::file::read(source)?;
    let file: File = toml::from_str(source.text())
        .map_err(|error| source.error(error.span().unwrap_or(0..0), error.message()))?;
    Ok(file.hours.into_iter().map(Spanned::into_inner).collect())
}

/// The text of a shop factors file with a note added at its end.
///
/// # Errors
/// [`Failure::Input`] when the text has errors, or the note.
pub fn added(before: &Source, note: &Hours) -> Result<String, Failure> {
    let refuse = |errors: FileErrors| Failure::Input(errors.to_string());
    super::file::read(before).map_err(refuse)?;
    let text = append_only::append(before.text(), HEADING, [Entry { hours: [note] }])?;
    read(&Source::new(before.name(), text.as_str())).map_err(refuse)?;
    Ok(text)
}

/// How a shop's times compare with the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Time spent over time in the table.
    pub factor: f64,
    /// Number of notes it rests on.
    pub count: usize,
    /// About 95 of 100 times lie between the expected one divided and multiplied by this (k = 2 on a logarithmic scale).
    pub spread: f64,
}

impl Pace {
    /// The pace of one step: the mean of its notes on a logarithmic scale, drawn towards the table while there are few (a
    /// normal prior; A. Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, section 2.5).
    #[must_use]
    pub fn of(notes: &[Hours], step: &str) -> Self {
        let logs = notes
            .iter()
            .filter(|note| note.step == step)
            .map(|note| (note.spent_min / note.estimated_min).ln());
        let (count, sum) = logs.fold((0_usize, 0.0), |(count, sum), log| (count + 1, sum + log));
        let [table, job] = [OF_THE_TABLE, OF_A_JOB].map(|share| 1.0 / (share * share));
        let precision = table + count as f64 * job;
        // The next job scatters as the noted ones do.
        let variance = 1.0 / precision + OF_A_JOB * OF_A_JOB;
        Self {
            factor: (sum * job / precision).exp(),
            count,
            spread: (COVERAGE_FACTOR * variance.sqrt()).exp(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(spent_min: f64) -> Hours {
        Hours {
            on: "2026-11-28".into(),
            job: "gate.toml".into(),
            step: "cut".into(),
            estimated_min: 30.0,
            spent_min,
            note: String::new(),
        }
    }

    #[test]
    fn the_more_notes_the_nearer_to_what_was_spent_and_the_surer() {
        let notes: Vec<Hours> = (0..20).map(|_| note(60.0)).collect();
        let mut before = Pace::of(&[], "cut");
        assert_eq!((before.factor, before.count), (1.0, 0));
        for count in 1..=20 {
            let pace = Pace::of(&notes[..count], "cut");
            assert!(pace.factor > before.factor && pace.factor < 2.0);
            assert!(pace.spread < before.spread);
            before = pace;
        }
        assert!(before.factor > 1.9);
        assert_eq!(Pace::of(&notes, "hang").count, 0, "another step");
    }

    #[test]
    fn notes_and_revisions_share_a_file_and_neither_is_changed() {
        use crate::shop::file::{Revision, added as add_revision, read as read_revisions};
        let source = |text: &str| Source::new("our-shop.toml", text);
        let first = added(&source(""), &note(45.0)).expect("added");
        let second =
            add_revision(&source(&first), &Revision::back("2026-11-28".into(), 0)).expect("added");
        let third = added(&source(&second), &note(50.0)).expect("added");
        assert!(second.starts_with(&first) && third.starts_with(&second));
        assert_eq!(read(&source(&third)).expect("notes").len(), 2);
        assert_eq!(
            read_revisions(&source(&third)).expect("revisions").latest(),
            1
        );
    }

    #[test]
    fn impossible_notes_are_refused() {
        for (wrong, told) in [(-3.0, "minutes must be more than 0"), (f64::NAN, "minutes")] {
            let error =
                added(&Source::new("our-shop.toml", ""), &note(wrong)).expect_err("refused");
            assert!(error.to_string().contains(told), "{error}");
        }
    }
}
