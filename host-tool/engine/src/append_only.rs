//! Append-only files: an entry is added at the end, and everything before it stays as it is.
//!
//! Inspections, measurements, shop factors and recalibrations are kept in such files. An entry that was wrong is
//! answered by a later one.

use crate::failure::Failure;
use serde::Serialize;

/// The text of the file with entries added at its end; an empty file begins with `heading`.
///
/// # Errors
/// [`Failure::Input`] when an entry cannot be written as TOML.
pub(crate) fn append<E: Serialize>(
    before: &str,
    heading: &str,
    entries: impl IntoIterator<Item = E>,
) -> Result<String, Failure> {
    let mut text = if before.is_empty() { heading } else { before }.to_owned();
    for entry in entries {
        let entry = toml::to_string(&entry)
            .map_err(|error| Failure::Input(format!("the entry cannot be written: {error}")))?;
        if !text.ends_with('\n') {
            text.push('\n');
        }
        text.push('\n');
        text += &entry;
    }
    Ok(text)
}
