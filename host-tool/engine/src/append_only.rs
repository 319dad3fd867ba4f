//! Texts that only grow, as a notebook does: what is added goes to the end, and all that stands there stays as it is.

use crate::failure::Failure;
use serde::Serialize;

/// The text of a notebook with entries at its end; one that is empty so far begins with `heading`.
///
/// # Errors
/// [`Failure::Input`] when an entry is not to be written as TOML.
pub(crate) fn with_added<E: Serialize>(
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
