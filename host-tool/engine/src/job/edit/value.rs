//! Values of a form as TOML writes them.

use super::error::EditError;
use super::field::FieldKind;
use toml_edit::{Array, Item, TableLike, Value};

/// What was typed into a field, as TOML.
///
/// # Errors
/// What to write instead.
pub(super) fn written(kind: FieldKind, typed: &str) -> Result<Value, EditError> {
    let typed = typed.trim();
    Ok(match kind {
        FieldKind::Length | FieldKind::Quantity => size(typed),
        FieldKind::Text | FieldKind::Section | FieldKind::Choice => typed.into(),
        FieldKind::Count => {
            let count = typed.parse::<i64>();
            count
                .map_err(|_| EditError::Value(format!("'{typed}' is not a whole number")))?
                .into()
        }
        FieldKind::Lengths | FieldKind::Range => list(typed, size),
        FieldKind::Sides | FieldKind::Words => list(typed, |word| word.into()),
        FieldKind::Place => place(typed),
    })
}

/// Writes a value and keeps the comment behind the old one.
pub(super) fn put(table: &mut dyn TableLike, key: &str, value: Value) {
    let mut value = value;
    if let Some(old) = table.get(key).and_then(Item::as_value) {
        *value.decor_mut() = old.decor().clone();
    }
    table.insert(key, Item::Value(value));
}

/// A size as a bare number where it is one, otherwise as a text with its unit.
fn size(typed: &str) -> Value {
    let begins_well = typed.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    match (typed.parse::<i64>(), typed.parse::<f64>()) {
        (Ok(whole), _) => whole.into(),
        (_, Ok(number)) if number.is_finite() && begins_well => number.into(),
        _ => typed.into(),
    }
}

/// Parts with commas between, with or without brackets.
fn list(typed: &str, one: impl Fn(&str) -> Value) -> Value {
    let inner = typed.trim_start_matches('[').trim_end_matches(']');
    let parts = inner.split(',').map(|part| part.trim().trim_matches('"'));
    let parts = parts.filter(|part| !part.is_empty() && *part != "none");
    parts.map(one).collect::<Array>().into()
}

/// A place: coordinates, or a text such as "top rail at 300".
fn place(typed: &str) -> Value {
    if typed.starts_with('[') {
        list(typed, size)
    } else {
        typed.into()
    }
}

/// A value as a field shows it.
pub(super) fn shown(item: &Item) -> Option<String> {
    let value = item.as_value()?;
    Some(match value {
        Value::String(text) => text.value().clone(),
        Value::Array(parts) => {
            let parts: Vec<String> = parts.iter().map(plain).collect();
            parts.join(", ")
        }
        other => plain(other),
    })
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.value().clone(),
        Value::InlineTable(_) => value.to_string().trim().to_owned(),
        other => {
            let mut other = other.clone();
            other.decor_mut().clear();
            other.to_string()
        }
    }
}
