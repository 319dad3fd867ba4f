//! The build record as JSON: the weld map's JSON with what a record adds to it.

use super::model::{Attention, BuildRecord, Made};
use crate::job::model::Job;
use crate::procedure::text;
use crate::sanitise;
use crate::units::Units;
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// Name and version of what [`json()`] writes.
pub const FORMAT: &str = "coldsquare build record 1";

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    job: &'a str,
    material: &'a str,
    software: &'a str,
    #[serde(flatten)]
    made: &'a Made,
    procedures: Vec<BTreeMap<String, String>>,
    needs_attention: &'a [Attention],
    map: Value,
}

/// The record as an indented JSON text; ends with a line break.
#[must_use]
pub fn json(job: &Job, record: &BuildRecord) -> String {
    let rows = |procedure| text::rows(procedure, Units::Metric).into_iter().collect();
    let document = Document {
        format: FORMAT,
        job: &job.name,
        material: &job.material.name,
        software: &record.map.source.software,
        made: &record.made,
        procedures: job.procedures.iter().map(rows).collect(),
        needs_attention: &record.needs_attention,
        map: serde_json::from_str(&crate::map::json::json(&record.map)).unwrap_or_default(),
    };
    // Cannot fail: keys are text, values are text and numbers.
    let text = serde_json::to_string_pretty(&document).unwrap_or_default() + "\n";
    sanitise::escape(&text).into_owned()
}
