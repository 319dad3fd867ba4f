//! Append-only files: an entry is added at the end, and everything before it stays as it is.
//!
//! Inspections, measurements, shop factors and recalibrations are kept in such files. An entry that was wrong is
//! answered by a later one.

use crate::failure::Failure;
use serde::Serialize;

/// The text of the file with entries added at its end; an empty file begins with `heading`.
///
/// # Errors
/// [`Failure::Input`] when an entry cannot be written as TOML, or nothing can follow what is there: `inspection = []`
/// written by hand is a list that is closed.
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
    // Check that it can be read back before anybody keeps it.
    toml::from_str::<toml::Table>(&text).map_err(|error| {
        Failure::Input(format!(
            "nothing can be added at the end of this file; undo the change made by hand: {}",
            error.message()
        ))
    })?;
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct Entry {
        inspection: [Weld; 1],
    }

    #[derive(Serialize)]
    struct Weld {
        weld: u16,
    }

    fn appended(before: &str) -> Result<String, Failure> {
        let entry = Entry {
            inspection: [Weld { weld: 3 }],
        };
        append(before, "# Heading\n", [entry])
    }

    #[test]
    fn a_notebook_that_can_be_read_can_be_read_after_an_entry_or_is_left_alone() {
        let begun = appended("").expect("nothing is in its way");
        assert_eq!(begun, "# Heading\n\n[[inspection]]\nweld = 3\n");
        assert!(appended(&begun).is_ok() && appended("# no end of line").is_ok());
        // As somebody may write it by hand.
        for closed in ["inspection = []", "inspection = [{ weld = 1 }]\n"] {
            let why = appended(closed)
                .expect_err("the list is closed")
                .to_string();
            assert!(why.contains("undo the change made by hand"), "{why}");
        }
    }
}
