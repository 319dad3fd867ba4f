//! Logs of a job, whose `[recording]` says how its recordings are read.

use super::error::LogError;
use super::model::{Log, SourceKind};
use super::read;
use crate::files::Files;
use crate::job::model::Job;
use crate::recording::RecordingOptions;
use std::path::Path;

/// Reads a log of a job. What `options` leave out of a recording is taken from `[recording]` in the job file, and a note
/// says so.
///
/// # Errors
/// As [`read`]; where the job file has a part in it, the error says so.
pub fn read_of_job(
    files: &dyn Files,
    path: &Path,
    options: &RecordingOptions,
    job: &Job,
) -> Result<Log, LogError> {
    let both = options.or(&job.recording);
    let by_job = both != *options;
    let read = read(files, path, &both);
    match read {
        Ok(mut log) => {
            if by_job && matches!(log.source.kind, SourceKind::Recording(_)) {
                let note = "read as [recording] in the job file says".to_owned();
                log.report.notes.push(note);
            }
            Ok(log)
        }
        Err(LogError::Recording { path, message }) if by_job => Err(LogError::Recording {
            path,
            message: format!(
                "{message}. [recording] in the job file says how it is read; options of the command win over it"
            ),
        }),
        Err(other) => Err(other),
    }
}

#[cfg(test)]
mod tests;
