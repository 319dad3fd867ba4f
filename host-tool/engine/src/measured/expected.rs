//! The prediction that a measurement is compared with: from the heat of its own log, or else from the plan.

use super::Measurement;
use crate::files::{Files, sha256_of};
use crate::job::model::Job;
use crate::log::{Log, read_of_job};
use crate::map::Settings;
use crate::movement::model::MovementModel;
use crate::movement::predict::{
    Predicted, measured_net_heat, order_done, planned_net_heat, predict_for,
};
use crate::recording::RecordingOptions;
use crate::shop::file::beside;
use std::path::Path;

/// What is expected of a build.
#[derive(Clone, Debug)]
pub struct Expected {
    /// Where it comes from: "as planned" or "from weld.log".
    pub basis: String,
    /// The expected changes; empty if the movement cannot be predicted.
    pub measures: Vec<Predicted>,
    /// Why a log that was named is not used.
    pub note: Option<String>,
}

/// As planned, in file order.
#[must_use]
pub fn as_planned(job: &Job, engine: &MovementModel) -> Expected {
    let order: Vec<usize> = (0..job.welds.len()).collect();
    Expected {
        basis: "as planned".into(),
        measures: predict_for(job, engine, &order, &planned_net_heat(job))
            .map(|prediction| prediction.measures)
            .unwrap_or_default(),
        note: None,
    }
}

/// With the heat and the order of a log, or why it could not be read.
#[must_use]
pub fn from_log(
    job: &Job,
    engine: &MovementModel,
    path: &Path,
    log: Result<Log, String>,
) -> Expected {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let predicted = || -> Result<Vec<Predicted>, String> {
        let map = crate::map::build(job, &log?, &Settings::default()).map_err(|e| e.to_string())?;
        let (heat, _) = measured_net_heat(job, &map);
        predict_for(job, engine, &order_done(&map), &heat)
            .map(|prediction| prediction.measures)
            .map_err(|e| e.to_string())
    };
    match predicted() {
        Ok(measures) => Expected {
            basis: format!("from {name}"),
            measures,
            note: None,
        },
        Err(why) => Expected {
            note: Some(format!("{why}; compared with the plan")),
            ..as_planned(job, engine)
        },
    }
}

/// For a measurement beside the job: from its log if that is there unchanged, else as planned.
#[must_use]
pub fn of(
    files: &dyn Files,
    job: &Job,
    engine: &MovementModel,
    job_path: &Path,
    measurement: &Measurement,
    options: &RecordingOptions,
) -> Expected {
    if measurement.log.is_empty() {
        return as_planned(job, engine);
    }
    let log = beside(job_path, &measurement.log);
    match sha256_of(files, &log) {
        Ok(sha256) if sha256 == measurement.log_sha256 => {
            let read = read_of_job(files, &log, options, job).map_err(|e| e.to_string());
            from_log(job, engine, &log, read)
        }
        _ => Expected {
            note: Some(format!(
                "its log {} is not beside the job, or has changed; compared with the plan",
                measurement.log
            )),
            ..as_planned(job, engine)
        },
    }
}
