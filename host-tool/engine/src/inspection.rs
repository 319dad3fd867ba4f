//! What an inspector saw on the welds, kept beside the job in a file that only grows.
//!
//! Entries are added, never changed or taken away: the latest entry of a weld counts, and the earlier ones stay as its
//! history. Only people find defects; a log can at most say where to look.

use crate::failure::Failure;
use crate::files::{Files, text_if_there};
use crate::file_error::{FileError, FileErrors, Source};
use crate::append_only;
use serde::{Deserialize, Serialize};
use serde_spanned::Spanned;
use std::path::{Path, PathBuf};

/// What became of a weld at an inspection.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "clap", derive(clap::ValueEnum))]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// Good as it is.
    Accepted,
    /// Mended, and good now.
    Repaired,
    /// Not good.
    Rejected,
}

impl Outcome {
    /// The word for it, as printed and written.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Accepted => "accepted",
            Self::Repaired => "repaired",
            Self::Rejected => "rejected",
        }
    }
}

/// What can be seen on a weld: items of ISO 5817, with their numbers in ISO 6520-1 (from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "clap", derive(clap::ValueEnum))]
#[serde(rename_all = "kebab-case")]
pub enum Finding {
    /// Crack (100).
    Crack,
    /// Crater crack (104).
    CraterCrack,
    /// Surface pore or porosity (2017).
    Porosity,
    /// End crater pipe (2025).
    Crater,
    /// Lack of fusion at the surface (401).
    LackOfFusion,
    /// Undercut (501).
    Undercut,
    /// Too much convexity or weld metal (502, 503).
    ExcessWeldMetal,
    /// Overlap (506).
    Overlap,
    /// Burn-through (510).
    BurnThrough,
    /// Throat too small (5213).
    ThroatTooSmall,
    /// Legs too unequal (512).
    UnequalLegs,
    /// Stray arc (601).
    StrayArc,
    /// Spatter (602).
    Spatter,
}

impl Finding {
    /// The words for it, as printed.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Crack => "crack",
            Self::CraterCrack => "crater crack",
            Self::Porosity => "porosity",
            Self::Crater => "end crater",
            Self::LackOfFusion => "lack of fusion",
            Self::Undercut => "undercut",
            Self::ExcessWeldMetal => "excess weld metal",
            Self::Overlap => "overlap",
            Self::BurnThrough => "burn-through",
            Self::ThroatTooSmall => "throat too small",
            Self::UnequalLegs => "unequal legs",
            Self::StrayArc => "stray arc",
            Self::Spatter => "spatter",
        }
    }
}

/// One look at one weld.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Inspection {
    /// Number of the weld.
    pub weld: u16,
    /// When, as `2026-11-25` or with a time after it.
    pub on: String,
    /// Who, as they wrote it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// What became of it.
    pub result: Outcome,
    /// What was seen.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub found: Vec<Finding>,
    /// Quality level of ISO 5817 judged by: B, C or D.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub level: String,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl std::fmt::Display for Inspection {
    /// "repaired: undercut, spatter (2026-11-25, AB)"; text of people is not made harmless here.
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(self.result.words())?;
        let found: Vec<&str> = self.found.iter().map(|finding| finding.words()).collect();
        if !found.is_empty() {
            write!(out, ": {}", found.join(", "))?;
        }
        let level = match self.level.as_str() {
            "" => String::new(),
            level => format!("level {level}"),
        };
        let who: Vec<&str> = [self.on.as_str(), &self.by, &level]
            .into_iter()
            .filter(|part| !part.is_empty())
            .collect();
        write!(out, " ({})", who.join(", "))?;
        if self.note.is_empty() {
            Ok(())
        } else {
            write!(out, " - {}", self.note)
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    inspection: Vec<Spanned<Inspection>>,
}

#[derive(Serialize)]
struct Entry<'a> {
    inspection: [&'a Inspection; 1],
}

/// First lines of a new file.
const HEADING: &str = "# What was seen on the welds. Entries are added by `coldsquare inspect`; the latest of a weld counts.\n";

/// Where the inspections of a job stand: `gate-inspection.toml` beside `gate.toml`.
#[must_use]
pub fn path_of(job: &Path) -> PathBuf {
    let stem = job.file_stem().unwrap_or_default().to_string_lossy();
    job.with_file_name(format!("{stem}-inspection.toml"))
}

/// The inspections of a job with so many welds, oldest first; none when there is no file.
///
/// # Errors
/// [`Failure::Input`] with the errors in the file, [`Failure::File`] when it cannot be read.
pub fn load(files: &dyn Files, job: &Path, welds: usize) -> Result<Vec<Inspection>, Failure> {
    let Some(source) = text_if_there(files, &path_of(job))? else {
        return Ok(Vec::new());
    };
    read(&source, welds).map_err(|errors| Failure::Input(errors.to_string()))
}

/// Reads the text of an inspection file.
///
/// # Errors
/// What is not TOML of this kind, or every entry of a weld that the job does not have.
pub fn read(source: &Source, welds: usize) -> Result<Vec<Inspection>, FileErrors> {
    let file: File = toml::from_str(source.text()).map_err(|error| {
        source
            .error(error.span().unwrap_or(0..0), error.message())
            .hint("entries are written by `coldsquare inspect`; put back what was changed by hand")
    })?;
    let wrong: Vec<FileError> = file
        .inspection
        .iter()
        .filter(|entry| !is_weld(entry.get_ref().weld, welds))
        .map(|entry| {
            source
                .error(
                    entry.span(),
                    format!("there is no weld {}", entry.get_ref().weld),
                )
                .hint(format!(
                    "the job has welds 1 to {welds}; was it changed after the inspection?"
                ))
        })
        .collect();
    FileErrors::none_of(wrong)?;
    Ok(file
        .inspection
        .into_iter()
        .map(Spanned::into_inner)
        .collect())
}

fn is_weld(number: u16, welds: usize) -> bool {
    (1..=welds).contains(&usize::from(number))
}

/// The text of an inspection file with entries at its end; all that stands in it stays as it is.
///
/// # Errors
/// [`Failure::Input`] when the text has errors.
pub fn added(before: &Source, welds: usize, entries: &[Inspection]) -> Result<String, Failure> {
    read(before, welds).map_err(|errors| Failure::Input(errors.to_string()))?;
    let entries = entries.iter().map(|inspection| Entry {
        inspection: [inspection],
    });
    append_only::append(before.text(), HEADING, entries)
}
