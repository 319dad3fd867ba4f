//! `coldsquare import DRAWING`: a job file from the centre lines in a DXF drawing or a table of nodes and members.

use super::Io;
use super::table::Table;
use crate::save::{Existing, refuse_input, save};
use coldsquare_core::units::MILLIMETRES_PER_INCH;
use coldsquare_engine::drawing::frame_in_characters;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::file_error::{FileErrors, Source};
use coldsquare_engine::format::{Precision, count};
use coldsquare_engine::job;
use coldsquare_engine::line_drawing::{Imported, LineDrawing, Wanted, import, read};
use coldsquare_engine::units::Units;
use std::io::Read as _;
use std::path::{Path, PathBuf};

/// Largest drawing read, bytes.
const MAX_DRAWING: u64 = 64_000_000;
/// At most so much of what was left out is listed; the job file lists it too.
const MAX_LISTED: usize = 20;

/// Arguments of `import`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Drawing of the centre lines (.dxf), or table of nodes and members (.csv)
    #[arg(value_name = "DRAWING")]
    pub drawing: PathBuf,
    /// Set the section of every line whose layer has none: "SHS 40x40x2"
    #[arg(long)]
    pub section: Option<String>,
    /// Set the section of a layer: "LEGS=SHS 30x30x2"; a layer named after its section, as SHS_40X40X2, needs none
    #[arg(long, value_name = "LAYER=SECTION", value_parser = layer)]
    pub layer: Vec<(String, String)>,
    /// Leave out a layer that is not part of the frame
    #[arg(long, value_name = "LAYER")]
    pub leave_out: Vec<String>,
    /// Take ends this far apart as one place [default: 1 mm]
    #[arg(long, value_name = "LENGTH")]
    pub tolerance: Option<String>,
    /// Set the unit of the drawing: mm, cm, m, in or ft [default: what the drawing says, or that of the job file]
    #[arg(long, value_name = "UNIT", value_parser = ["mm", "cm", "m", "in", "ft"])]
    pub drawing_unit: Option<String>,
    /// Write the job file in these units
    #[arg(long, default_value = "mm", value_parser = ["mm", "inch"])]
    pub units: String,
    /// Name the job [default: the name of the drawing]
    #[arg(long)]
    pub name: Option<String>,
    /// Write to this file [default: the name of the drawing with .toml, in this folder]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long)]
    pub force: bool,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

fn layer(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((layer, section)) if !layer.trim().is_empty() && !section.trim().is_empty() => {
            Ok((layer.trim().to_owned(), section.trim().to_owned()))
        }
        _ => Err("write the layer, = and its section: \"LEGS=SHS 30x30x2\"".to_owned()),
    }
}

/// Writes the job file, shows its picture and says what became of the drawing.
///
/// # Errors
/// [`Failure::Input`] for a drawing that cannot be read or has no frame, [`Failure::WouldOverwrite`] when the job file is
/// there already.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let drawing = drawing(&arguments.drawing)?;
    let units = match arguments.units.as_str() {
        "inch" => Units::UsCustomary,
        _ => Units::Metric,
    };
    let tolerance_mm = match &arguments.tolerance {
        None => 1.0,
        Some(text) => {
            let length = units.parse_length(text).filter(|length| length.0 > 0.0);
            let what = || format!("--tolerance: '{text}' is not a length; write 1 or \"1/16 in\"");
            length.ok_or_else(|| Failure::Usage(what()))?.0
        }
    };
    let stem = arguments.drawing.file_stem();
    let stem = stem.map_or_else(
        || "frame".into(),
        |stem| stem.to_string_lossy().into_owned(),
    );
    let title = arguments.name.clone().unwrap_or_else(|| stem.clone());
    let imported = import(
        &drawing,
        &Wanted {
            title: &title,
            units,
            mm_per_unit: arguments.drawing_unit.as_deref().map(mm_in),
            tolerance_mm,
            sections: &arguments.layer,
            section: arguments.section.as_deref(),
            leave_out: &arguments.leave_out,
        },
    )
    .map_err(|error| Failure::Input(format!("{}: {error}", arguments.drawing.display())))?;
    let path = arguments
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from(format!("{stem}.toml")));
    refuse_input(&path, [arguments.drawing.as_path()])?;
    let existing = Existing::with_force(arguments.force);
    save(&path, imported.job_file.as_bytes(), existing)?;
    let source = Source::new(path.display().to_string(), imported.job_file.as_str());
    let errors = job::from_text(source.name(), source.text()).err();
    if arguments.json {
        return io.print_json(&json(&imported, &path, errors.as_ref()));
    }
    report(&imported, units, io)?;
    picture(&source, errors.as_ref(), io)?;
    writeln!(io.out, "Written: {}", path.display())?;
    let next = match errors {
        None => "put your own procedure into it, then",
        Some(_) => "correct these in the job file, then",
    };
    writeln!(
        io.out,
        "Next: {next} `coldsquare check {}` for the cut list and the welds.",
        path.display()
    )?;
    Ok(())
}

