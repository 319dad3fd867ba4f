//! Reads `structural`: the members that people or a code depend on.

use crate::reading::Table;
use serde_spanned::Spanned;
use toml::de::DeValue;

/// As it is written, before members have indices.
pub(in crate::job) enum StructuralAsWritten {
    /// All members, or none.
    Whole(bool),
    /// Names of members.
    Members(Vec<Spanned<String>>),
}

/// Reads `structural = true`, or a list of members.
pub(in crate::job) fn read(top: &mut Table<'_>) -> StructuralAsWritten {
    const HINT: &str = "write structural = true when people or a code depend on the frame, or structural = [\"top rail\"]";
    let reader = top.reader();
    let Some(value) = top.value("structural") else {
        return StructuralAsWritten::Whole(false);
    };
    match value.get_ref() {
        DeValue::Boolean(whole) => StructuralAsWritten::Whole(*whole),
        DeValue::Array(names) => {
            let name = |value: &Spanned<DeValue<'_>>| match value.get_ref() {
                DeValue::String(name) => Some(Spanned::new(value.span(), name.to_string())),
                _ => {
                    reader.error(&value.span(), "this is not the name of a member", HINT);
                    None
                }
            };
            StructuralAsWritten::Members(names.iter().filter_map(name).collect())
        }
        _ => {
            reader.error(
                &value.span(),
                "'structural' must be true, false or a list of members",
                HINT,
            );
            StructuralAsWritten::Whole(true)
        }
    }
}
