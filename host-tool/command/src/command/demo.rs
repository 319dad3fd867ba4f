//! `coldsquare demo`: the whole job on a garden gate, with no hardware and no network.
//!
//! It runs the commands a maker would type, one after the other; between plan and map an invented maker welds the gate on
//! a simulated logger.

use super::Io;
use crate::demo;
use crate::disk::Disk;
use crate::save::{Existing, save};
use coldsquare_engine::example::GARDEN_GATE;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::order;
use std::path::{Path, PathBuf};

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

/// Runs a command as it is typed, and gives its exit code.
pub type Typed = fn(&[String], &mut Io<'_>) -> u8;

/// A command of the demo, as it is typed in the demo's folder.
struct Step {
    what: &'static str,
    command: &'static str,
    /// File that keeps what the command prints.
    printed: Option<&'static str>,
}

const fn step(what: &'static str, command: &'static str, printed: Option<&'static str>) -> Step {
    Step {
        what,
        command,
        printed,
    }
}

const JOB: &str = "garden-gate.toml";
const MEASURED: &str = "garden-gate-measured.toml";
const PLAN: &str = "plan.json";
const LOG: &str = "weld.log";

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

const AFTER_WELDING: [Step; 5] = [
    step(
        "clamps off: what straightedge and tape show, kept in garden-gate-measured.toml",
        "measure garden-gate.toml --bow \"top rail up = 4 mm\" --width \"top = 1199 mm\" --diagonals \"1499, 1498\" \
         --on 2026-05-04 --log weld.log",
        Some("measured.txt"),
    ),
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
    folder.write(JOB, GARDEN_GATE.as_bytes())?;
    writeln!(
        io.out,
        "A garden gate between two piers, from the job file to the weld map. Everything is invented.\n"
    )?;
    for step in &BEFORE_WELDING {
        folder.run(step, io)?;
    }
    weld(&folder, arguments.seed)?;
    writeln!(
        io.out,
        "  {LOG:<15} the gate is welded, with mishaps, on a simulated logger"
    )?;
    // Measurements are only ever added: those of an earlier demo are not of this one.
    if arguments.force {
        let _ = std::fs::remove_file(folder.at(MEASURED));
    }
    for step in &AFTER_WELDING {
        folder.run(step, io)?;
    }
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

/// The invented maker welds the gate as planned, on a simulated logger.
fn weld(folder: &Folder<'_>, seed: u64) -> Result<(), Failure> {
    let job = coldsquare_engine::job::load(&Disk, &folder.at(JOB))?;
    let (order, _) = order::given(&Disk, &folder.at(PLAN).display().to_string(), &job)?;
    let (log, _) = coldsquare_firmware::sim::log_build(&demo::build(&job, &order), seed)
        .map_err(|error| Failure::Input(format!("the simulated logger: {error}")))?;
    folder.write(LOG, &log)
}

/// The folder of the demo.
struct Folder<'a> {
    typed: Typed,
    path: &'a Path,
    force: bool,
}

impl Folder<'_> {
    fn at(&self, name: &str) -> PathBuf {
        self.path.join(name)
    }

    fn write(&self, name: &str, bytes: &[u8]) -> Result<(), Failure> {
        save(&self.at(name), bytes, Existing::with_force(self.force))
    }

    /// Runs a command on files of this folder and lists it.
    fn run(&self, step: &Step, io: &mut Io<'_>) -> Result<(), Failure> {
        let words = words(step.command);
        let mut typed = vec!["coldsquare".to_owned()];
        typed.extend(words.iter().map(|word| match word.contains('.') {
            // Arguments with a dot are files here; "." is the folder.
            true => self.at(word).display().to_string(),
            false => (*word).to_owned(),
        }));
        if self.force && (words.contains(&"--out") || words.contains(&"--page")) {
            typed.push("--force".to_owned());
        }
        let (mut printed, mut errors) = (Vec::new(), Vec::new());
        let code = (self.typed)(
            &typed,
            &mut Io {
                out: &mut printed,
                err: &mut errors,
                interactive: false,
            },
        );
        if code != 0 {
            return Err(Failure::Input(format!(
                "`{}` failed: {}",
                typed.join(" "),
                String::from_utf8_lossy(&errors).trim()
            )));
        }
        if let Some(name) = step.printed {
            self.write(name, &printed)?;
        }
        let written = words.last().copied().unwrap_or_default();
        writeln!(
            io.out,
            "  {:<15} {}\n                  coldsquare {}",
            step.printed.unwrap_or(written),
            step.what,
            step.command
        )?;
        Ok(())
    }
}

/// The words of a command line; quotes hold several together.
fn words(command: &str) -> Vec<&str> {
    let parts = command.split('"').enumerate();
    parts
        .flat_map(|(k, part)| match k % 2 {
            0 => part.split_whitespace().collect(),
            _ => vec![part],
        })
        .collect()
}
