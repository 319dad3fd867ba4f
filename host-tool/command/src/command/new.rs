//! `coldsquare new`: a commented job file to begin with, from a frame's few sizes.

use super::Io;
use crate::save::{Existing, save};
use coldsquare_core::units::{MILLIMETRES_PER_INCH, Millimetres};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::format;
use coldsquare_engine::job;
use coldsquare_engine::procedure::start::settings_for;
use coldsquare_engine::section::Section;
use coldsquare_engine::toml_comments::TomlLines;
use coldsquare_engine::units::Units;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// Arguments of `new`. Sizes are in the units of the file, or texts such as "47 1/4 in".
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Name of the job, or the file to write if it ends in .toml
    #[arg(default_value = "Frame")]
    pub name: String,
    /// Set the width outside to outside: 1200 or "47 1/4 in"
    #[arg(long, allow_hyphen_values = true)]
    pub width: Option<String>,
    /// Set the height outside to outside
    #[arg(long, allow_hyphen_values = true)]
    pub height: Option<String>,
    /// Set the section of the outer members: "SHS 40x40x3"
    #[arg(long)]
    pub section: Option<String>,
    /// Add this many infill bars
    #[arg(long, default_value_t = 0)]
    pub bars: u32,
    /// Set the section of the infill bars
    #[arg(long)]
    pub bar_section: Option<String>,
    /// Choose the corners: mitred, "rails through", "uprights through" or open
    #[arg(long, default_value = "mitred")]
    pub corners: String,
    /// Write the file in these units
    #[arg(long, default_value = "mm", value_parser = ["mm", "inch"])]
    pub units: String,
    /// Write to this file [default: the name with dashes, in this folder]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long)]
    pub force: bool,
}

/// Writes the job file and says what to do next.
///
/// # Errors
/// [`Failure::Input`] when the sizes make no frame, [`Failure::WouldOverwrite`] when the file is there already.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let text = job_file(arguments);
    job::from_text("the new job", &text).map_err(|errors| {
        let mut all = String::from("these sizes make no frame; nothing was written");
        for error in errors.iter() {
            let _ = write!(
                all,
                "\n  {}: {}",
                error.what(),
                error.advice().unwrap_or_default()
            );
        }
        Failure::Input(all)
    })?;
    let path = arguments
        .out
        .clone()
        .or_else(|| arguments.named_file().map(PathBuf::from))
        .unwrap_or_else(|| file_name(&arguments.name).into());
    let existing = Existing::with_force(arguments.force);
    save(&path, text.as_bytes(), existing)?;
    let path = path.display();
    writeln!(io.out, "{path}")?;
    writeln!(
        io.err,
        "Next: put your own procedure into it, then `coldsquare check {path}` for the cut list and the welds."
    )?;
    Ok(())
}

impl Arguments {
    /// The name, when it is one of a file.
    fn named_file(&self) -> Option<&Path> {
        let path = Path::new(&self.name);
        (path.extension()? == "toml").then_some(path)
    }

    /// What the job is called: the name, or that of the file without its ending.
    fn title(&self) -> String {
        let stem = self.named_file().and_then(Path::file_stem);
        stem.map_or_else(
            || self.name.clone(),
            |stem| stem.to_string_lossy().into_owned(),
        )
    }
}

/// "Garden gate" becomes `garden-gate.toml`.
fn file_name(name: &str) -> String {
    let letters = name
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' });
    let spaced: String = letters.flat_map(char::to_lowercase).collect();
    let words: Vec<_> = spaced.split_whitespace().collect();
    match words.join("-") {
        name if name.is_empty() => "job.toml".to_string(),
        name => format!("{name}.toml"),
    }
}

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// A size as a bare number where it is one.
fn size(given: Option<&String>, usual: &str) -> String {
    let text = given.map_or(usual, String::as_str).trim();
    let is_number = text.parse::<f64>().is_ok_and(f64::is_finite)
        && text.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    if is_number && !text.ends_with('.') {
        text.to_string()
    } else {
        quoted(text)
    }
}

