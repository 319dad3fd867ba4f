//! Keeps in a job file how its recordings are to be read.

use super::error::EditError;
use super::tables::table_at;
use super::value::put;
use crate::recording::RecordingOptions;
use toml_edit::{DocumentMut, Item, Table};

/// The text with these options as its `[recording]`.
///
/// A key that is there already keeps its place and its comment; one that `options` leaves out goes.
///
/// # Errors
/// [`EditError`] when the text is not TOML, or `recording` is something else in it.
pub fn with_recording(text: &str, options: &RecordingOptions) -> Result<String, EditError> {
    const TABLE: &str = "recording";
    let mut file: DocumentMut = text.parse().map_err(|_| EditError::NotToml)?;
    let settings = options.settings();
    if !file.contains_key(TABLE) {
        let mut table = Table::new();
        table.decor_mut().set_prefix("\n");
        file.insert(TABLE, Item::Table(table));
    }
    let table = table_at(&mut file, &[TABLE.to_owned()])?;
    let old: Vec<String> = table.iter().map(|(key, _)| key.to_owned()).collect();
    for key in old {
        if !settings.iter().any(|(kept, _)| *kept == key) {
            table.remove(&key);
        }
    }
    for (key, value) in settings {
        put(table, key, value);
    }
    Ok(file.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::GARDEN_GATE;
    use crate::job::from_text;
    use crate::recording::ColumnRef;

    fn options() -> RecordingOptions {
        RecordingOptions {
            volts: Some(ColumnRef::Name("U \"ist\"".into())),
            amps: Some(ColumnRef::Number(5)),
            amps_scale: Some(0.1),
            rate_hz: Some(1000.0),
            skip_bad_rows: Some(true),
            ..RecordingOptions::default()
        }
    }

    #[test]
    fn what_is_kept_is_read_back_and_the_rest_of_the_file_is_untouched() {
        let kept = with_recording(GARDEN_GATE, &options()).expect("kept");
        assert!(kept.starts_with(GARDEN_GATE), "{kept}");
        let job = from_text("gate.toml", &kept).expect("sound");
        assert_eq!(job.recording, options());
        assert_eq!(with_recording(&kept, &options()).as_ref(), Ok(&kept));
    }

    #[test]
    fn a_comment_stays_beside_its_key_and_what_no_longer_holds_goes() {
        let text = format!(
            "{GARDEN_GATE}\n[recording] # the old scope\nvolts = 2 # channel B\nrate = 50\n\n[prices]\ncurrency = \"€\"\n"
        );
        let kept = with_recording(
            &text,
            &RecordingOptions {
                volts: Some(ColumnRef::Number(3)),
                ..RecordingOptions::default()
            },
        );
        let expected = text
            .replace("volts = 2", "volts = 3")
            .replace("rate = 50\n", "");
        assert_eq!(kept, Ok(expected));
    }

    #[test]
    fn a_wrong_value_is_an_error_at_its_place() {
        for (line, what) in [
            ("volts = 0", "'volts' must name a column"),
            ("amps = \"\"", "'amps' must name a column"),
            ("rate = 0", "'rate' cannot be 0"),
            ("volts_scale = 0", "'volts_scale' cannot be 0"),
            ("amps_accuracy = 101", "'amps_accuracy' cannot be 101"),
            (
                "skip_bad_rows = \"yes\"",
                "'skip_bad_rows' must be true or false",
            ),
            (
                "time_unit = \"days\"",
                "unknown value 'days' for 'time_unit'",
            ),
            ("process = \"glue\"", "this is no welding process"),
            ("colour = 3", "unknown key 'colour' in [recording]"),
        ] {
            let text = format!("{GARDEN_GATE}\n[recording]\n{line}\n");
            let errors = from_text("gate.toml", &text).expect_err(line);
            assert!(errors.to_string().contains(what), "{line}: {errors}");
        }
    }
}
