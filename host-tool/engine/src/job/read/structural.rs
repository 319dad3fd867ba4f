//! `structural`: what of a job lives or a code depend on.

use super::model::Structural;
use super::places::Places;
use super::reader::{Reader, Table};
use serde_spanned::Spanned;
use toml::de::DeValue;

/// As it is written, before members have indices.
pub(super) enum StructuralAsWritten {
    /// All of the job, or nothing of it.
    Whole(bool),
    /// Names of members.
    Members(Vec<Spanned<String>>),
}

/// Reads `structural = true`, or a list of members.
pub(super) fn read(top: &mut Table<'_>) -> StructuralAsWritten {
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
                    reader.wrong(&value.span(), "this is no name of a member", HINT);
                    None
                }
            };
            StructuralAsWritten::Members(names.iter().filter_map(name).collect())
        }
        _ => {
            reader.wrong(
                &value.span(),
                "'structural' is true, false or a list of members",
                HINT,
            );
            StructuralAsWritten::Whole(true)
        }
    }
}

impl StructuralAsWritten {
    /// The members that are meant; a name that means none is an error.
    pub(super) fn found(self, places: &Places, reader: &Reader<'_>) -> Structural {
        match self {
            Self::Whole(true) => Structural::Everything,
            Self::Whole(false) => Structural::Nothing,
            Self::Members(names) => {
                let found = names.iter().filter_map(|name| places.member(name, reader));
                let mut members: Vec<usize> = found.collect();
                members.sort_unstable();
                members.dedup();
                if members.is_empty() {
                    Structural::Nothing
                } else {
                    Structural::Members(members)
                }
            }
        }
    }
}
