//! Files that only grow, as a notebook does: what is added goes to the end, and all that stands there stays as it is.

use crate::failure::Failure;
use crate::save::{Existing, save};
use serde::Serialize;
use std::path::Path;

/// The text of a notebook with entries at its end, ready to be saved.
#[derive(Debug)]
pub struct Added {
    /// The whole text.
    pub text: String,
    existing: Existing,
}

/// Adds entries to the notebook at `path`; one that is not there begins with `heading`.
///
/// # Errors
/// [`Failure`] when the file cannot be read, or an entry is not to be written as TOML.
pub fn with_added<E: Serialize>(
    path: &Path,
    heading: &str,
    entries: impl IntoIterator<Item = E>,
) -> Result<Added, Failure> {
    let (mut text, existing) = if path.exists() {
        (
            crate::text_file::open(path)?.text().to_owned(),
            Existing::Replace,
        )
    } else {
        (heading.to_owned(), Existing::Keep)
    };
    for entry in entries {
        let entry = toml::to_string(&entry)
            .map_err(|error| Failure::Input(format!("the entry cannot be written: {error}")))?;
        if !text.ends_with('\n') {
            text.push('\n');
        }
        text.push('\n');
        text += &entry;
    }
    Ok(Added { text, existing })
}

impl Added {
    /// Puts the longer notebook in place of the shorter one; a new one never replaces what came to be there meanwhile.
    ///
    /// # Errors
    /// See [`save`].
    pub fn save(&self, path: &Path) -> Result<(), Failure> {
        save(path, self.text.as_bytes(), self.existing)
    }
}
