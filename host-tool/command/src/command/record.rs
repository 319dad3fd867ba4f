//! `coldsquare record JOB LOG`: the build record of a job, to print and for programs.

use super::Io;
use super::reading::ReadingArguments;
use super::recording::{KeepArguments, read_and_keep};
use crate::disk::Disk;
use crate::save::{Existing, refuse_input, save};
use coldsquare_engine::digest::sha256;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::files::sha256_of;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::map::{Settings, build};
use coldsquare_engine::matching::Assignment;
use coldsquare_engine::measured::compare;
use coldsquare_engine::record::{self, BuildRecord, Made};
use std::path::{Path, PathBuf};

/// Arguments of `record`.
#[derive(Debug, clap::Args)]
#[command(after_help = WHAT_IS_IN_IT)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Log of the build
    #[arg(value_name = "LOG")]
    pub log: PathBuf,
    /// Write into this folder
    #[arg(long, value_name = "FOLDER", default_value = ".")]
    pub out: PathBuf,
    /// Name the person who makes the record
    #[arg(long, default_value = "")]
    pub by: String,
    /// Name the welder: name or stamp
    #[arg(long, default_value = "")]
    pub welder: String,
    /// Assign a bead yourself, as for map: 5=3, 5=tack, 5=scrap or 5=extra; may be repeated
    #[arg(long, value_name = "BEAD=WELD")]
    pub assign: Vec<Assignment>,
    /// Replace files that exist
    #[arg(long)]
    pub force: bool,
    /// Give the planned order if it is not file order: "3,1,2" or a plan's JSON
    #[arg(long, value_name = "LIST|FILE")]
    pub order: Option<String>,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub reading: ReadingArguments,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub keep: KeepArguments,
}

const WHAT_IS_IN_IT: &str = "\
Job, procedures, calibration and its date, every weld with its heat input and uncertainty, inspections (coldsquare \
inspect), what needs attention, version of the program, checksums of log and job. LOG-record.html prints on A4; \
LOG-record.json holds the same, and LOG-record.parquet its beads, where the program was built with the feature parquet.";

/// Writes the record.
///
/// # Errors
/// [`Failure`] when job, log or inspections have errors, or a file cannot be written or would be overwritten.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let how = (&arguments.reading, &arguments.keep);
    let log = read_and_keep(&arguments.log, (&job, &arguments.job), how, io)?;
    // As it is now, with what was just kept in it.
    let job_text = coldsquare_engine::files::text(&Disk, &arguments.job)?;
    let settings = Settings {
        by_hand: arguments.assign.clone(),
        order: super::reading::order(arguments.order.as_deref(), &job)?,
        ..Settings::default()
    };
    let mut map =
        build(&job, &log, &settings).map_err(|error| Failure::Input(error.to_string()))?;
    map.put_inspections(&coldsquare_engine::inspection::load(
        &Disk,
        &arguments.job,
        job.welds.len(),
    )?);
    let log_sha256 = sha256_of(&Disk, &arguments.log)?;
    compare::put_on(&Disk, &mut map, &job, &arguments.job, &log_sha256)?;
    let made = Made {
        job_file: name(&arguments.job),
        job_sha256: sha256(job_text.text().as_bytes()),
        log_sha256,
        by: arguments.by.clone(),
        welder: arguments.welder.clone(),
        at_unix_s: u64::try_from(jiff::Timestamp::now().as_second()).unwrap_or(0),
    };
    let record = record::build(&job, map, made);
    let outputs = outputs(arguments, &job, &record)?;
    for (path, _) in &outputs {
        refuse_input(path, [arguments.job.as_path(), arguments.log.as_path()])?;
    }
    if !arguments.force
        && let Some((path, _)) = outputs
            .iter()
            .find(|(path, _)| path.try_exists().unwrap_or(false))
    {
        return Err(Failure::WouldOverwrite(path.clone()));
    }
    let existing = Existing::with_force(arguments.force);
    for (path, bytes) in &outputs {
        save(path, bytes, existing)?;
        writeln!(io.out, "Written: {}", path.display())?;
    }
    writeln!(
        io.out,
        "Needs attention: {}; the page lists them.",
        coldsquare_engine::format::count(record.needs_attention.len(), "point")
    )?;
    Ok(())
}

fn name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

fn outputs(
    arguments: &Arguments,
    job: &Job,
    record: &BuildRecord,
) -> Result<Vec<(PathBuf, Vec<u8>)>, Failure> {
    let stem = arguments
        .log
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy();
    let path = |ending: &str| arguments.out.join(format!("{stem}-record.{ending}"));
    #[allow(unused_mut)] // without the feature nothing is added
    let mut outputs = vec![
        (path("html"), record::html::html(job, record).into_bytes()),
        (path("json"), record::json::json(job, record).into_bytes()),
    ];
    #[cfg(feature = "parquet")]
    {
        let bytes = record::parquet::parquet(job, record).map_err(|error| {
            Failure::Input(format!("the beads cannot be written as Parquet: {error}"))
        })?;
        outputs.push((path("parquet"), bytes));
    }
    Ok(outputs)
}
