//! `coldsquare opening READINGS`: the largest frame that goes in, where it will be tight, and the way in.

use super::Io;
use super::table::Table;
use crate::disk::Disk;
use crate::save::{Existing, refuse_input, save};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::format::{Precision, count, list};
use coldsquare_engine::opening::answer::{Answer, Size, answer, in_place};
use coldsquare_engine::opening::gaps::{Gap, Placed};
use coldsquare_engine::opening::model::{Readings, Side, Walls};
use coldsquare_engine::opening::rectangle::{Shape, Wanted};
use coldsquare_engine::opening::{adjust, load};
use coldsquare_engine::units::Units;
use std::path::PathBuf;

/// Gaps closer than this are alike, mm.
const AS_TIGHT_MM: f64 = 0.05;
/// A lean below this gains nothing that a tape shows, mm.
const WORTH_TELLING_MM: f64 = 0.5;

/// Arguments of `opening`.
#[derive(Debug, clap::Args)]
#[command(after_help = HOW)]
pub struct Arguments {
    /// File of readings
    #[arg(value_name = "READINGS")]
    pub readings: PathBuf,
    /// Keep this gap to the walls and the top, and to the floor unless the frame stands on it
    #[arg(long, value_name = "LENGTH", default_value = "3 mm")]
    pub clearance: String,
    /// Stand the frame on the floor or sill
    #[arg(long)]
    pub on_floor: bool,
    /// Leave the frame at the front rather than take it through to the back
    #[arg(long)]
    pub at_front: bool,
    /// Set the depth of the frame, front to back
    #[arg(long, value_name = "LENGTH", default_value = "30 mm")]
    pub depth: String,
    /// Build a parallelogram that leans with the walls
    #[arg(long)]
    pub parallelogram: bool,
    /// Round sizes down to this [default: 1 mm, or 1/16 in]
    #[arg(long, value_name = "LENGTH")]
    pub round: Option<String>,
    /// Print in these units, and read bare numbers in them [default: those of the readings]
    #[arg(long, value_parser = ["mm", "inch"])]
    pub units: Option<String>,
    /// Print JSON (always in mm) instead of text
    #[arg(long)]
    pub json: bool,
    /// Draw the opening with the frame in it into this SVG file
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace the drawing if it exists
    #[arg(long)]
    pub force: bool,
}

const HOW: &str = "\
The file of readings says what tape, plumb line and level read, at the front and at the back; see \
docs/guide/opening-and-layout.md. Readings that contradict each other, are too few or in another unit are errors: \
no size follows from them.";

/// Prints what to build.
///
/// # Errors
/// [`Failure::Input`] for readings with errors or an opening that no frame fits, [`Failure::NotAcceptable`] when the frame
/// cannot be brought in.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    if let Some(out) = &arguments.out {
        refuse_input(out, [arguments.readings.as_path()])?;
    }
    let (readings, source) = load(&Disk, &arguments.readings)?;
    let mut walls =
        adjust(&readings, &source).map_err(|errors| Failure::Input(errors.to_string()))?;
    walls.units = match arguments.units.as_deref() {
        Some("mm") => Units::Metric,
        Some("inch") => Units::UsCustomary,
        _ => walls.units,
    };
    let units = walls.units;
    let (wanted, step_mm) = wanted(arguments, units)?;
    let answer = answer(&walls, &wanted, step_mm).ok_or_else(|| {
        Failure::Input(format!(
            "{}: no frame goes in with {} clearance",
            arguments.readings.display(),
            units.length_with_unit(wanted.clearance_mm, Precision::Drawn)
        ))
    })?;
    if arguments.json {
        io.print_json(&answer.json(&walls))?;
    } else {
        print(&readings, &walls, &answer, io)?;
    }
    if let Some(out) = &arguments.out {
        let title = arguments
            .readings
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy();
        let svg = coldsquare_engine::drawing::opening_svg(&title, &walls, &answer.placed);
        save(out, svg.as_bytes(), Existing::with_force(arguments.force))?;
        if !arguments.json {
            writeln!(io.out, "\nWritten: {}", out.display())?;
        }
    }
    match answer.ways.goes() {
        true => Ok(()),
        false => Err(Failure::NotAcceptable(
            "the frame cannot be brought in".into(),
        )),
    }
}

fn wanted(arguments: &Arguments, units: Units) -> Result<(Wanted, f64), Failure> {
    let length = |name: &str, text: &str| {
        let length = units.parse_length(text).filter(|length| length.0 >= 0.0);
        length.map(|length| length.0).ok_or_else(|| {
            Failure::Usage(format!(
                "--{name} {text} is not a length; write it as \"3 mm\" or \"1/8 in\""
            ))
        })
    };
    let usual_step = match units {
        Units::Metric => "1 mm",
        Units::UsCustomary => "1/16 in",
    };
    let step_mm = length("round", arguments.round.as_deref().unwrap_or(usual_step))?;
    if step_mm <= 0.0 {
        return Err(Failure::Usage("--round must be more than 0".into()));
    }
    let wanted = Wanted {
        clearance_mm: length("clearance", &arguments.clearance)?,
        on_floor: arguments.on_floor,
        depth_mm: length("depth", &arguments.depth)?,
        at_front: arguments.at_front,
        shape: if arguments.parallelogram {
            Shape::Parallelogram
        } else {
            Shape::Plumb
        },
    };
    Ok((wanted, step_mm))
}

