//! `coldsquare demo`: the whole job on a garden gate, with no hardware and no network.
//!
//! It runs the commands a maker would type, one after the other; between plan and map an invented maker welds the gate on
//! a simulated logger.

mod folder;
mod two_gates;

pub use folder::Typed;

use super::Io;
use coldsquare_engine::failure::Failure;
use folder::{Folder, JOB, MEASURED, SHOP, Step, step};
use std::path::PathBuf;

/// Arguments of `demo`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Write into this folder
    #[arg(long, default_value = "coldsquare-demo", value_name = "FOLDER")]
    pub out: PathBuf,
    /// Replace the files of an earlier demo
    #[arg(long)]
    pub force: bool,
    /// Simulate another day's welding with another seed
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    pub seed: u64,
}

const BEFORE_WELDING: [Step; 4] = [
    step(
        "the job: members, welds, cut list",
        "check garden-gate.toml",
        Some("check.txt"),
    ),
    step(
        "the order of welding, as a page",
        "plan garden-gate.toml --out plan.html",
        None,
    ),
    step(
        "the same for programs",
        "plan garden-gate.toml --json --out plan.json",
        None,
    ),
    step(
        "how the gate will move in that order",
        "predict garden-gate.toml --order plan.json",
        Some("predicted.txt"),
    ),
];

const AFTER_WELDING: [Step; 4] = [
    step(
        "the heat input of every weld: page, SVG, CSV, JSON",
        "map garden-gate.toml weld.log --order plan.json --out . --html --svg --csv --json --draw",
        Some("map.txt"),
    ),
    step(
        "the build record, weld-record.html and .json, for customer or inspector",
        "record garden-gate.toml weld.log --order plan.json --out . --welder W1",
        Some("record.txt"),
    ),
    step(
        "how the gate moves with the measured heat",
        "predict garden-gate.toml --order plan.json --log weld.log",
        Some("as-welded.txt"),
    ),
    step(
        "straightening: where to press or heat, and how much; the page is correction.html",
        "correct garden-gate.toml --page correction.html",
        Some("correction.txt"),
    ),
];

/// Runs the demo: every command in it as it is `typed`.
///
/// # Errors
/// [`Failure`] when the folder cannot be written, or holds an earlier demo and `--force` was not given.
pub fn run(arguments: &Arguments, typed: Typed, io: &mut Io<'_>) -> Result<(), Failure> {
    let folder = Folder {
        typed,
        path: &arguments.out,
        force: arguments.force,
    };
    // Notes are only ever added: those of an earlier demo are not of this one.
    if arguments.force {
        for notebook in [MEASURED, SHOP] {
            let _ = std::fs::remove_file(folder.at(notebook));
        }
    }
    folder.write(JOB, two_gates::job_text().as_bytes())?;
    writeln!(
        io.out,
        "A garden gate between two piers, from the job file to the weld map, and a second gate with what the first has\n\
         taught. Everything is invented: the welding, the shop and what it measures are simulated.\n"
    )?;
    for step in &BEFORE_WELDING {
        folder.run(step, io)?;
    }
    let mut gates = two_gates::TwoGates::new(&folder)?;
    gates.weld_and_measure(&folder, arguments.seed, io)?;
    for step in &AFTER_WELDING {
        folder.run(step, io)?;
    }
    for step in &two_gates::LEARNING {
        folder.run(step, io)?;
    }
    gates.weld_and_measure(&folder, arguments.seed + 1, io)?;
    gates.compare(&folder, io)?;
    writeln!(
        io.out,
        "\nAll files are in {}.\nOpen {}, {} and {}.\n\
         Next: `coldsquare new my-frame.toml` writes a job file for a frame of your own.",
        arguments.out.display(),
        folder.at("plan.html").display(),
        folder.at("weld-map.html").display(),
        folder.at("weld-record.html").display()
    )?;
    Ok(())
}
