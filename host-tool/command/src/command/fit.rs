//! `coldsquare fit JOB`: whether the frame goes into its opening, as measured or as predicted, and where it is tight.

use super::Io;
use super::opening::{gaps, notes};
use crate::disk::Disk;
use crate::save::{Existing, refuse_input, save};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::fit::{FrameInOpening, frame_in_opening, take_off};
use coldsquare_engine::format::Precision;
use coldsquare_engine::measured::{expected, load, path_of};
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::opening::answer::{gaps_json, ways_json};
use coldsquare_engine::opening::gaps::Gap;
use coldsquare_engine::opening::model::{Side, Walls};
use coldsquare_engine::units::Units;
use std::path::PathBuf;

/// Arguments of `fit`.
#[derive(Debug, clap::Args)]
#[command(after_help = HOW)]
pub struct Arguments {
    /// Job file that names the readings of its opening
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Read the measurements from this file instead of JOB-measured.toml
    #[arg(long, value_name = "FILE")]
    pub measured: Option<PathBuf>,
    /// Use the prediction, even if the frame was measured
    #[arg(long, conflicts_with = "measured")]
    pub before: bool,
    /// Print in these units [default: those of the job]
    #[arg(long, value_parser = ["mm", "inch"])]
    pub units: Option<String>,
    /// Print JSON (always in mm) instead of text
    #[arg(long)]
    pub json: bool,
    /// Draw the frame in its opening into this SVG file
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace the drawing if it exists
    #[arg(long)]
    pub force: bool,
}

const HOW: &str = "\
Measure the frame with `coldsquare measure` once it is cold and off the clamps: widths and heights at three places each \
and both diagonals. What was not measured is taken from the prediction. Exit code 5 if the frame does not go in.";

/// Prints whether it goes in.
///
/// # Errors
/// [`Failure::Input`] for a job or readings with errors, [`Failure::NotAcceptable`] when the frame does not go in.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    if let Some(out) = &arguments.out {
        let measured = arguments.measured.as_deref();
        refuse_input(out, [arguments.job.as_path()].into_iter().chain(measured))?;
    }
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let input = |text: String| Failure::Input(format!("{}: {text}", arguments.job.display()));
    let opening = job.opening.as_ref();
    let readings = opening.and_then(|opening| Some((opening, opening.readings.as_ref()?)));
    let (opening, file) = readings.ok_or_else(|| {
        input("no readings of the opening; write them to a file and name it under [opening]: readings = \"alcove.opening.toml\"".into())
    })?;
    let (readings, source) =
        coldsquare_engine::opening::load(&Disk, &arguments.job.with_file_name(file))?;
    let mut walls = coldsquare_engine::opening::adjust(&readings, &source)
        .map_err(|errors| Failure::Input(errors.to_string()))?;
    walls.units = match arguments.units.as_deref() {
        Some("mm") => Units::Metric,
        Some("inch") => Units::UsCustomary,
        _ => job.units,
    };
    let model = MovementModel::new(&job).map_err(|error| input(error.to_string()))?;
    let path = arguments
        .measured
        .clone()
        .unwrap_or_else(|| path_of(&arguments.job));
    if arguments.measured.is_some() && !path.exists() {
        return Err(Failure::Input(format!("there is no {}", path.display())));
    }
    let measurements = match arguments.before {
        true => Vec::new(),
        false => load(&Disk, &path, &job, model.measures())?,
    };
    let predicted = expected::as_planned(&job, &model).measures;
    let found = frame_in_opening(
        &job,
        opening,
        &walls,
        (model.measures(), &predicted),
        &measurements,
    )
    .ok_or_else(|| input("this is no flat frame with four corners".into()))?;
    if arguments.json {
        let tightest = found.tightest().map(|gap| {
            (
                walls.place(&gap.station),
                gap.gap_mm.value,
                gap.gap_mm.expanded(),
            )
        });
        io.print_json(&serde_json::json!({
            "goes_in": found.goes(),
            "sure": found.is_sure(),
            "measured": found.measured,
            "tightest": tightest.as_ref().map(|one| one.0.as_str()),
            "gap_mm": tightest.as_ref().map(|one| one.1),
            "plus_minus_mm": tightest.as_ref().map(|one| one.2),
            "turn_mm_per_m": 1000.0 * found.placed().turn,
            "gaps": gaps_json(found.placed(), &walls),
            "ways_in": ways_json(&found.ways),
            "notes": found.notes,
        }))?;
    } else {
        print(&found, &walls, io)?;
    }
    if let Some(out) = &arguments.out {
        let svg = coldsquare_engine::drawing::opening_svg(&job.name, &walls, found.placed());
        save(out, svg.as_bytes(), Existing::with_force(arguments.force))?;
        if !arguments.json {
            writeln!(io.out, "\nWritten: {}", out.display())?;
        }
    }
    match found.goes() {
        true => Ok(()),
        false => Err(Failure::NotAcceptable("the frame does not go in".into())),
    }
}