fn print(
    readings: &Readings,
    walls: &Walls,
    answer: &Answer,
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    let units = walls.units;
    let depths: Vec<&str> = walls.depths.iter().map(|depth| depth.1).collect();
    writeln!(
        io.out,
        "{} at the {}",
        count(readings.readings.len(), "reading"),
        list(&depths)
    )?;
    let height = answer.height.as_ref().map_or_else(String::new, |height| {
        format!(" × {} high", build(units, height))
    });
    writeln!(
        io.out,
        "\nBuild it {} wide{height}.",
        build(units, &answer.width)
    )?;
    why(units, "width", &answer.width, answer, io)?;
    if let Some(height) = &answer.height {
        why(units, "height", height, answer, io)?;
    }
    let over = walls
        .stations
        .iter()
        .map(|one| one.at_mm)
        .fold(0.0, f64::max);
    if answer.wanted.shape == Shape::Parallelogram {
        let lean = units.signed_length(answer.clear.lean * 1000.0, Precision::Drawn);
        writeln!(
            io.out,
            "  Its uprights lean {lean} {} to the right for each metre up; its rails are level.",
            units.length_symbol()
        )?;
    }
    for (shape, mm, lean) in answer.wider_mm {
        if mm < WORTH_TELLING_MM || answer.wanted.shape == Shape::Parallelogram {
            continue;
        }
        let (more, lean) = (
            units.length_with_unit(mm, Precision::Drawn),
            units.length_with_unit((lean * over).abs(), Precision::Drawn),
        );
        match shape {
            Shape::Parallelogram => writeln!(
                io.out,
                "  As a parallelogram that leans {lean} over its height it could be {more} wider (--parallelogram)."
            )?,
            _ => writeln!(
                io.out,
                "  Hung {lean} out of plumb it could be {more} wider."
            )?,
        }
    }
    writeln!(io.out, "\nWay in")?;
    for sentence in answer.ways.sentences(units, answer.bulk) {
        writeln!(io.out, "  {sentence}")?;
    }
    gaps(walls, &answer.placed, answer.wanted.on_floor, io)?;
    unsettled(walls, &answer.placed, answer.wanted.on_floor, io)?;
    notes(&walls.assumed, io)
}

fn build(units: Units, size: &Size) -> String {
    units.length_with_unit(size.build_mm, Precision::Drawn)
}

fn why(
    units: Units,
    what: &str,
    size: &Size,
    answer: &Answer,
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    let length = |mm: f64| units.length(mm, Precision::Drawn);
    let sides = if size.clearance_mm > answer.wanted.clearance_mm {
        "for the clearance on both sides"
    } else {
        "for the clearance"
    };
    writeln!(
        io.out,
        "  {what:<6} {} ± {} {} clear, less {} {sides} and {} for what the readings leave open: {}, rounded down",
        length(size.clear.value),
        length(size.clear.expanded()),
        units.length_symbol(),
        length(size.clearance_mm),
        length(size.clear.expanded()),
        length(size.most_mm),
    )?;
    Ok(())
}

/// What is left between frame and walls, place by place.
pub(super) fn gaps(
    walls: &Walls,
    placed: &Placed,
    on_floor: bool,
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    let units = walls.units;
    let stands = if on_floor {
        "on the floor, in the middle between the walls"
    } else {
        "in the middle"
    };
    writeln!(
        io.out,
        "\nGaps to pack, {}: the frame {stands}",
        units.length_symbol()
    )?;
    let mut table = Table::new("<>>");
    table.row(["place", "gap", "±"]);
    for gap in in_place(placed) {
        table.row([
            walls.place(&gap.station),
            units.length(gap.gap_mm.value, Precision::Drawn),
            units.length(gap.gap_mm.expanded(), Precision::Drawn),
        ]);
    }
    table.print(io.out)?;
    let counts = |one: &&Gap| !(on_floor && one.station.side == Side::Floor);
    let least = placed.gaps.iter().find(counts);
    let staying = placed.gaps.iter().filter(|one| one.in_place).find(counts);
    let room = staying.map_or(f64::INFINITY, |one| one.gap_mm.value);
    if let Some(gap) = least.filter(|one| one.gap_mm.value < room - AS_TIGHT_MM) {
        let mm = units.length_with_unit(gap.gap_mm.value, Precision::Drawn);
        let place = walls.place(&gap.station);
        writeln!(
            io.out,
            "It is tightest on its way in: {place} is {mm} away."
        )?;
    }
    Ok(())
}

/// The tightest gap that may as well be none, as far as the readings tell.
fn unsettled(
    walls: &Walls,
    placed: &Placed,
    on_floor: bool,
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    let counts = |one: &&Gap| !(on_floor && one.station.side == Side::Floor);
    let open = placed
        .gaps
        .iter()
        .filter(counts)
        .find(|one| (0.0..one.gap_mm.expanded()).contains(&one.gap_mm.value));
    if let Some(gap) = open {
        let place = walls.place(&gap.station);
        writeln!(
            io.out,
            "The readings do not settle the gap at {place}: lay a straightedge on it, or measure it again."
        )?;
    }
    Ok(())
}

/// Remarks after a result.
pub(super) fn notes(notes: &[String], io: &mut Io<'_>) -> Result<(), Failure> {
    if !notes.is_empty() {
        writeln!(io.out, "\nNotes")?;
    }
    for note in notes {
        writeln!(io.out, "  {note}")?;
    }
    Ok(())
}
