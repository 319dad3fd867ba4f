//! `coldsquare fixture JOB`: blocks, spacers and clamps on the table, so that the cold frame is right and comes out.

use super::Io;
use super::picture::painted;
use super::predict::drawn;
use crate::disk::Disk;
use crate::save::{Existing, refuse_early, save};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::fixture::{self, Fixture};
use coldsquare_engine::job;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::job::setup::SpacerMaterial;
use coldsquare_engine::measured::length::{bare_unit, length};
use coldsquare_engine::{drawing, order, page};
use std::path::PathBuf;

const AFTER: &str = "What the options leave open comes from [fixture] in the job: grid, hole, table = [width, height], spacers, \
play and fit. Lengths are in the job's units.";

/// Arguments of `fixture`.
#[derive(Debug, clap::Args)]
#[command(after_help = AFTER)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Weld in this order: numbers and ranges (3,1,2 or "5-8 1-4"), or a file with a list or a plan's JSON [default: file order]
    #[arg(long, value_name = "ORDER")]
    pub order: Option<String>,
    /// Set the distance from hole to hole of the table [default: 50 mm, or 2 in]
    #[arg(long, value_name = "LENGTH")]
    pub grid: Option<String>,
    /// Set the diameter of the holes [default: 16 mm, or 5/8 in]
    #[arg(long, value_name = "LENGTH")]
    pub hole: Option<String>,
    /// Set the size of the table, width and height
    #[arg(long, value_names = ["WIDTH", "HEIGHT"], num_args = 2)]
    pub table: Option<Vec<String>>,
    /// Choose what spacers are made of
    #[arg(long, value_name = "MATERIAL", value_parser = ["metal", "wood"])]
    pub spacers: Option<String>,
    /// Print in these units [default: those of the job]
    #[arg(long, value_name = "UNITS", value_parser = ["mm", "inch"])]
    pub units: Option<String>,
    /// Print JSON (always in mm) instead of text
    #[arg(long)]
    pub json: bool,
    /// Write to this file instead of standard output: .html for a page to print, .svg or .png for the drawing
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long, requires = "out")]
    pub force: bool,
}

/// Works the fixture out and prints it.
///
/// # Errors
/// [`Failure`] when the job has errors or its movement cannot be worked out, or a file cannot be read or written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let existing = Existing::with_force(arguments.force);
    if let Some(path) = &arguments.out {
        refuse_early(path, [arguments.job.as_path()], existing)?;
    }
    let mut job = job::load(&Disk, &arguments.job)?;
    table(arguments, &mut job)?;
    job.units = super::units(arguments.units.as_deref(), job.units);
    let (order, named) = match &arguments.order {
        Some(given) => order::given(&Disk, given, &job)?,
        None => drawn(&job),
    };
    let fixture = fixture::fixture(&job, &order)
        .map_err(|error| Failure::Input(format!("{}: {error}", arguments.job.display())))?;
    let Some(path) = &arguments.out else {
        if arguments.json {
            return io.print_json(&fixture);
        }
        let text = fixture::text::text(&fixture, job.units, &named);
        return Ok(io.out.write_all(text.as_bytes())?);
    };
    save(path, &report(arguments, &job, &fixture, &named)?, existing)?;
    Ok(writeln!(io.out, "Written: {}", path.display())?)
}

/// What the options say about the table, in place of the job's `[fixture]`.
fn table(arguments: &Arguments, job: &mut Job) -> Result<(), Failure> {
    let bare = bare_unit(job.units);
    let read = |text: &String| {
        let (value, unit) = length(text, bare).map_err(Failure::Usage)?;
        Ok::<f64, Failure>(value * unit.in_mm())
    };
    let table = &mut job.fixture;
    if let Some(grid) = &arguments.grid {
        table.grid_mm = read(grid)?;
    }
    if let Some(hole) = &arguments.hole {
        table.hole_mm = read(hole)?;
    }
    if let Some([width, height]) = arguments.table.as_deref() {
        table.table_mm = Some([read(width)?, read(height)?]);
    }
    match arguments.spacers.as_deref() {
        Some("wood") => table.spacers = SpacerMaterial::Wood,
        Some(_) => table.spacers = SpacerMaterial::Metal,
        None => {}
    }
    table
        .fault()
        .map_or(Ok(()), |fault| Err(Failure::Usage(fault)))
}

/// The fixture as a file with the ending asked for.
fn report(
    arguments: &Arguments,
    job: &Job,
    fixture: &Fixture,
    order: &str,
) -> Result<Vec<u8>, Failure> {
    let ending = arguments.out.as_ref().and_then(|path| path.extension());
    let ending = ending.and_then(|ending| ending.to_str());
    Ok(match ending.unwrap_or_default() {
        ending if arguments.json || ending == "json" => as_json(fixture)?,
        "html" | "htm" => page::fixture_html(job, fixture, order).into_bytes(),
        "svg" => drawing::fixture_svg(fixture, job.units).into_bytes(),
        "png" => painted(&drawing::fixture_svg(fixture, job.units))?,
        _ => fixture::text::text(fixture, job.units, order).into_bytes(),
    })
}

fn as_json(fixture: &Fixture) -> Result<Vec<u8>, Failure> {
    serde_json::to_string_pretty(fixture)
        .map(|json| (json + "\n").into_bytes())
        .map_err(|cause| Failure::Input(format!("the fixture cannot be written as JSON: {cause}")))
}
