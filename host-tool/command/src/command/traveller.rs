//! `coldsquare traveller JOB [LOG]`: one sheet for the whole job, from the opening to hanging.

use super::Io;
use super::predict::drawn;
use super::reading::ReadingArguments;
use super::recording::{KeepArguments, read_and_keep};
use crate::disk::Disk;
use crate::notebook::add;
use crate::save::{Existing, refuse_early, save};
use coldsquare_core::units::Seconds;
use coldsquare_engine::cost::cost;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::finish::finishing;
use coldsquare_engine::fixture::fixture;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::map::{Settings, build};
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{planned_net_heat, predict_for};
use coldsquare_engine::shop::file::beside;
use coldsquare_engine::shop::hours::Hours;
use coldsquare_engine::shop::hours_file;
use coldsquare_engine::traveller::{Basis, STEPS, Traveller, text, traveller};
use coldsquare_engine::{job, measured, order, page, sanitise};
use std::path::{Path, PathBuf};

/// Planned time from the end of a weld to the next arc, s: as `cost` has it.
const PAUSE_S: f64 = 15.0;

const AFTER: &str = "\
The sheet is made from the job ([fixture], [finish], [[hole]], [[panel]], [[ripped]]), the prediction, and what is \
already known: the log, the measurements beside the job, and the hours in the shop factors file. --spent adds to that \
file and never changes what is there. Steps: opening, rip, cut, clean, fixture, tack, weld, measure, dress, drill, \
finish, hang.";

/// Arguments of `traveller`.
#[derive(Debug, clap::Args)]
#[command(after_help = AFTER)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Log of the build: the time of welding is measured
    #[arg(value_name = "LOG")]
    pub log: Option<PathBuf>,
    /// Weld in this order: numbers and ranges (3,1,2 or "5-8 1-4"), or a file with a list or a plan's JSON [default: file order]
    #[arg(long, value_name = "ORDER")]
    pub order: Option<String>,
    /// Note what a step took, in the shop factors file: "fixture = 45 min"; may be repeated
    #[arg(long, value_name = "STEP = TIME", conflicts_with_all = ["out", "json"])]
    pub spent: Vec<String>,
    /// Date the notes of --spent: 2026-11-28 [default: today]
    #[arg(long, requires = "spent", value_parser = super::inspect::date)]
    pub on: Option<String>,
    /// Print in these units [default: those of the job]
    #[arg(long, value_name = "UNITS", value_parser = ["mm", "inch"])]
    pub units: Option<String>,
    /// Print JSON (always in mm) instead of text
    #[arg(long)]
    pub json: bool,
    /// Write to this file instead of standard output: .html for a page to print
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long, requires = "out")]
    pub force: bool,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub reading: ReadingArguments,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub keep: KeepArguments,
}

/// Makes the traveller and prints it, or notes hours.
///
/// # Errors
/// [`Failure`] when a file has errors or cannot be read or written, or a step is unknown.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let existing = Existing::with_force(arguments.force);
    if let Some(path) = &arguments.out {
        refuse_early(path, [arguments.job.as_path()], existing)?;
    }
    let mut job = job::load(&Disk, &arguments.job)?;
    job.units = super::units(arguments.units.as_deref(), job.units);
    let made = made(arguments, &job, io)?;
    if !arguments.spent.is_empty() {
        return note(arguments, &job, &made, io);
    }
    let Some(path) = &arguments.out else {
        if arguments.json {
            return io.print_json(&made);
        }
        return Ok(io.out.write_all(text::text(&made).as_bytes())?);
    };
    let ending = path.extension().and_then(|ending| ending.to_str());
    let report = match ending.unwrap_or_default() {
        ending if arguments.json || ending == "json" => serde_json::to_string_pretty(&made)
            .map(|json| json + "\n")
            .map_err(|cause| {
                Failure::Input(format!("the traveller cannot be written as JSON: {cause}"))
            })?,
        "html" | "htm" => page::traveller_html(&made),
        _ => text::text(&made),
    };
    save(path, report.as_bytes(), existing)?;
    Ok(writeln!(io.out, "Written: {}", path.display())?)
}

