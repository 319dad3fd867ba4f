//! Inspections of the welds, in an append-only file beside the job.
//!
//! The latest entry of a weld counts; the earlier ones stay as its history. Only people find defects: a log can at most
//! say where to look. A further kind of defect is a [`Finding`].
//!
//! ```
//! use coldsquare_engine::{file_error::Source, inspection};
//!
//! let file = "[[inspection]]\nweld = 3\non = \"2026-11-25\"\nresult = \"rejected\"\nfound = [\"undercut\"]";
//! let inspections = inspection::read(&Source::new("gate-inspection.toml", file), 8)?;
//! assert_eq!(inspections[0].to_string(), "rejected: undercut (2026-11-25)");
//! # Ok::<(), coldsquare_engine::file_error::FileErrors>(())
//! ```

use crate::append_only;
use crate::failure::Failure;
use crate::file_error::{FileError, FileErrors, Source};
use crate::files::{Files, text_if_there};
use serde::{Deserialize, Serialize};
use serde_spanned::Spanned;
use std::path::{Path, PathBuf};

/// The result of an inspection.
#[non_exhaustive]
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "clap", derive(clap::ValueEnum))]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// Acceptable as it is.
    Accepted,
    /// Repaired, and acceptable now.
    Repaired,
    /// Not acceptable.
    Rejected,
}

impl Outcome {
    /// Its name, in files and as printed.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Accepted => "accepted",
            Self::Repaired => "repaired",
            Self::Rejected => "rejected",
        }
    }
}

/// A defect that can be seen on a weld: items of ISO 5817, with their numbers in ISO 6520-1 (from memory).
#[non_exhaustive]
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
    /// Its name, as printed.
    #[must_use]
    pub const fn name(self) -> &'static str {
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

/// One inspection of one weld.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Inspection {
    /// Number of the weld.
    pub weld: u16,
    /// Date, as `2026-11-25` or with a time after it.
    pub on: String,
    /// Inspector, as they wrote it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// Result.
    pub result: Outcome,
    /// Defects found.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub found: Vec<Finding>,
    /// Quality level of ISO 5817: B, C or D.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub level: String,
    /// Note.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl std::fmt::Display for Inspection {
    /// "repaired: undercut, spatter (2026-11-25, AB)"; not sanitised.
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(self.result.name())?;
        let found: Vec<&str> = self.found.iter().map(|finding| finding.name()).collect();
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
const HEADING: &str = "# Inspections of the welds. `coldsquare inspect` adds entries; the latest one of a weld counts.\n";

/// The inspection file of a job: `gate-inspection.toml` beside `gate.toml`.
#[must_use]
pub fn path_of(job: &Path) -> PathBuf {
    let stem = job.file_stem().unwrap_or_default().to_string_lossy();
    job.with_file_name(format!("{stem}-inspection.toml"))
}

/// The inspections of a job with this many welds, oldest first; none when there is no file.
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
/// The first place that is not an inspection file, or every entry of a weld that the job does not have.
pub fn read(source: &Source, welds: usize) -> Result<Vec<Inspection>, FileErrors> {
    let file: File = toml::from_str(source.text()).map_err(|error| {
        source
            .error(error.span().unwrap_or(0..0), error.message())
            .hint("`coldsquare inspect` writes the entries; undo the change made by hand")
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

/// The text of an inspection file with entries added at its end.
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
