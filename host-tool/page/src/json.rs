//! Answers as JSON, and why there is none.

use serde::Serialize;
use serde_json::Value;
use serde_json::value::{RawValue, to_raw_value};

/// Why there is no answer: a sentence for the user.
pub(crate) type Refused = String;

/// A value as JSON; plain structs of numbers and text cannot fail.
pub(crate) fn as_json<T: Serialize>(value: &T) -> Result<Value, Refused> {
    serde_json::to_value(value).map_err(|error| error.to_string())
}

/// A value written as JSON; plain structs of numbers and text cannot fail.
pub(crate) fn written<T: Serialize>(value: &T) -> Result<Box<RawValue>, Refused> {
    to_raw_value(value).map_err(|error| error.to_string())
}

/// JSON that the engine wrote.
pub(crate) fn parsed(text: &str) -> Result<Value, Refused> {
    serde_json::from_str(text).map_err(|error| error.to_string())
}
