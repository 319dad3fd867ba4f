//! `coldsquare demo`: the whole job on a garden gate, with no hardware and no network.
//!
//! It types the commands that a maker types, one after the other, and between plan and map lets an invented maker weld
//! the gate in front of the simulated logger.

use super::Io;
use crate::demo;
use crate::disk::Disk;
use crate::save::{Existing, save};
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
    folder.write(
        "garden-gate.toml",
        coldsquare_engine::example::GARDEN_GATE.as_bytes(),
    )?;
    writeln!(
        io.out,
        "A garden gate between two piers, from the job file to the weld map. Everything is invented.\n"
    )?;

    folder.run(
        io,
        "the job: members, welds, cut list",
        &["check", "garden-gate.toml"],
        Some("check.txt"),
    )?;
    let plan = ["plan", "garden-gate.toml", "--out"];
    folder.run(
        io,
        "the order of welding, as a page",
        &[&plan[..], &["plan.html"]].concat(),
        None,
    )?;
    folder.run(
        io,
        "the same for machines",
        &[&plan[..], &["plan.json", "--json"]].concat(),
        None,
    )?;
    let predict = ["predict", "garden-gate.toml", "--order", "plan.json"];
    folder.run(
        io,
        "how the gate will move in that order",
        &predict,
        Some("predicted.txt"),
    )?;

    let job = coldsquare_engine::job::load(&Disk, &folder.at("garden-gate.toml"))?;
    let (order, _) = order::given(&Disk, &folder.at("plan.json").display().to_string(), &job)?;
    let (log, _) = coldsquare_firmware::sim::log_build(&demo::build(&job, &order), arguments.seed)
        .map_err(|error| Failure::Input(format!("the simulated logger: {error}")))?;
    folder.write("weld.log", &log)?;
    writeln!(
        io.out,
        "  weld.log        the gate is welded, with mishaps, on a simulated logger"
    )?;

    // Measurements are only ever added: those of an earlier demo are not of this one.
    if arguments.force {
        let _ = std::fs::remove_file(folder.at("garden-gate-measured.toml"));
    }
    folder.run(
        io,
        "clamps off: what straightedge and tape show, kept in garden-gate-measured.toml",
        &[
            "measure",
            "garden-gate.toml",
            "--bow",
            "top rail up = 4 mm",
            "--width",
            "top = 1199 mm",
            "--diagonals",
            "1499, 1498",
            "--log",
            "weld.log",
            "--on",
            "2026-05-04",
        ],
        Some("measured.txt"),
    )?;
    let map = [
        "map",
        "garden-gate.toml",
        "weld.log",
        "--order",
        "plan.json",
        "--out",
        ".",
    ];
    let kinds = ["--html", "--svg", "--csv", "--json", "--draw"];
    folder.run(
        io,
        "the heat input of every weld: page, SVG, CSV, JSON",
        &[&map[..], &kinds].concat(),
        Some("map.txt"),
    )?;

    let record = [
        "record",
        "garden-gate.toml",
        "weld.log",
        "--order",
        "plan.json",
        "--out",
        ".",
        "--welder",
        "W1",
    ];
    folder.run(
        io,
        "the build record, weld-record.html and .json, for customer or inspector",
        &record,
        Some("record.txt"),
    )?;

    let moved = [
        "predict",
        "garden-gate.toml",
        "--order",
        "plan.json",
        "--log",
        "weld.log",
    ];
    folder.run(
        io,
        "how the gate moves with the measured heat",
        &moved,
        Some("as-welded.txt"),
    )?;

    folder.run(
        io,
        "straightening: where to press or heat, and how much; the page is correction.html",
        &["correct", "garden-gate.toml", "--page", "correction.html"],
        Some("correction.txt"),
    )?;

    writeln!(io.out, "\nAll files are in {}.", arguments.out.display())?;
    writeln!(
        io.out,
        "Open {}, {} and {}.",
        folder.at("plan.html").display(),
        folder.at("weld-map.html").display(),
        folder.at("weld-record.html").display()
    )?;
    writeln!(
        io.out,
        "Next: `coldsquare new my-frame.toml` writes a job file for a frame of your own."
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
        save(
            &self.at(name),
            bytes,
            Existing::with_force(self.force),
        )
    }

    /// Runs a command on files of this folder and lists it; keeps what it prints in `file` if one is named.
    fn run(
        &self,
        io: &mut Io<'_>,
        what: &str,
        words: &[&str],
        keep: Option<&str>,
    ) -> Result<(), Failure> {
        let mut typed = vec!["coldsquare".to_owned()];
        for word in words {
            // Arguments with a dot are files here; "." is the folder.
            typed.push(if word.contains('.') {
                self.at(word).display().to_string()
            } else {
                (*word).to_owned()
            });
        }
        if self.force && (words.contains(&"--out") || words.contains(&"--page")) {
            typed.push("--force".to_owned());
        }
        let (mut printed, mut complaints) = (Vec::new(), Vec::new());
        let code = (self.typed)(
            &typed,
            &mut Io {
                out: &mut printed,
                err: &mut complaints,
                interactive: false,
            },
        );
        if code != 0 {
            let complaint = String::from_utf8_lossy(&complaints);
            return Err(Failure::Input(format!(
                "`{}` failed: {}",
                typed.join(" "),
                complaint.trim()
            )));
        }
        if let Some(name) = keep {
            self.write(name, &printed)?;
        }
        let file = keep
            .or(words.iter().copied().rfind(|word| word.contains('.')))
            .unwrap_or_default();
        writeln!(
            io.out,
            "  {file:<15} {what}\n                  coldsquare {}",
            as_typed(words)
        )?;
        Ok(())
    }
}

/// Arguments as typed: in quotes if they have spaces.
fn as_typed(words: &[&str]) -> String {
    let word = |word: &&str| match word.contains(' ') {
        true => format!("\"{word}\""),
        false => (*word).to_owned(),
    };
    words.iter().map(word).collect::<Vec<_>>().join(" ")
}
