//! `coldsquare plan JOB`: in which order to weld, and why.

use super::Io;
use super::long_work::{Ended, LongWork};
use super::picture::painted;
use crate::disk::Disk;
use crate::save::{Existing, save};
use crate::threads::Threads;
use coldsquare_core::sequence::search::Progress;
use coldsquare_core::units::Celsius;
use coldsquare_engine::drawing;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job;
use coldsquare_engine::job::model::Goal;
use coldsquare_engine::page;
use coldsquare_engine::plan::beyond_order::beyond_order;
use coldsquare_engine::plan::order::Effort;
use coldsquare_engine::plan::structure::plan_on_structure;
use coldsquare_engine::plan::{Options, USUAL_WORK, plan, text};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Orders tried for an effort of 1.
const TRIALS_PER_EFFORT: u64 = 20_000;

const AFTER: &str = "Ctrl-C and --seconds end the search with the best order so far, marked as cut short; the exit code is \
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
    /// Stop after this many seconds with the best order so far, marked as cut short; Ctrl-C does the same at once
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=86_400))]
    pub seconds: Option<u64>,
    /// Set the temperature of the work before welding: 18 C or 65 F [default: 20 C]
    #[arg(long, value_name = "TEMPERATURE", value_parser = degrees)]
    pub work: Option<Celsius>,
    /// Use the shrinkage balance only, as the logger does, without trying orders on the structure
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
        _ if arguments.json => format!(
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
    let degrees = job::temperature(text).filter(|degrees| (-20.0..=300.0).contains(&degrees.0));
    degrees.ok_or_else(|| "give a temperature from -20 to 300 °C, such as 18 C or \"65 F\"".into())
}

/// Runs the command.
///
/// # Errors
/// [`Failure`] when the job has errors or allows no order, or a file cannot be read or written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    if let Some(path) = &arguments.out
        && !arguments.force
        && path.try_exists().unwrap_or(false)
    {
        // Refuse now rather than after a long search.
        return Err(Failure::WouldOverwrite(path.clone()));
    }
    let mut job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    if !arguments.goal.is_empty() {
        job.goal = Goal::default();
        // clap has already refused any other word.
        arguments.goal.iter().for_each(|word| {
            job.goal.add(word);
        });
    }
    let options = Options {
        most_turns: arguments.flips,
        turn_worth: arguments.flip_worth,
        effort: Effort {
            trials: arguments.effort * TRIALS_PER_EFFORT,
            seed: arguments.seed,
        },
        work: arguments.work.unwrap_or(USUAL_WORK),
    };
    let limit = arguments.seconds.map(Duration::from_secs);
    let mut work = LongWork::new(&mut *io.err, io.interactive, limit);
    let mut keep_going =
        |progress: &Progress| work.goes_on(|| format!("{} orders tried", progress.trials));
    let planned = if arguments.balance {
        plan(&job, &options, &mut keep_going)
    } else {
        plan_on_structure(&job, &options, &Threads, &mut keep_going)
    };
    let ended = work.ended();
    let mut plan =
        planned.map_err(|error| Failure::Input(format!("{}: {error}", arguments.job.display())))?;
    if plan.cut_short {
        let why = match ended {
            Some(Ended::TimeIsUp) => "time is up",
            _ => "interrupted",
        };
        writeln!(
            io.err,
            "{why}: this is the best order so far, not the best a full search would find"
        )?;
    }
    if !(arguments.balance || plan.cut_short) {
        plan.beyond_order = beyond_order(&job, &plan);
    }
    let ending = arguments.out.as_ref().and_then(|path| path.extension());
    let ending = ending
        .and_then(|ending| ending.to_str())
        .unwrap_or_default();
    let report = match ending {
        _ if arguments.json => serde_json::to_string_pretty(&plan)
            .map(|json| (json + "\n").into_bytes())
            .map_err(|cause| {
                Failure::Input(format!("the plan cannot be written as JSON: {cause}"))
            })?,
        "html" | "htm" => {
            page::plan_html_moving(&job, &plan, page::movement_of(&job, &plan).as_deref())
                .into_bytes()
        }
        "svg" => drawing::order_svg(&job, &plan).into_bytes(),
        "png" => painted(&drawing::order_svg(&job, &plan))?,
        _ => text(&plan, job.units).into_bytes(),
    };
    match &arguments.out {
        Some(path) => {
            let existing = Existing::with_force(arguments.force);
            save(path, &report, existing)?;
            writeln!(io.out, "Written: {}", path.display())?;
            writeln!(io.out, "Next: {}", next(arguments, path, ending))?;
            Ok(())
        }
        None => Ok(io.out.write_all(&report)?),
    }
}
