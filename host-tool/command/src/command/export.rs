//! `coldsquare export JOB`: the frame as a line drawing (DXF) or a table of nodes and members (CSV).

use super::Io;
use crate::disk::Disk;
use crate::save::{Existing, refuse_input, save};
use coldsquare_engine::drawing::{draw_moved, frame_dxf};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::line_drawing::table_of;
use coldsquare_engine::movement::predict::planned_net_heat;
use coldsquare_engine::movement::shapes::final_shape;
use coldsquare_engine::order;
use coldsquare_engine::saw::{SawList, Settings, pieces_dxf};
use std::path::PathBuf;

/// Arguments of `export`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Write to this file: .dxf or .csv
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Draw the frame, the frame and how it moves, or a flat pattern of every piece
    #[arg(long, default_value = "frame", value_parser = ["frame", "moved", "pieces"])]
    pub show: String,
    /// Draw the movement so many times as large
    #[arg(long, default_value_t = 1.0, value_name = "TIMES")]
    pub times: f64,
    /// Weld in this order: file (as in the job file), numbers and ranges, or a file with a list or a plan's JSON
    #[arg(long, value_name = "ORDER")]
    pub order: Option<String>,
    /// Replace the file if it exists
    #[arg(long)]
    pub force: bool,
}

/// Writes the file.
///
/// # Errors
/// [`Failure`] when the job has errors, its movement cannot be worked out, or the file is there already.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let ending = arguments.out.extension().and_then(|ending| ending.to_str());
    let text = match (ending.unwrap_or_default(), arguments.show.as_str()) {
        ("csv", "frame") => table_of(&job),
        ("csv", _) => {
            let what = "a table holds nodes and members only: leave out --show, or write .dxf";
            return Err(Failure::Usage(what.to_owned()));
        }
        ("dxf", "pieces") => pieces_dxf(&SawList::new(&job, &Settings::of(&job))),
        ("dxf", "moved") => moved(arguments, &job)?,
        ("dxf", _) => frame_dxf(&job).text(),
        _ => {
            let out = arguments.out.display();
            return Err(Failure::Usage(format!(
                "{out} ends in neither .dxf nor .csv"
            )));
        }
    };
    refuse_input(&arguments.out, [arguments.job.as_path()])?;
    let existing = Existing::with_force(arguments.force);
    save(&arguments.out, text.as_bytes(), existing)?;
    writeln!(io.out, "Written: {}, in mm", arguments.out.display())?;
    Ok(())
}

/// The frame with its predicted centre lines on a layer of their own.
fn moved(arguments: &Arguments, job: &Job) -> Result<String, Failure> {
    if !(arguments.times.is_finite() && arguments.times > 0.0) {
        return Err(Failure::Usage("--times is a number above 0".to_owned()));
    }
    let (order, _) = match &arguments.order {
        Some(given) => order::given(&Disk, given, job)?,
        None => super::predict::drawn(job),
    };
    let heat: Vec<f64> = planned_net_heat(job)
        .iter()
        .map(|heat| heat.value)
        .collect();
    let (shapes, _) = final_shape(job, &order, &heat)
        .map_err(|error| Failure::Input(format!("{}: {error}", arguments.job.display())))?;
    let mut drawing = frame_dxf(job);
    draw_moved(&mut drawing, &shapes, arguments.times);
    Ok(drawing.text())
}
