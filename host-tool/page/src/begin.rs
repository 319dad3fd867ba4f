//! Begins a job: the shapes that `coldsquare new` offers, with the same few sizes.

use crate::json::Refused;
use crate::request::Begin;
use coldsquare_core::units::Millimetres;
use coldsquare_engine::job::start::{Shape, Wanted, write};
use coldsquare_engine::units::Units;
use serde::Serialize;

/// A job to begin with.
#[derive(Serialize)]
pub struct Begun {
    text: String,
    file: String,
}

/// The units of a request.
pub fn units(word: &str) -> Units {
    match word {
        "inch" => Units::UsCustomary,
        _ => Units::Metric,
    }
}

/// Writes the job.
pub fn begin(begin: &Begin) -> Result<Begun, Refused> {
    let mut shapes = Shape::NAMES.into_iter();
    let shape = shapes.find(|(name, _)| *name == begin.shape);
    let (name, shape) = shape.ok_or_else(|| format!("there is no shape '{}'", begin.shape))?;
    let units = units(&begin.units);
    let given = |key: &str| {
        begin
            .sizes
            .get(key)
            .map(|text| text.trim())
            .filter(|text| !text.is_empty())
    };
    let length = |key: &str| -> Result<Option<Millimetres>, Refused> {
        let Some(text) = given(key) else {
            return Ok(None);
        };
        let length = units.parse_length(text);
        length.map(Some).ok_or_else(|| {
            format!("{key}: '{text}' is not a length; write 1200, 1.2 m or 47 1/4 in")
        })
    };
    let bars = match given("bars") {
        None => None,
        Some(text) => Some(
            text.parse()
                .map_err(|_| format!("bars: '{text}' is not a whole number"))?,
        ),
    };
    let text = write(&Wanted {
        title: &begin.title,
        units,
        width: length("width")?,
        depth: length("depth")?,
        height: length("height")?,
        splay: length("splay")?,
        section: given("section"),
        bar_section: given("bar_section"),
        bars,
        ..Wanted::of(shape)
    });
    let file = format!("{name}.toml");
    Ok(Begun { text, file })
}