fn drawing(path: &Path) -> Result<LineDrawing, Failure> {
    let file = std::fs::File::open(path).map_err(Failure::file(path, "read"))?;
    let mut bytes = Vec::new();
    file.take(MAX_DRAWING + 1)
        .read_to_end(&mut bytes)
        .map_err(Failure::file(path, "read"))?;
    if bytes.len() as u64 > MAX_DRAWING {
        return Err(Failure::Input(format!(
            "{}: larger than 64 MB: save the centre lines of one frame alone",
            path.display()
        )));
    }
    read(&path.display().to_string(), &bytes)
        .map_err(|error| Failure::Input(FileErrors::from(error).to_string()))
}

fn mm_in(unit: &str) -> f64 {
    match unit {
        "cm" => 10.0,
        "m" => 1000.0,
        "in" => MILLIMETRES_PER_INCH,
        "ft" => 12.0 * MILLIMETRES_PER_INCH,
        _ => 1.0,
    }
}

fn report(imported: &Imported, units: Units, io: &mut Io<'_>) -> std::io::Result<()> {
    writeln!(
        io.out,
        "{} of the drawing came to {}.",
        count(imported.lines, "line"),
        count(imported.members, "member")
    )?;
    if imported.joined > 0 {
        let joined = count(imported.joined, "line");
        writeln!(
            io.out,
            "{joined} ran straight on into another and became one member with it."
        )?;
    }
    if imported.moved_mm > 0.0 {
        let moved = units.length_with_unit(imported.moved_mm, Precision::Calculated);
        writeln!(io.out, "Ends were moved by up to {moved} to meet.")?;
    }
    if !imported.unit_said {
        let unit = units.length_name();
        writeln!(
            io.err,
            "note: the drawing does not say its unit; it was read in {unit}. use --drawing-unit if it is in another"
        )?;
    }
    for note in &imported.notes {
        writeln!(io.err, "note: {note}")?;
    }
    if !imported.left_out.is_empty() {
        writeln!(io.out, "\nLeft out")?;
        let mut table = Table::new("><<");
        table.row(["line", "what", "why"]);
        for left in imported.left_out.iter().take(MAX_LISTED) {
            table.row([left.line.to_string(), left.what.clone(), left.why.clone()]);
        }
        table.print(io.out)?;
        if let Some(more) = imported
            .left_out
            .len()
            .checked_sub(MAX_LISTED)
            .filter(|n| *n > 0)
        {
            writeln!(io.out, "… and {more} more; --json lists all")?;
        }
    }
    Ok(())
}

/// The frame, or what can be drawn of it with its errors.
fn picture(source: &Source, errors: Option<&FileErrors>, io: &mut Io<'_>) -> Result<(), Failure> {
    let columns = super::map::terminal_columns();
    match (job::from_text(source.name(), source.text()), errors) {
        (Ok(job), _) => write!(io.out, "\n{}\n", frame_in_characters(&job, columns))?,
        (Err(_), Some(errors)) => {
            super::check::print_sketch(source, errors, Some(columns), io)?;
            writeln!(io.err, "\n{errors}")?;
        }
        (Err(_), None) => {}
    }
    Ok(())
}

fn json(imported: &Imported, path: &Path, errors: Option<&FileErrors>) -> serde_json::Value {
    let left_out: Vec<_> = imported
        .left_out
        .iter()
        .map(|left| serde_json::json!({ "line": left.line, "what": left.what, "why": left.why }))
        .collect();
    serde_json::json!({
        "job_file": path.display().to_string(),
        "lines": imported.lines,
        "members": imported.members,
        "joined": imported.joined,
        "moved_mm": imported.moved_mm,
        "unit_said": imported.unit_said,
        "left_out": left_out,
        "notes": imported.notes,
        "errors": errors.map(job::json::errors_json),
    })
}
