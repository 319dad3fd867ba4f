//! Draws the pages of a simulated build into a folder, for looking at and for the browser tests.
//!
//! `cargo run --example pages -- FOLDER [JOB [SEED]]`

use coldsquare::demo;
use coldsquare_engine::recording::RecordingOptions;
use coldsquare_engine::{drawing, job, log, map, page, plan};
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().ok_or("usage: pages FOLDER [JOB [SEED]]")?);
    let text = match arguments.next() {
        Some(path) => std::fs::read_to_string(path)?,
        None => coldsquare_engine::example::GARDEN_GATE.to_string(),
    };
    let seed = arguments.next().map_or(Ok(1), |seed| seed.parse())?;
    let job = job::from_text("job", &text).map_err(|errors| errors.to_string())?;
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let (bytes, _) = coldsquare_firmware::sim::log_build(&demo::build(&job, &order), seed)
        .map_err(|error| format!("{error:?}"))?;
    std::fs::create_dir_all(&folder)?;
    let path = folder.join("build.log");
    std::fs::write(&path, bytes)?;
    let log = log::read(&coldsquare::disk::Disk, &path, &RecordingOptions::default())?;
    let map = map::build(&job, &log, &map::Settings::default())?;
    std::fs::write(
        folder.join("weld-map.svg"),
        drawing::weld_map_svg(&job, &map),
    )?;
    std::fs::write(
        folder.join("weld-map.html"),
        page::weld_map_html(&job, &map),
    )?;
    let plan = plan::plan(&job, &plan::Options::default(), &mut |_| true)
        .map_err(|error| error.to_string())?;
    std::fs::write(folder.join("plan.html"), page::plan_html(&job, &plan, None))?;
    Ok(())
}
