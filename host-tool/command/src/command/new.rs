//! `coldsquare new`: a commented job file to begin with, from a frame's few sizes.

use super::Io;
use crate::save::{Existing, save};
use coldsquare_core::units::Millimetres;
use coldsquare_engine::drawing::frame_in_characters;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job;
use coldsquare_engine::job::start::{Shape, Wanted, write};
use coldsquare_engine::units::Units;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// Arguments of `new`. Sizes are in the units of the file, or texts such as "47 1/4 in".
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Name of the job, or the file to write if it ends in .toml
    #[arg(default_value = "Frame")]
    pub name: String,
    /// Choose what to begin with: frame, shelf, ladder, box, trolley, table, stand, tee or bracket
    #[arg(long, default_value = "frame", value_parser = shape)]
    pub shape: Shape,
    /// Set the width outside to outside: 1200 or "47 1/4 in"
    #[arg(long, allow_hyphen_values = true)]
    pub width: Option<String>,
    /// Set the depth from front to back, for what stands on legs
    #[arg(long, allow_hyphen_values = true)]
    pub depth: Option<String>,
    /// Set the height outside to outside, from the floor for what stands on legs
    #[arg(long, allow_hyphen_values = true)]
    pub height: Option<String>,
    /// Set the section of the main members: "SHS 40x40x3"
    #[arg(long)]
    pub section: Option<String>,
    /// Add this many bars or rungs
    #[arg(long)]
    pub bars: Option<u32>,
    /// Set the section of the bars, or of the legs of a stand
    #[arg(long)]
    pub bar_section: Option<String>,
    /// Set how far the feet of a stand reach out, each way
    #[arg(long, allow_hyphen_values = true)]
    pub splay: Option<String>,
    /// Choose the corners of a flat frame: mitred, "rails through", "uprights through" or open
    #[arg(long)]
    pub corners: Option<String>,
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

fn shape(text: &str) -> Result<Shape, String> {
    let mut names = Shape::NAMES.iter();
    let found = names.find(|(name, _)| name.eq_ignore_ascii_case(text));
    found.map(|(_, shape)| *shape).ok_or_else(|| {
        let known: Vec<&str> = Shape::NAMES.iter().map(|(name, _)| *name).collect();
        format!("choose one of {}", known.join(", "))
    })
}

/// Writes the job file, shows its picture and says what to do next.
///
/// # Errors
/// [`Failure::Input`] when the sizes make no frame, [`Failure::WouldOverwrite`] when the file is there already.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let text = job_file(arguments)?;
    let job = job::from_text("the new job", &text).map_err(|errors| {
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
    let columns = super::map::terminal_columns();
    write!(io.err, "\n{}", frame_in_characters(&job, columns))?;
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

/// The text of the new job file.
fn job_file(arguments: &Arguments) -> Result<String, Failure> {
    let units = match arguments.units.as_str() {
        "inch" => Units::UsCustomary,
        _ => Units::Metric,
    };
    let length = |option: &str, given: &Option<String>| -> Result<Option<Millimetres>, Failure> {
        let Some(text) = given else {
            return Ok(None);
        };
        let length = units.parse_length(text).ok_or_else(|| {
            Failure::Usage(format!(
                "--{option}: '{text}' is not a length; write 1200, \"1.2 m\" or \"47 1/4 in\""
            ))
        })?;
        Ok(Some(length))
    };
    Ok(write(&Wanted {
        title: &arguments.title(),
        units,
        width: length("width", &arguments.width)?,
        depth: length("depth", &arguments.depth)?,
        height: length("height", &arguments.height)?,
        splay: length("splay", &arguments.splay)?,
        section: arguments.section.as_deref(),
        bar_section: arguments.bar_section.as_deref(),
        bars: arguments.bars,
        corners: arguments.corners.as_deref(),
        ..Wanted::of(arguments.shape)
    }))
}
