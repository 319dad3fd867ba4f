//! The build record as JSON: the weld map's JSON with what stands around it.

use super::model::BuildRecord;
use crate::job::model::Job;
use crate::procedure::text;
use crate::units::Units;
use serde_json::{Map, Value, json};

/// Name and version of what [`json()`] writes.
pub const FORMAT: &str = "coldsquare build record 1";

/// The record as an indented JSON text; ends with a line break.
#[must_use]
pub fn json(job: &Job, record: &BuildRecord) -> String {
    let made = &record.made;
    let map: Value = serde_json::from_str(&crate::map::json::json(&record.map)).unwrap_or_default();
    let procedures = job.procedures.iter().map(|procedure| {
        let rows = text::rows(procedure, Units::Metric);
        rows.into_iter()
            .map(|(name, value)| (name, Value::from(value)))
            .collect::<Map<_, _>>()
    });
    let deviations = record
        .deviations
        .iter()
        .map(|deviation| json!({ "weld": deviation.weld, "what": deviation.what }));
    let value = json!({
        "format": FORMAT,
        "job": job.name,
        "job_file": made.job_file,
        "job_sha256": made.job_sha256,
        "log_sha256": made.log_sha256,
        "material": job.material.name,
        "made_unix_s": made.at_unix_s,
        "made_by": made.by,
        "welder": made.welder,
        "software": record.map.source.software,
        "procedures": procedures.collect::<Vec<_>>(),
        "deviations": deviations.collect::<Vec<_>>(),
        "map": map,
    });
    let text = serde_json::to_string_pretty(&value).unwrap_or_default() + "\n";
    crate::sanitise::escape(&text).into_owned()
}
