//! A request answered: what is asked goes to its module, what went wrong becomes a sentence.

use crate::request::Request;
use crate::{build, frame, link, planning};
use coldsquare_engine::job;
use serde::Serialize;
use serde_json::{Value, json};

/// Why there is no answer: a sentence for the user.
pub(crate) type Refused = String;

/// Answers a request in JSON with JSON: `{"ok": …}` or `{"error": "a sentence"}`.
#[must_use]
pub fn to(request: &[u8]) -> String {
    let answer = match serde_json::from_slice(request) {
        Ok(request) => answer(request),
        Err(error) => Err(format!("the page asked for something unknown: {error}")),
    };
    let answer = match answer {
        Ok(ok) => json!({ "ok": ok }),
        Err(error) => json!({ "error": error }),
    };
    answer.to_string()
}

fn answer(request: Request) -> Result<Value, Refused> {
    match request {
        Request::Style => Ok(json!(coldsquare_engine::page::style())),
        Request::StartingPoints => as_json(&job::start::STARTING_POINTS),
        Request::Look(look) => frame::look(&look),
        Request::Edit { text, edit } => {
            let text = job::edit::edited(&text, &edit).map_err(|error| error.to_string())?;
            Ok(json!({ "text": text }))
        }
        Request::Plan(planning) => planning::plan(&planning),
        Request::Map(built) => build::map(&built),
        Request::Record(built) => build::record(&built),
        Request::Measure(measured) => build::measure(&measured),
        Request::Correct(straighten) => build::correct(&straighten),
        Request::Link(message) => link::answer(&message),
    }
}

/// A value as JSON; plain structs of numbers and text cannot fail.
pub(crate) fn as_json<T: Serialize>(value: &T) -> Result<Value, Refused> {
    serde_json::to_value(value).map_err(|error| error.to_string())
}

/// JSON that the engine wrote.
pub(crate) fn parsed(text: &str) -> Result<Value, Refused> {
    serde_json::from_str(text).map_err(|error| error.to_string())
}