fn made(arguments: &Arguments, job: &Job, io: &mut Io<'_>) -> Result<Traveller, Failure> {
    let path = arguments.job.as_path();
    let input =
        |error: &dyn std::fmt::Display| Failure::Input(format!("{}: {error}", path.display()));
    let (order, named) = match &arguments.order {
        Some(given) => order::given(&Disk, given, job)?,
        None => drawn(job),
    };
    let model = MovementModel::new(job).map_err(|error| input(&error))?;
    let prediction =
        predict_for(job, &model, &order, &planned_net_heat(job)).map_err(|error| input(&error))?;
    let fixture = fixture(job, &order).map_err(|error| input(&error))?;
    let measurements = measured::load(&Disk, &measured::path_of(path), job, model.measures())?;
    let finishing = finishing(job, &model, &prediction, measurements.last());
    let log = match &arguments.log {
        Some(log) => {
            let how = (&arguments.reading, &arguments.keep);
            Some(read_and_keep(log, (job, path), how, io)?)
        }
        None => None,
    };
    let map = match &log {
        Some(log) => Some(build(job, log, &Settings::default()).map_err(|error| input(&error))?),
        None => None,
    };
    let cost = cost(job, log.as_ref().zip(map.as_ref()), Seconds(PAUSE_S))
        .map_err(|error| input(&error))?;
    let noted = match shop_file(path, job) {
        Some(shop) => hours_file::load(&Disk, &shop)?,
        None => Vec::new(),
    };
    let file = path.file_name().unwrap_or_default().to_string_lossy();
    Ok(traveller(&Basis {
        job,
        file: &file,
        order: &named,
        prediction: &prediction,
        fixture: &fixture,
        finishing: &finishing,
        cost: &cost,
        hours: &noted,
    }))
}

/// The shop factors file that the job names.
fn shop_file(path: &Path, job: &Job) -> Option<PathBuf> {
    job.shop_file
        .as_ref()
        .map(|named| beside(path, &named.path))
}

/// Adds notes of hours to the shop factors file.
fn note(
    arguments: &Arguments,
    job: &Job,
    made: &Traveller,
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    let Some(shop) = shop_file(&arguments.job, job) else {
        return Err(Failure::Usage(
            "hours are kept in the shop factors file, and the job names none; add a line shop_factors = \"our-shop.toml\" near \
             the top of the job"
                .into(),
        ));
    };
    let on = arguments.on.clone().unwrap_or_else(super::today);
    let name = arguments
        .job
        .file_name()
        .unwrap_or_default()
        .to_string_lossy();
    let notes = arguments.spent.iter().map(|text| {
        let (step, minutes) = spent(text)?;
        let known = made.times.iter().find(|time| time.id == step);
        let known =
            known.ok_or_else(|| Failure::Usage(format!("this job has no step '{step}'")))?;
        Ok(Hours {
            on: on.clone(),
            job: sanitise::plain(&name),
            step: step.to_owned(),
            estimated_min: known.table_min,
            spent_min: minutes,
            note: String::new(),
        })
    });
    // All of them, or none.
    let notes = notes.collect::<Result<Vec<Hours>, Failure>>()?;
    for one in &notes {
        add(&shop, |before| hours_file::added(before, one))?;
        writeln!(
            io.out,
            "{}: {:.0} min, estimated {:.0} min",
            one.step, one.spent_min, one.estimated_min
        )?;
    }
    Ok(writeln!(io.out, "Added to: {}", shop.display())?)
}

/// "fixture = 45 min", "weld = 1.5 h", "cut = 1:20".
fn spent(text: &str) -> Result<(&'static str, f64), Failure> {
    let wrong = |what: &str| Failure::Usage(format!("--spent \"{text}\": {what}"));
    let Some((step, time)) = text.split_once('=') else {
        return Err(wrong("write STEP = TIME, such as \"fixture = 45 min\""));
    };
    let step = step.trim();
    let known = STEPS.iter().copied().find(|known| *known == step);
    let known =
        known.ok_or_else(|| wrong(&format!("unknown step; the steps are {}", STEPS.join(", "))))?;
    let time = time.trim();
    let number = |text: &str| text.trim().parse::<f64>().ok();
    let minutes = if let Some((hours, minutes)) = time.split_once(':') {
        number(hours)
            .zip(number(minutes))
            .map(|(hours, minutes)| 60.0 * hours + minutes)
    } else if let Some(hours) = time
        .strip_suffix("hours")
        .or_else(|| time.strip_suffix('h'))
    {
        number(hours).map(|hours| 60.0 * hours)
    } else {
        number(time.trim_end_matches("min"))
    };
    let minutes = minutes.filter(|minutes| (0.1..=60_000.0).contains(minutes));
    let minutes = minutes.ok_or_else(|| wrong("write the time as 45 min, 1.5 h or 1:20"))?;
    Ok((known, minutes))
}
