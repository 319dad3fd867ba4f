//! `coldsquare plan JOB`: in which order to weld, and why.

use super::Io;
use super::long_work::{Ended, LongWork};
use super::picture::painted;
use crate::disk::Disk;
use crate::save::{Existing, refuse_input, save};
use crate::threads::Threads;
use coldsquare_core::units::Celsius;
use coldsquare_engine::drawing;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job;
use coldsquare_engine::job::model::{Goal, Job};
use coldsquare_engine::page;
use coldsquare_engine::plan::frame_model::plan_on_frame_model;
use coldsquare_engine::plan::further_measures::further_measures;
use coldsquare_engine::plan::model::Plan;
use coldsquare_engine::plan::order::Effort;
use coldsquare_engine::plan::search::Progress;
use coldsquare_engine::plan::{Options, USUAL_START, plan, text};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Orders tried for an effort of 1.
const TRIALS_PER_EFFORT: u64 = 20_000;

const AFTER: &str = "Ctrl-C and --seconds end the search with the best order so far, marked as stopped early; the exit code is \
0 as for any plan. A second Ctrl-C stops the command at once, without a plan, with exit code 130.";

/// Arguments of `plan`.
#[derive(Debug, clap::Args)]
#[command(after_help = AFTER)]
pub struct Arguments {
    /// Job file
    pub job: PathBuf,
    /// Limit how often the frame may be flipped while welding [default: 3, or more if the job's rules need it]
    #[arg(long, value_name = "COUNT")]
    pub flips: Option<u16>,
    /// Set the minimum improvement a flip must give; 0 % accepts any
    #[arg(long, default_value = "5 %", value_name = "SHARE", value_parser = share)]
    pub flip_worth: f64,
    /// Choose what matters most, in place of the job's goal: one or more of these, separated by commas
    #[arg(long, value_name = "WORDS", value_delimiter = ',', value_parser = Goal::WORDS, conflicts_with = "balance")]
    pub goal: Vec<String>,
    /// Set the search effort, 1 to 1000: ten times the effort takes ten times as long
    #[arg(long, default_value_t = 10, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1000))]
    pub effort: u64,
    /// Start the search from another seed: the same seed and effort always give the same order
    #[arg(long, default_value_t = 1, value_name = "N")]
    pub seed: u64,
    /// Stop after this many seconds with the best order so far, marked as stopped early; Ctrl-C does the same at once
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=86_400))]
    pub seconds: Option<u64>,
    /// Set the temperature of the work before welding: 18 C or 65 F [default: 20 C]
    #[arg(long, value_name = "TEMPERATURE", value_parser = degrees)]
    pub work: Option<Celsius>,
    /// Use the shrinkage balance only, as the logger does, without trying orders on the frame model
    #[arg(long)]
    pub balance: bool,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    /// Write to this file instead of standard output: .html for a page to step through and print, .svg or .png for a
    /// drawing of each set-up on the table
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long, requires = "out")]
    pub force: bool,
}

/// What to do next with the plan that was written.
fn next(arguments: &Arguments, path: &Path, ending: &str) -> String {
    let (job, path) = (arguments.job.display(), path.display());
    match ending {
        "json" => format!(
            "`coldsquare send PORT --plan {path} --job {job}` sends it to a logger; `coldsquare map {job} LOG --order \
             {path}` compares it with what was welded."
        ),
        "html" | "htm" => {
            "open it, step through the order, and print the bench card for the wall.".into()
        }
        "svg" | "png" => "print it for the wall, next to the list from `coldsquare plan`.".into(),
        _ => format!(
            "`coldsquare predict {job}` shows how the frame moves in file order; `--out plan.html` writes a page with a bench card."
        ),
    }
}

fn share(text: &str) -> Result<f64, String> {
    let percent = text.trim().trim_end_matches('%').trim_end().parse::<f64>();
    let percent = percent
        .ok()
        .filter(|percent| (0.0..=100.0).contains(percent));
    let percent = percent.ok_or("give a percentage from 0 to 100, such as \"5 %\"")?;
    Ok(percent / 100.0)
}

