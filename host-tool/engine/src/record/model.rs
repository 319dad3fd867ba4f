//! What a build record says, worked out once.

use crate::job::model::Job;
use crate::map::model::{Flag, WeldMap};
use crate::verdict::Verdict;
use crate::format;
use crate::sanitise;

/// When and by whom a record was made, and from what.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Made {
    /// Name of the job file, without its folder.
    pub job_file: String,
    /// Bytes of the job file.
    pub job_sha256: String,
    /// Bytes of the log.
    pub log_sha256: String,
    /// Who made the record, as they wrote it; may be empty.
    pub by: String,
    /// Who welded, as they wrote it; may be empty.
    pub welder: String,
    /// When the record was made, s since 1970-01-01T00:00:00Z.
    pub at_unix_s: u64,
}

/// A build record. Goes with its job.
#[derive(Clone, Debug)]
pub struct BuildRecord {
    /// When and by whom it was made, and from what.
    pub made: Made,
    /// The weld map, inspections on it.
    pub map: WeldMap,
    /// Where the build is not as the job and its procedures say, one sentence each.
    pub deviations: Vec<Deviation>,
}

/// Something that is not as planned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Deviation {
    /// The weld, where it is about one.
    pub weld: Option<u16>,
    /// What is not as planned.
    pub what: String,
}

/// The record of a build.
#[must_use]
pub fn build(job: &Job, map: WeldMap, made: Made) -> BuildRecord {
    let deviations = deviations(job, &map);
    BuildRecord {
        made,
        map,
        deviations,
    }
}

/// Verdicts that are not inside, runs and welds that are missing or were done again, another order, rejected welds.
fn deviations(job: &Job, map: &WeldMap) -> Vec<Deviation> {
    let mut all = Vec::new();
    for weld in &map.welds {
        let mut note = |what: String| {
            all.push(Deviation {
                weld: Some(weld.number),
                what,
            })
        };
        if matches!(
            weld.verdict,
            Verdict::Outside | Verdict::OnTheEdge | Verdict::NotMeasured
        ) {
            note(weld.verdict_words());
        }
        for flag in &weld.flags {
            if matches!(
                flag,
                Flag::RunsMissing { .. } | Flag::Redone { .. } | Flag::AssignedByHand
            ) {
                note(flag.to_string());
            }
        }
        match &weld.inspection {
            Some(seen) if seen.result != crate::inspection::Outcome::Accepted => {
                note(sanitise::plain(&seen.to_string()))
            }
            _ => {}
        }
    }
    match map.order.out_of_order.as_slice() {
        [] => {}
        moved => {
            let what = format!(
                "not in their planned places: weld {}",
                format::list(moved)
            );
            all.push(Deviation { weld: None, what });
        }
    }
    let inspected = map
        .welds
        .iter()
        .filter(|weld| weld.inspection.is_some())
        .count();
    if inspected < map.welds.len() {
        let what = format!(
            "{} of {} welds have no inspection result",
            map.welds.len() - inspected,
            map.welds.len()
        );
        all.push(Deviation { weld: None, what });
    }
    for procedure in job
        .procedures
        .iter()
        .filter(|procedure| procedure.sheet.qualification.is_none())
    {
        let what = format!(
            "procedure '{}' names no test that qualifies it",
            sanitise::plain(&procedure.name)
        );
        all.push(Deviation { weld: None, what });
    }
    all
}
