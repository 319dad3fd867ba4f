//! Append-only files: read, extended and replaced.

use crate::disk::Disk;
use crate::save::{Existing, save};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::file_error::Source;
use coldsquare_engine::files::text_if_there;
use std::path::Path;

/// Replaces a notebook with the longer text that `added` makes of it. A missing file is an empty text; a new file never
/// replaces one that appeared meanwhile.
///
/// # Errors
/// [`Failure`] when the file cannot be read or written, and whatever `added` says.
pub fn add(
    path: &Path,
    added: impl FnOnce(&Source) -> Result<String, Failure>,
) -> Result<(), Failure> {
    let (before, existing) = match text_if_there(&Disk, path)? {
        Some(text) => (text, Existing::Replace),
        None => (Source::new(path.display().to_string(), ""), Existing::Keep),
    };
    save(path, added(&before)?.as_bytes(), existing)
}