/// "the top back" or "the left back, 1780 mm up".
fn where_tight(gap: &Gap, walls: &Walls) -> String {
    let depth = walls.depths[gap.station.depth].1;
    let along = walls
        .units
        .length_with_unit(gap.station.along_mm, Precision::Mark);
    match gap.station.side {
        Side::Left => format!("the left {depth}, {along} up"),
        Side::Right => format!("the right {depth}, {along} up"),
        Side::Top => format!("the top {depth}, {along} from the left"),
        Side::Floor => format!("the bottom {depth}, {along} from the left"),
    }
}

fn print(found: &FrameInOpening, walls: &Walls, io: &mut Io<'_>) -> Result<(), Failure> {
    let units = walls.units;
    let length = |mm: f64| units.length_with_unit(mm, Precision::Drawn);
    let basis = if found.measured {
        "As measured"
    } else {
        "As predicted, not measured"
    };
    if let Some(gap) = found.tightest() {
        let plus_minus = length(gap.gap_mm.expanded());
        let (place, mm) = (where_tight(gap, walls), gap.gap_mm.value);
        if mm >= 0.0 && !found.ways.goes() {
            writeln!(
                io.out,
                "{basis}: there is room for it, but it cannot be brought in."
            )?;
        } else if mm >= 0.0 {
            let tight = if gap.in_place {
                "goes in, tight"
            } else {
                "goes in; tightest on its way,"
            };
            writeln!(
                io.out,
                "{basis}: {tight} at {place}: {} ± {plus_minus}.",
                length(mm)
            )?;
        } else {
            writeln!(io.out, "{basis}: does not go in.")?;
            for gap in take_off(found.placed()) {
                writeln!(
                    io.out,
                    "  Take off {} at {}.",
                    length(-gap.gap_mm.value),
                    where_tight(gap, walls)
                )?;
            }
        }
        if !found.is_sure() {
            writeln!(
                io.out,
                "  The readings do not settle it: ± {plus_minus} is more than the gap. Measure again there."
            )?;
        }
        if mm >= 0.0 && mm < found.wanted.clearance_mm {
            writeln!(
                io.out,
                "  That is less than the clearance wanted, {}.",
                length(found.wanted.clearance_mm)
            )?;
        }
    }
    if let Some(turned) = &found.turned {
        let side = if turned.turn > 0.0 { "left" } else { "right" };
        writeln!(
            io.out,
            "  It goes in only if it hangs out of plumb: its top {} to the {side} for each metre.",
            length(1000.0 * turned.turn.abs())
        )?;
    }
    writeln!(io.out, "\nWay in")?;
    for sentence in found.ways.sentences(units, found.bulk) {
        writeln!(io.out, "  {sentence}")?;
    }
    gaps(walls, found.placed(), found.wanted.on_floor, io)?;
    let all: Vec<String> = found.notes.iter().chain(&walls.assumed).cloned().collect();
    notes(&all, io)
}
