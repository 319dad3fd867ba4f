//! `coldsquare demo`: the whole job on a garden gate, with no hardware and no network.

use crate::demo;
use crate::job;
use crate::run::{Failure, Io};
use crate::save::{Existing, save};
use std::path::PathBuf;

/// Arguments of `demo`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Folder to write into.
    #[arg(long, default_value = "coldsquare-demo", value_name = "FOLDER")]
    pub out: PathBuf,
    /// Replace the files of an earlier demo.
    #[arg(long)]
    pub force: bool,
    /// Another seed gives another day's welding.
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    pub seed: u64,
}

/// Runs the demo.
///
/// # Errors
/// [`Failure`] when the folder cannot be written, or holds an earlier demo and `--force` was not given.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let existing = if arguments.force {
        Existing::Replace
    } else {
        Existing::Keep
    };
    let at = |name: &str| arguments.out.join(name);
    save(
        &at("garden-gate.toml"),
        demo::GARDEN_GATE.as_bytes(),
        existing,
    )?;
    let job = job::load(&at("garden-gate.toml"))?;
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let build = demo::build(&job, &order);
    let (log, _) = coldsquare_firmware::sim::log_build(&build, arguments.seed)
        .map_err(|error| Failure::Input(format!("{error:?}")))?;
    save(&at("garden-gate.log"), &log, existing)?;
    writeln!(io.out, "{}", arguments.out.display())?;
    Ok(())
}
