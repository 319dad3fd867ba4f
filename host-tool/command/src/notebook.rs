//! Files that only grow: read, added to, and put in the place of what was read.

use crate::disk::Disk;
use crate::save::{Existing, save};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::files::text_if_there;
use coldsquare_engine::located::Source;
use std::path::Path;

/// Puts the longer notebook that `added` makes of the present one in its place; one that is not there is an empty text,
/// and a new one never replaces what came to be there meanwhile.
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
