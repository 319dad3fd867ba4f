//! How a recording was read, kept in the job file so that no command needs it twice.

use super::Io;
use super::reading::{RECORDING, ReadingArguments};
use crate::disk::Disk;
use crate::notebook;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job::edit::with_recording;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::log::{Log, SourceKind, read_of_job};
use coldsquare_engine::recording::RecordingOptions;
use std::path::Path;

/// Whether to keep how a recording was read.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct KeepArguments {
    /// Write columns, scales and the other options of this recording into the job file, as [recording]
    #[arg(long, help_heading = RECORDING)]
    pub keep_columns: bool,
}

/// Reads a log of a job by the options of the command and `[recording]` of the job. What was typed is offered for the job
/// file, or written into it.
///
/// # Errors
/// [`Failure`] when the log cannot be read or the job file cannot be written.
pub(super) fn read_and_keep(
    path: &Path,
    (job, job_path): (&Job, &Path),
    (reading, keep): (&ReadingArguments, &KeepArguments),
    io: &mut Io<'_>,
) -> Result<Log, Failure> {
    let log = read_of_job(&Disk, path, &reading.options(), job)?;
    match &log.source.kind {
        SourceKind::Recording(recording) => {
            let given = reading.options().or(&job.recording);
            let options = recording.options(&given);
            if keep.keep_columns {
                write(job_path, &options, io)?;
            } else if is_new(&reading.options(), &job.recording) {
                offer(job_path, &options, io)?;
            }
        }
        _ if keep.keep_columns => writeln!(
            io.err,
            "note: {} is a log of the logger, which has no columns to choose; nothing was kept",
            path.display()
        )?,
        _ => {}
    }
    Ok(log)
}

/// Something was typed that the job file does not say.
fn is_new(typed: &RecordingOptions, kept: &RecordingOptions) -> bool {
    let typed = RecordingOptions {
        calibration_of: None,
        sealed_by: None,
        process: None,
        ..typed.clone()
    };
    !typed.is_empty() && typed.or(kept) != *kept
}

fn offer(job: &Path, options: &RecordingOptions, io: &mut Io<'_>) -> Result<(), Failure> {
    let name = job.file_name().unwrap_or_default().to_string_lossy();
    writeln!(
        io.err,
        "note: to have recordings of this job read like this by every command, put these lines into {name}, or add \
         --keep-columns:"
    )?;
    let table = options.table();
    for line in table.lines() {
        writeln!(io.err, "  {line}")?;
    }
    Ok(())
}

/// Changes `[recording]` in the job file and nothing else.
fn write(job: &Path, options: &RecordingOptions, io: &mut Io<'_>) -> Result<(), Failure> {
    notebook::add(job, |source| {
        let before = source.text();
        let text = with_recording(before, options)
            .map_err(|error| Failure::Input(format!("{}: {error}", job.display())))?;
        // An editor of another system keeps its line ends.
        Ok(match before.contains("\r\n") {
            true => text.replace("\r\n", "\n").replace('\n', "\r\n"),
            false => text,
        })
    })?;
    writeln!(
        io.err,
        "note: [recording] of {} says how to read such recordings",
        job.display()
    )?;
    Ok(())
}
