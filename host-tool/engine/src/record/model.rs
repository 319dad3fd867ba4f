//! What a build record says. To list another thing that needs attention, add it here.

use crate::format;
use crate::inspection::Outcome;
use crate::job::model::Job;
use crate::map::model::{Flag, MappedWeld, WeldMap};
use crate::sanitise;
use crate::verdict::Verdict;
use serde::Serialize;

/// When and by whom a record was made, and from what.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Made {
    /// Name of the job file, without its folder.
    pub job_file: String,
    /// SHA-256 of the job file, in hexadecimal.
    pub job_sha256: String,
    /// SHA-256 of the log, in hexadecimal.
    pub log_sha256: String,
    /// Who made the record, as they wrote it; may be empty.
    #[serde(rename = "made_by")]
    pub by: String,
    /// Who welded, as they wrote it; may be empty.
    pub welder: String,
    /// When the record was made, s since 1970-01-01T00:00:00Z.
    #[serde(rename = "made_unix_s")]
    pub at_unix_s: u64,
}

/// A build record. Goes with its job.
#[derive(Clone, Debug)]
pub struct BuildRecord {
    /// When and by whom it was made, and from what.
    pub made: Made,
    /// The weld map, inspections on it.
    pub map: WeldMap,
    /// What needs attention, one sentence each.
    pub needs_attention: Vec<Attention>,
}

/// Something that needs attention.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Attention {
    /// The weld, if it is about one.
    pub weld: Option<u16>,
    /// What is wrong, open or missing.
    pub what: String,
}

/// The record of a build.
#[must_use]
pub fn build(job: &Job, map: WeldMap, made: Made) -> BuildRecord {
    let of_welds = map.welds.iter().flat_map(|weld| {
        of_weld(weld).into_iter().map(|what| Attention {
            weld: Some(weld.number),
            what,
        })
    });
    let of_build = of_build(job, &map)
        .into_iter()
        .map(|what| Attention { weld: None, what });
    let needs_attention = of_welds.chain(of_build).collect();
    BuildRecord {
        made,
        map,
        needs_attention,
    }
}

/// A verdict other than within limits, missing or repeated runs, a match by hand, a rejected or repaired weld.
fn of_weld(weld: &MappedWeld) -> Vec<String> {
    let mut found = Vec::new();
    if matches!(
        weld.verdict,
        Verdict::OutOfLimits | Verdict::Marginal | Verdict::NotMeasured
    ) {
        found.push(weld.describe_verdict());
    }
    let flags = weld.flags.iter().filter(|flag| {
        matches!(
            flag,
            Flag::RunsMissing { .. } | Flag::Redone { .. } | Flag::AssignedByHand
        )
    });
    found.extend(flags.map(ToString::to_string));
    let inspection = weld
        .inspection
        .as_ref()
        .filter(|seen| seen.result != Outcome::Accepted);
    found.extend(inspection.map(|seen| sanitise::plain(&seen.to_string())));
    found
}

/// Another order, welds that were not inspected, procedures without a qualification.
fn of_build(job: &Job, map: &WeldMap) -> Vec<String> {
    let mut found = Vec::new();
    let moved = &map.order.out_of_order;
    if !moved.is_empty() {
        found.push(format!(
            "not in their planned places: {} {}",
            format::noun(moved.len(), "weld"),
            format::list(moved)
        ));
    }
    let welds = &map.welds;
    let open = welds
        .iter()
        .filter(|weld| weld.inspection.is_none())
        .count();
    if open > 0 {
        found.push(format!(
            "{open} of {} have no inspection result",
            format::count(welds.len(), "weld")
        ));
    }
    let unqualified = job
        .procedures
        .iter()
        .filter(|procedure| procedure.sheet.qualification.is_none());
    found.extend(unqualified.map(|procedure| {
        format!(
            "procedure '{}' names no test that qualifies it",
            sanitise::plain(&procedure.name)
        )
    }));
    found
}
