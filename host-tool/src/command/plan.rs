//! `coldsquare plan JOB`: in which order to weld, and why.

use super::picture::painted;
use crate::drawing;
use crate::job;
use crate::page;
use crate::plan::beyond_order::beyond_order;
use crate::plan::order::Effort;
use crate::plan::structure::plan_on_structure;
use crate::plan::{Options, plan, text};
use crate::run::{Failure, Io};
use crate::save::{Existing, save};
use std::path::PathBuf;

/// Orders tried for an effort of 1.
const TRIALS_PER_EFFORT: u64 = 20_000;

/// Arguments of `plan`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Job file.
    pub job: PathBuf,
    /// How often the frame may be turned over while welding [default: 3, or more where the job's rules need it]
    #[arg(long, value_name = "COUNT")]
    pub turns: Option<u16>,
    /// How hard to try, 1 to 1000: ten times the effort takes ten times as long.
    #[arg(long, default_value_t = 10, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1000))]
    pub effort: u64,
    /// Another seed may give another order that is as good; the same seed and effort always give the same.
    #[arg(long, default_value_t = 1, value_name = "N")]
    pub seed: u64,
    /// Balance heat moments only, as the logger does, without trying orders on the structure.
    #[arg(long)]
    pub moments: bool,
    /// Print JSON instead of text.
    #[arg(long)]
    pub json: bool,
    /// Write to this file instead of standard output; with the ending .html a page to step through and to print, with
    /// .svg or .png a drawing of each time the frame lies on the table.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace that file if it exists.
    #[arg(long, requires = "out")]
    pub force: bool,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`] when the job has mistakes or allows no order, or a file cannot be read or written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let job = job::load(&arguments.job)?;
    let options = Options {
        most_turns: arguments.turns,
        effort: Effort {
            trials: arguments.effort * TRIALS_PER_EFFORT,
            seed: arguments.seed,
        },
    };
    let planned = if arguments.moments {
        plan(&job, &options, &mut |_| true)
    } else {
        plan_on_structure(&job, &options, &mut |_| true)
    };
    let mut plan =
        planned.map_err(|error| Failure::Input(format!("{}: {error}", arguments.job.display())))?;
    if !arguments.moments {
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
            let existing = if arguments.force {
                Existing::Replace
            } else {
                Existing::Keep
            };
            save(path, &report, existing)?;
            writeln!(io.out, "Written: {}", path.display())?;
            Ok(())
        }
        None => Ok(io.out.write_all(&report)?),
    }
}
