//! Notes of hours at the end of the shop factors file.
//!
//! ```
//! use coldsquare_engine::file_error::Source;
//! use coldsquare_engine::shop::hours::{Hours, Pace};
//! use coldsquare_engine::shop::hours_file::{added, read};
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

use super::file::{self, HEADING};
use super::hours::Hours;
use crate::append_only;
use crate::failure::Failure;
use crate::file_error::{FileErrors, Source};
use crate::files::{Files, text_if_there};
use serde::{Deserialize, Serialize};
use serde_spanned::Spanned;
use std::path::Path;

#[derive(Deserialize)]
struct File {
    #[serde(default)]
    hours: Vec<Spanned<Hours>>,
}

#[derive(Serialize)]
struct Entry<'a> {
    hours: [&'a Hours; 1],
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
    file::read(source)?;
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
    file::read(before).map_err(refuse)?;
    let text = append_only::append(before.text(), HEADING, [Entry { hours: [note] }])?;
    read(&Source::new(before.name(), text.as_str())).map_err(refuse)?;
    Ok(text)
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