fn degrees(text: &str) -> Result<Celsius, String> {
    let degrees = coldsquare_engine::units::Units::Metric
        .parse_temperature(text)
        .filter(|degrees| (-20.0..=300.0).contains(&degrees.0));
    degrees.ok_or_else(|| "give a temperature from -20 to 300 °C, such as 18 C or \"65 F\"".into())
}

/// Runs the command.
///
/// # Errors
/// [`Failure`] when the job has errors or allows no order, or a file cannot be read or written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    // Refuse now rather than after a long search.
    if let Some(path) = &arguments.out {
        refuse_input(path, [arguments.job.as_path()])?;
        if !arguments.force && path.try_exists().unwrap_or(false) {
            return Err(Failure::WouldOverwrite(path.clone()));
        }
    }
    let mut job = job::load(&Disk, &arguments.job)?;
    if !arguments.goal.is_empty() {
        job.goal = Goal::default();
        // clap has already refused any other word.
        arguments.goal.iter().for_each(|word| {
            job.goal.add(word);
        });
    }
    let plan = planned(arguments, &job, io)?;
    let ending = arguments.out.as_ref().and_then(|path| path.extension());
    let ending = ending
        .and_then(|ending| ending.to_str())
        .unwrap_or_default();
    let ending = if arguments.json { "json" } else { ending };
    let report = report(&job, &plan, ending)?;
    let Some(path) = &arguments.out else {
        return Ok(io.out.write_all(&report)?);
    };
    save(path, &report, Existing::with_force(arguments.force))?;
    writeln!(
        io.out,
        "Written: {}\nNext: {}",
        path.display(),
        next(arguments, path, ending)
    )?;
    Ok(())
}

/// Searches for the order, and says so if the search was stopped early.
fn planned(arguments: &Arguments, job: &Job, io: &mut Io<'_>) -> Result<Plan, Failure> {
    let options = Options {
        max_flips: arguments.flips,
        flip_worth: arguments.flip_worth,
        effort: Effort {
            trials: arguments.effort * TRIALS_PER_EFFORT,
            seed: arguments.seed,
        },
        start: arguments.work.unwrap_or(USUAL_START),
    };
    let limit = arguments.seconds.map(Duration::from_secs);
    let mut work = LongWork::new(&mut *io.err, io.interactive, limit);
    let mut keep_going =
        |progress: &Progress| work.goes_on(|| format!("{} orders tried", progress.trials));
    let planned = if arguments.balance {
        plan(job, &options, &mut keep_going)
    } else {
        plan_on_frame_model(job, &options, &Threads, &mut keep_going)
    };
    let ended = work.ended();
    let mut plan =
        planned.map_err(|error| Failure::Input(format!("{}: {error}", arguments.job.display())))?;
    if plan.stopped_early {
        let why = match ended {
            Some(Ended::TimeIsUp) => "time is up",
            _ => "interrupted",
        };
        writeln!(
            io.err,
            "{why}: this is the best order so far, not the best a full search would find"
        )?;
    } else if !arguments.balance {
        plan.further_measures = further_measures(job, &plan);
    }
    Ok(plan)
}

/// The plan as a file with this ending.
fn report(job: &Job, plan: &Plan, ending: &str) -> Result<Vec<u8>, Failure> {
    Ok(match ending {
        "json" => serde_json::to_string_pretty(plan)
            .map(|json| (json + "\n").into_bytes())
            .map_err(|cause| {
                Failure::Input(format!("the plan cannot be written as JSON: {cause}"))
            })?,
        "html" | "htm" => {
            page::plan_html(job, plan, page::movement_of(job, plan).as_deref()).into_bytes()
        }
        "svg" => drawing::order_svg(job, plan).into_bytes(),
        "png" => painted(&drawing::order_svg(job, plan))?,
        _ => text(plan, job.units).into_bytes(),
    })
}
