//! `coldsquare demo`: the whole job on a garden gate, with no hardware and no network.
//!
//! It runs the commands a maker would type, one after the other; between plan and map an invented maker welds the gate on
//! a simulated logger.

mod two_gates;

use super::Io;
use crate::save::{Existing, save};
use coldsquare_engine::failure::Failure;
use std::borrow::Cow;
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
    command: Cow<'static, str>,
    /// File that keeps what the command prints.
    printed: Option<&'static str>,
}

const fn step(what: &'static str, command: &'static str, printed: Option<&'static str>) -> Step {
    Step {
        what,
        command: Cow::Borrowed(command),
        printed,
    }
}

const JOB: &str = "garden-gate.toml";
const MEASURED: &str = "garden-gate-measured.toml";
const PLAN: &str = "plan.json";
const SHOP: &str = "our-shop.toml";

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
        let words = words(&step.command);
        let mut typed = vec!["coldsquare".to_owned()];
        typed.extend(
            words
                .iter()
                .map(|word| match word.contains('.') && !word.contains(' ') {
                    // Words with a dot are files here; "." is the folder.
                    true => self.at(word).display().to_string(),
                    false => (*word).to_owned(),
                }),
        );
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
