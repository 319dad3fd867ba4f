//! `coldsquare saw JOB`: what goes to the saw, piece by piece and bar by bar.

use super::Io;
use crate::disk::Disk;
use crate::save::{Existing, refuse_input, save};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::page::saw_page;
use coldsquare_engine::saw::{Fraction, SawList, Settings, saw_json, saw_text};
use coldsquare_engine::section::Section;
use coldsquare_engine::units::Units;
use std::path::PathBuf;

/// Arguments of `saw`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Set the width of the cut [default: 3 mm]
    #[arg(long, value_name = "LENGTH")]
    pub kerf: Option<String>,
    /// Set the length of a bar [default: 6 m, or 20 ft]
    #[arg(long, value_name = "LENGTH")]
    pub stock: Option<String>,
    /// Use an offcut from the rack first: "SHS 40x40x2=1450"
    #[arg(long, value_name = "SECTION=LENGTH")]
    pub offcut: Vec<String>,
    /// Round lengths to this part of an inch: 8, 16, 32 or 64
    #[arg(long, value_name = "PARTS", value_parser = parts)]
    pub fraction: Option<Fraction>,
    /// Write a page to print: .html
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long)]
    pub force: bool,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

fn parts(text: &str) -> Result<Fraction, String> {
    let parts = text.trim_start_matches("1/").parse().ok();
    parts
        .and_then(Fraction::of)
        .ok_or_else(|| "choose one of 2, 4, 8, 16, 32, 64".to_owned())
}

/// Prints the list, and writes the page.
///
/// # Errors
/// [`Failure`] when the job has errors, an option is no length, or the page is there already.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let list = SawList::new(&job, &settings(arguments, &job)?);
    if arguments.json {
        io.print_json(&saw_json(&job, &list))?;
    } else {
        io.out.write_all(saw_text(&job, &list).as_bytes())?;
    }
    let Some(path) = &arguments.out else {
        return Ok(());
    };
    refuse_input(path, [arguments.job.as_path()])?;
    let existing = Existing::with_force(arguments.force);
    save(path, saw_page(&job, &list).as_bytes(), existing)?;
    let note: &mut dyn std::io::Write = if arguments.json { io.err } else { io.out };
    writeln!(note, "\nWritten: {}", path.display())?;
    Ok(())
}

fn settings(arguments: &Arguments, job: &Job) -> Result<Settings, Failure> {
    let usual = Settings::of(job);
    let length = |option: &str, text: &str| {
        let length = job.units.parse_length(text).filter(|length| length.0 > 0.0);
        length.map(|length| length.0).ok_or_else(|| {
            Failure::Usage(format!(
                "--{option}: '{text}' is not a length; write 3, \"6 m\" or \"1/8 in\""
            ))
        })
    };
    let or_usual = |option: &str, given: &Option<String>, usual: f64| {
        given
            .as_ref()
            .map_or(Ok(usual), |text| length(option, text))
    };
    let mut offcuts = Vec::new();
    for text in &arguments.offcut {
        let (section, long) = text.split_once('=').ok_or_else(|| {
            Failure::Usage(format!(
                "--offcut: write the section, = and the length, not '{text}'"
            ))
        })?;
        let parsed = match job.units {
            Units::Metric => Section::parse(section),
            Units::UsCustomary => Section::parse_inches(section),
        };
        let section = parsed.map_err(|error| Failure::Usage(format!("--offcut: {error}")))?;
        offcuts.push((section, length("offcut", long.trim())?));
    }
    Ok(Settings {
        kerf_mm: or_usual("kerf", &arguments.kerf, usual.kerf_mm)?,
        stock_mm: or_usual("stock", &arguments.stock, usual.stock_mm)?,
        offcuts,
        fraction: arguments.fraction,
    })
}
