//! The folder of the demo: it writes files and runs commands in it as they are typed.

use crate::command::Io;
use crate::save::{Existing, save};
use coldsquare_engine::failure::Failure;
use std::borrow::Cow;
use std::path::{Path, PathBuf};

/// Runs a command as it is typed, and gives its exit code.
pub type Typed = fn(&[String], &mut Io<'_>) -> u8;

/// A command of the demo, as it is typed in the demo's folder.
pub(super) struct Step {
    pub(super) what: &'static str,
    pub(super) command: Cow<'static, str>,
    /// File that keeps what the command prints.
    pub(super) printed: Option<&'static str>,
}

pub(super) const fn step(
    what: &'static str,
    command: &'static str,
    printed: Option<&'static str>,
) -> Step {
    Step {
        what,
        command: Cow::Borrowed(command),
        printed,
    }
}

pub(super) const JOB: &str = "garden-gate.toml";
pub(super) const MEASURED: &str = "garden-gate-measured.toml";
pub(super) const PLAN: &str = "plan.json";
pub(super) const SHOP: &str = "our-shop.toml";

/// The folder of the demo.
pub(super) struct Folder<'a> {
    pub(super) typed: Typed,
    pub(super) path: &'a Path,
    pub(super) force: bool,
}

impl Folder<'_> {
    pub(super) fn at(&self, name: &str) -> PathBuf {
        self.path.join(name)
    }

    pub(super) fn write(&self, name: &str, bytes: &[u8]) -> Result<(), Failure> {
        save(&self.at(name), bytes, Existing::with_force(self.force))
    }

    /// Runs a command on files of this folder and lists it.
    pub(super) fn run(&self, step: &Step, io: &mut Io<'_>) -> Result<(), Failure> {
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