/// What differs between a metric file and one in inches.
struct Usual {
    width: &'static str,
    height: &'static str,
    section: &'static str,
    bar_section: &'static str,
    opening: [&'static str; 2],
    /// Each with its unit.
    travel_speed: [&'static str; 2],
    heat_input: [&'static str; 2],
    interpass: [&'static str; 2],
}

/// Starting points for short-circuit MAG on about 3 mm of mild steel; common practice, no source.
const fn usual(units: Units) -> Usual {
    match units {
        Units::Metric => Usual {
            width: "1200",
            height: "900",
            section: "SHS 40x40x3",
            bar_section: "SHS 20x20x2",
            opening: ["1216", "6"],
            travel_speed: ["[6, 9]", "mm/s"],
            heat_input: ["[0.15, 0.35]", "kJ/mm"],
            interpass: ["150", "°C"],
        },
        Units::UsCustomary => Usual {
            width: "48",
            height: "36",
            section: "SHS 1-1/2x1-1/2x11ga tube",
            bar_section: "SHS 3/4x3/4x14ga tube",
            opening: ["48.75", "0.25"],
            travel_speed: ["[14, 21]", "in/min"],
            heat_input: ["[3.8, 8.9]", "kJ/in"],
            interpass: ["300", "°F"],
        },
    }
}

/// Column of the remarks in a job file.
const REMARKS_AT: usize = 32;

/// The text of the new job file.
fn job_file(arguments: &Arguments) -> String {
    let units = match arguments.units.as_str() {
        "inch" => Units::UsCustomary,
        _ => Units::Metric,
    };
    let usual = usual(units);
    let mut lines = TomlLines::new(REMARKS_AT);
    lines.text("# A job for coldsquare; docs/guide/job-file.md explains every setting.");
    lines.setting("name", &quoted(&arguments.title()), "");
    lines.setting(
        "units",
        &quoted(&arguments.units),
        "of bare numbers; \"1200 mm\" and \"47 1/4 in\" carry their own",
    );
    lines.setting("material", "\"steel\"", "steel, 304 or 6061");
    lines.text("");
    frame_lines(arguments, &usual, &mut lines);
    procedure_lines(arguments, units, &usual, &mut lines);
    lines.text
}

/// The walls that are welded, as far as the sections can be read.
fn walls(arguments: &Arguments, units: Units, usual: &Usual) -> Vec<Millimetres> {
    let outer = arguments.section.as_deref().unwrap_or(usual.section);
    let bars = arguments.bar_section.as_deref();
    let bars = (arguments.bars > 0).then(|| bars.unwrap_or(usual.bar_section));
    let wall = |designation: &str| {
        let section = match units {
            Units::Metric => Section::parse(designation),
            Units::UsCustomary => Section::parse_inches(designation),
        };
        Some(Millimetres(section.ok()?.properties().thinnest_wall_mm))
    };
    [Some(outer), bars]
        .into_iter()
        .flatten()
        .filter_map(wall)
        .collect()
}

fn frame_lines(arguments: &Arguments, usual: &Usual, lines: &mut TomlLines) {
    let section = arguments.section.as_deref().unwrap_or(usual.section);
    let bar_section = arguments
        .bar_section
        .as_deref()
        .unwrap_or(usual.bar_section);
    lines.text("[frame]");
    lines.setting(
        "width",
        &size(arguments.width.as_ref(), usual.width),
        "outside to outside",
    );
    lines.setting("height", &size(arguments.height.as_ref(), usual.height), "");
    lines.setting("section", &quoted(section), "");
    lines.setting(
        "corners",
        &quoted(&arguments.corners),
        "mitred, rails through, uprights through, open",
    );
    lines.text("");
    // Without bars the lines stand there to be uncommented.
    let (mark, count) = match arguments.bars {
        0 => ("# ", 9),
        count => ("", count),
    };
    let direction = match arguments.corners.as_str() {
        "open" => "horizontal",
        _ => "vertical",
    };
    lines.text(&format!("{mark}[frame.bars]"));
    lines.setting(
        &format!("{mark}count"),
        &count.to_string(),
        "or largest_gap = the widest gap allowed",
    );
    lines.setting(&format!("{mark}section"), &quoted(bar_section), "");
    lines.setting(&format!("{mark}direction"), &quoted(direction), "");
    lines.setting(
        &format!("{mark}welded"),
        "[\"front\", \"back\"]",
        "or \"all\"",
    );
    lines.text("");
    let [width, clearance] = usual.opening;
    lines.text("# [opening]                      # what the finished frame must fit into");
    lines.setting("# width", width, "");
    lines.setting("# clearance", clearance, "wanted on each side");
    lines.text("");
}

fn procedure_lines(arguments: &Arguments, units: Units, usual: &Usual, lines: &mut TomlLines) {
    let walls = walls(arguments, units, usual);
    let settings = settings_for(&walls);
    let of_walls: Vec<String> = walls.iter().map(|wall| format!("{:.1}", wall.0)).collect();
    let what = match &settings {
        Some(_) => format!(
            "for walls of {} mm of mild steel, from published tables",
            format::list(&of_walls)
        ),
        None => "for about 3 mm of mild steel: the tables have none for these walls".to_owned(),
    };
    lines.text(&format!("# Starting points only, {what}."));
    lines.text("# Set them on scrap of the same section; for structural work take them from a qualified procedure.");
    lines.text("[procedure]");
    lines.setting(
        "process",
        "135",
        "ISO 4063: MAG with solid wire; or mag, mig, tig, stick",
    );
    let [speed_unit, heat_unit] = [usual.travel_speed[1], usual.heat_input[1]];
    if let Some(settings) = settings {
        let (per_speed, per_heat, decimals) = match units {
            Units::Metric => (1.0, 1e-3, [1, 3]),
            Units::UsCustomary => (
                60.0 / MILLIMETRES_PER_INCH,
                1e-3 * MILLIMETRES_PER_INCH,
                [1, 2],
            ),
        };
        let times = |(low, high): (f64, f64), factor: f64| (low * factor, high * factor);
        lines.range("volts", settings.volts, 1, "");
        lines.range("amps", settings.amps, 0, "");
        let speed = times(settings.travel_speed_mm_s, per_speed);
        lines.range("travel_speed", speed, decimals[0], speed_unit);
        let heat = times(settings.heat_input_j_mm, per_heat);
        let remark = format!("{heat_unit}, what the ranges above come to");
        lines.range("heat_input", heat, decimals[1], &remark);
    } else {
        lines.setting("volts", "[17, 20]", "");
        lines.setting("amps", "[95, 135]", "");
        lines.setting("travel_speed", usual.travel_speed[0], speed_unit);
        lines.setting("heat_input", usual.heat_input[0], heat_unit);
    }
    let remark = format!("{}, highest before the next run", usual.interpass[1]);
    lines.setting("interpass", usual.interpass[0], &remark);
}
