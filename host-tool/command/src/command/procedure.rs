//! `coldsquare procedure new` and `coldsquare procedure check FILE`.

use super::Io;
use crate::disk::Disk;
use crate::save::{Existing, save};
use coldsquare_core::process::Process;
use coldsquare_core::units::Millimetres;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::formulas::metal::Metal;
use coldsquare_engine::formulas::starting_points::Joint;
use coldsquare_engine::procedure::start::{self, Wanted};
use coldsquare_engine::procedure::{from_source, text};
use coldsquare_engine::units::Units;
use std::path::PathBuf;

/// Arguments of `procedure`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, clap::Subcommand)]
enum Command {
    /// Write a commented file from published settings: starting points to try on scrap
    New(New),
    /// Check a procedure file: print it as a sheet, or every error
    Check(Check),
}

/// Arguments of `procedure new`.
#[derive(Debug, clap::Args)]
pub struct New {
    /// Choose the process by ISO 4063 number or name: 135 or mag, 136 or flux-cored, 141 or tig
    #[arg(long, value_name = "PROCESS", value_parser = super::reading::process)]
    pub process: Process,
    /// Choose the metal: steel, stainless or aluminium
    #[arg(long, default_value = "steel", value_parser = metal)]
    pub material: Metal,
    /// Give the thickness of the thinner part, in mm, or "1/8 in"
    #[arg(long, value_parser = thickness)]
    pub thickness: Millimetres,
    /// Choose the joint: fillet, lap, corner or butt [default: the first of these that has settings]
    #[arg(long, value_parser = joint)]
    pub joint: Option<Joint>,
    /// Write the file in these units
    #[arg(long, default_value = "mm", value_parser = ["mm", "inch"])]
    pub units: String,
    /// Write to this file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long)]
    pub force: bool,
}

/// Arguments of `procedure check`.
#[derive(Debug, clap::Args)]
pub struct Check {
    /// Procedure file
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
}

pub(super) fn metal(text: &str) -> Result<Metal, String> {
    match text.to_lowercase().as_str() {
        "steel" | "mild steel" | "s235" => Ok(Metal::MildSteel),
        "stainless" | "304" | "1.4301" => Ok(Metal::Stainless),
        "aluminium" | "aluminum" => Ok(Metal::Aluminium),
        _ => Err("choose steel, stainless or aluminium".into()),
    }
}

fn joint(text: &str) -> Result<Joint, String> {
    match text.to_lowercase().as_str() {
        "fillet" => Ok(Joint::Fillet),
        "lap" => Ok(Joint::Lap),
        "corner" => Ok(Joint::Corner),
        "butt" => Ok(Joint::Butt),
        _ => Err("choose fillet, lap, corner or butt".into()),
    }
}

/// A length greater than zero.
pub(super) fn thickness(text: &str) -> Result<Millimetres, String> {
    coldsquare_engine::units::Units::Metric
        .parse_length(text)
        .filter(|length| length.0 > 0.0 && length.0 <= 1000.0)
        .ok_or_else(|| "give a length greater than zero, such as 3 or \"1/8 in\"".into())
}

/// Runs `procedure`.
///
/// # Errors
/// [`Failure::Input`] when the file has errors or there are no settings for what is wanted,
/// [`Failure::WouldOverwrite`] when the file is there already.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    match &arguments.command {
        Command::New(arguments) => new(arguments, io),
        Command::Check(arguments) => check(arguments, io),
    }
}

fn new(arguments: &New, io: &mut Io<'_>) -> Result<(), Failure> {
    let text = start::file(&Wanted {
        process: arguments.process,
        metal: arguments.material,
        thickness: arguments.thickness,
        joint: arguments.joint,
        units: if arguments.units == "inch" {
            Units::UsCustomary
        } else {
            Units::Metric
        },
    })
    .map_err(|none| Failure::Input(none.to_string()))?;
    let Some(path) = &arguments.out else {
        write!(io.out, "{text}")?;
        return Ok(());
    };
    let existing = Existing::with_force(arguments.force);
    save(path, text.as_bytes(), existing)?;
    writeln!(io.out, "{}", path.display())?;
    writeln!(
        io.err,
        "Next: try it on scrap, correct the settings, then name it in a job: procedure = \"{}\"",
        path.file_name().unwrap_or_default().to_string_lossy()
    )?;
    Ok(())
}

fn check(arguments: &Check, io: &mut Io<'_>) -> Result<(), Failure> {
    let source = coldsquare_engine::files::text(&Disk, &arguments.file)?;
    let (procedure, units) =
        from_source(&source).map_err(|errors| Failure::Input(errors.to_string()))?;
    let mut table = super::table::Table::new("<<");
    for (name, value) in text::rows(&procedure, units) {
        table.row([name, value]);
    }
    table.print(io.out)?;
    writeln!(
        io.out,
        "\nFor structural and other work that somebody depends on, a procedure is qualified by test and welded by \
         certified people\nunder the code that applies; this sheet replaces neither."
    )?;
    let metal = match procedure
        .sheet
        .material_group
        .as_deref()
        .unwrap_or_default()
    {
        group if group.starts_with('8') => Metal::Stainless,
        group if group.starts_with('2') => Metal::Aluminium,
        _ => Metal::MildSteel,
    };
    for caution in start::cautions(metal) {
        writeln!(io.out, "{caution}")?;
    }
    writeln!(
        io.out,
        "Wood jigs, rags and paint burn long after the arc: clear them and keep a fire watch."
    )?;
    if procedure.sheet.preheat.is_some() {
        writeln!(
            io.out,
            "Preheated metal burns and looks cold: mark it, measure with crayon or probe 75 mm from the joint or less \
             on thin parts."
        )?;
    }
    Ok(())
}
