//! `coldsquare map JOB LOG`: which bead is which weld, and what became of each.

use super::Io;
use super::picture::painted;
use super::reading::ReadingArguments;
use super::recording::{KeepArguments, read_and_keep};
use crate::disk::Disk;
use crate::save::{Existing, refuse_input, save};
use coldsquare_core::units::{Millimetres, Seconds};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::files::sha256_of;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::log::{Log, read_of_job};
use coldsquare_engine::map::{Settings, build, csv, json, model::WeldMap, text};
use coldsquare_engine::matching::{Assignment, MatchError, read_lines};
use coldsquare_engine::measured::compare;
use coldsquare_engine::verdict::Verdict;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Arguments of `map`.
#[derive(Debug, clap::Args)]
#[command(after_help = HOW_IT_MATCHES)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Log of a logger, or any recording of time, volts and amps in columns of text
    #[arg(value_name = "LOG")]
    pub log: PathBuf,
    /// Write into this folder, or to this file: .html, .svg, .png, .csv or .json
    #[arg(long, value_name = "PATH", default_value = ".")]
    pub out: PathBuf,
    /// Write the page (the default if you choose nothing else)
    #[arg(long)]
    pub html: bool,
    /// Write the drawing
    #[arg(long)]
    pub svg: bool,
    /// Write the drawing as a picture
    #[arg(long)]
    pub png: bool,
    /// Write the tables of welds and of beads
    #[arg(long)]
    pub csv: bool,
    /// Write everything except the traces as JSON
    #[arg(long)]
    pub json: bool,
    /// Replace files that exist
    #[arg(long)]
    pub force: bool,
    /// Assign a bead yourself: 5=3 (bead 5 is on weld 3), 5=tack, 5=scrap or 5=extra; may be repeated
    #[arg(long, value_name = "BEAD=WELD")]
    pub assign: Vec<Assignment>,
    /// Read assignments from a file, one per line; # starts a comment
    #[arg(long, value_name = "FILE")]
    pub assign_file: Option<PathBuf>,
    /// Give the planned order if it is not file order: "3,1,2" or "5-8 1-4", or a file with a list or a plan's JSON
    #[arg(long, value_name = "LIST|FILE")]
    pub order: Option<String>,
    /// Treat shorter arcs as tacks [default: 1.5 s, or half of the shortest run expected if that is less]
    #[arg(long, value_name = "SECONDS", value_parser = not_negative)]
    pub tack_below: Option<f64>,
    /// Set how far, plus or minus, the length of a weld may be from the drawing, mm
    #[arg(long, value_name = "MM", default_value = "1", value_parser = not_negative)]
    pub length_within: f64,
    /// Draw the frame in characters above the table, each weld with its number and verdict
    #[arg(long)]
    pub draw: bool,
    /// Set the width of that drawing in characters [default: the terminal's, or 80]
    #[arg(long, value_name = "COLUMNS", requires = "draw")]
    pub width: Option<usize>,
    /// Exit with code 5 unless every weld was measured and is within limits
    #[arg(long)]
    pub strict: bool,
    /// Map again whenever the log has grown, until Ctrl-C, or until it has not grown for so many seconds
    #[arg(long, value_name = "SECONDS", num_args = 0..=1, default_missing_value = "inf", conflicts_with = "strict")]
    pub follow: Option<f64>,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub reading: ReadingArguments,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub keep: KeepArguments,
}

const HOW_IT_MATCHES: &str = "\
Beads are matched to the planned order by arc time, pauses and markers; each match carries its confidence. A weld \
named with --assign gets exactly the beads you assign to it.";

fn not_negative(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(number) if number.is_finite() && number >= 0.0 => Ok(number),
        _ => Err("give a number of 0 or more".into()),
    }
}

/// Maps a log against a job, writes what was asked for and prints the summary.
///
/// # Errors
/// [`Failure`] when job, log, order or assignments have errors, a file cannot be written or would be overwritten, or
/// (with `--strict`) a weld is not inside its procedure.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let outputs = outputs(arguments)?;
    let first = write_map(arguments, &outputs, arguments.force, |job| {
        let how = (&arguments.reading, &arguments.keep);
        read_and_keep(&arguments.log, (job, &arguments.job), how, io)
    });
    let (job, map) = match (first, arguments.follow) {
        // A recording that has just begun may hold nothing yet; an error in the job file stays one.
        (Err(failure), Some(quiet))
            if coldsquare_engine::job::load(&Disk, &arguments.job).is_ok() =>
        {
            writeln!(io.err, "note: {failure}")?;
            return follow(arguments, &outputs, quiet, io);
        }
        (first, _) => first?,
    };
    if arguments.draw {
        let columns = arguments.width.unwrap_or_else(terminal_columns);
        writeln!(
            io.out,
            "{}",
            coldsquare_engine::drawing::weld_map_in_characters(&job, &map, columns)
        )?;
    }
    write!(io.out, "{}", text::text(&map, job.units))?;
    for (path, _) in &outputs {
        writeln!(io.out, "Written: {}", path.display())?;
    }
    if let Some(quiet) = arguments.follow {
        return follow(arguments, &outputs, quiet, io);
    }
    if arguments.strict {
        strict(&map)
    } else {
        Ok(())
    }
}

/// Time between two looks at the length of a log that is followed.
const LOOK_EVERY: Duration = Duration::from_millis(500);

/// Maps again whenever the log has grown. What was written is ours, so it is replaced.
fn follow(
    arguments: &Arguments,
    outputs: &[(PathBuf, Output)],
    quiet_s: f64,
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    let length = || std::fs::metadata(&arguments.log).map_or(0, |file| file.len());
    let (mut known, mut grown, mut took) = (0, Instant::now(), Duration::ZERO);
    while grown.elapsed().as_secs_f64() <= quiet_s {
        std::thread::sleep(LOOK_EVERY.max(took));
        let now = length();
        if now == known {
            continue;
        }
        known = now;
        grown = Instant::now();
        let read = |job: &Job| {
            let options = arguments.reading.options();
            Ok(read_of_job(&Disk, &arguments.log, &options, job)?)
        };
        match write_map(arguments, outputs, true, read) {
            Ok((_, map)) => {
                let measured = map.welds.iter().filter(|weld| weld.start.is_some()).count();
                writeln!(
                    io.out,
                    "{}, {measured} of {} welds, {} out of limits",
                    coldsquare_engine::format::count(map.beads.len(), "bead"),
                    map.welds.len(),
                    map.totals.out_of_limits
                )?;
            }
            // It may be in the middle of a row; the next look reads it whole.
            Err(failure) => writeln!(io.err, "note: {failure}")?,
        }
        io.out.flush()?;
        // Half of the time at most is spent on a long log.
        took = grown.elapsed();
    }
    Ok(())
}

/// Maps the log that `read` gives against the job, and writes what was asked for.
fn write_map(
    arguments: &Arguments,
    outputs: &[(PathBuf, Output)],
    replace: bool,
    read: impl FnOnce(&Job) -> Result<Log, Failure>,
) -> Result<(Job, WeldMap), Failure> {
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let settings = settings(arguments, &job)?;
    let log = read(&job)?;
    let mut map = build(&job, &log, &settings).map_err(error)?;
    let inspections = coldsquare_engine::inspection::load(&Disk, &arguments.job, job.welds.len())?;
    map.put_inspections(&inspections);
    let log_sha256 = sha256_of(&Disk, &arguments.log)?;
    compare::put_on(&Disk, &mut map, &job, &arguments.job, &log_sha256)?;
    let inputs = [arguments.job.as_path(), arguments.log.as_path()];
    for (path, output) in outputs {
        refuse_input(path, inputs)?;
        save(
            path,
            &output.write(&job, &map)?,
            Existing::with_force(replace),
        )?;
    }
    Ok((job, map))
}

/// Columns of the terminal; 80 without one.
pub(super) fn terminal_columns() -> usize {
    terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0))
}

fn error(error: MatchError) -> Failure {
    Failure::Input(error.to_string())
}

/// Something that can be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Output {
    Page,
    Drawing,
    Picture,
    WeldTable,
    BeadTable,
    Json,
}

impl Output {
    fn write(self, job: &Job, map: &WeldMap) -> Result<Vec<u8>, Failure> {
        Ok(match self {
            Self::Page => coldsquare_engine::page::weld_map_html(job, map).into_bytes(),
            Self::Drawing => coldsquare_engine::drawing::weld_map_svg(job, map).into_bytes(),
            Self::Picture => painted(&coldsquare_engine::drawing::weld_map_svg(job, map))?,
            Self::WeldTable => csv::welds(map, job.units).into_bytes(),
            Self::BeadTable => csv::beads(map).into_bytes(),
            Self::Json => json::json(map).into_bytes(),
        })
    }

    const fn ending(self) -> &'static str {
        match self {
            Self::Page => "map.html",
            Self::Drawing => "map.svg",
            Self::Picture => "map.png",
            Self::WeldTable => "map.csv",
            Self::BeadTable => "map-beads.csv",
            Self::Json => "map.json",
        }
    }
}

/// What to write where; nothing is written unless everything can be.
fn outputs(arguments: &Arguments) -> Result<Vec<(PathBuf, Output)>, Failure> {
    let asked = [
        (arguments.html, Output::Page),
        (arguments.svg, Output::Drawing),
        (arguments.png, Output::Picture),
        (arguments.csv, Output::WeldTable),
        (arguments.csv, Output::BeadTable),
        (arguments.json, Output::Json),
    ];
    let mut asked: Vec<Output> = asked
        .into_iter()
        .filter(|(asked, _)| *asked)
        .map(|(_, output)| output)
        .collect();
    let outputs = if let Some(named) = by_ending(&arguments.out) {
        if !asked.is_empty() {
            return Err(Failure::Usage(format!(
                "{} is one file and says by its ending what to write; name a folder to write several",
                arguments.out.display()
            )));
        }
        vec![(arguments.out.clone(), named)]
    } else {
        if asked.is_empty() {
            asked.push(Output::Page);
        }
        let stem = arguments
            .log
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy();
        let path = |output: Output| arguments.out.join(format!("{stem}-{}", output.ending()));
        asked
            .into_iter()
            .map(|output| (path(output), output))
            .collect()
    };
    let taken = outputs
        .iter()
        .find(|(path, _)| path.try_exists().unwrap_or(false));
    match taken {
        Some((path, _)) if !arguments.force => Err(Failure::WouldOverwrite(path.clone())),
        _ => Ok(outputs),
    }
}

fn by_ending(path: &Path) -> Option<Output> {
    if path.is_dir() {
        return None;
    }
    Some(match path.extension()?.to_str()?.to_lowercase().as_str() {
        "html" | "htm" => Output::Page,
        "svg" => Output::Drawing,
        "png" => Output::Picture,
        "csv" => Output::WeldTable,
        "json" => Output::Json,
        _ => return None,
    })
}

fn settings(arguments: &Arguments, job: &Job) -> Result<Settings, Failure> {
    let mut by_hand = arguments.assign.clone();
    if let Some(path) = &arguments.assign_file {
        let text = short_text(path)?;
        by_hand.extend(read_lines(&text).map_err(|errors| {
            let lines = errors
                .iter()
                .map(|(line, error)| format!("{}:{line}: {error}", path.display()));
            Failure::Input(lines.collect::<Vec<_>>().join("\n"))
        })?);
    }
    let order = super::reading::order(arguments.order.as_deref(), job)?;
    Ok(Settings {
        order,
        by_hand,
        tack_below: arguments.tack_below.map(Seconds),
        length_within: Millimetres(arguments.length_within),
        ..Settings::default()
    })
}

/// Most that a list of assignments can be long, bytes; a log given by mistake is not read.
const LONGEST_LIST: u64 = 4_000_000;

fn short_text(path: &Path) -> Result<String, Failure> {
    let mut text = String::new();
    let file = std::fs::File::open(path).map_err(Failure::file(path, "read"))?;
    file.take(LONGEST_LIST)
        .read_to_string(&mut text)
        .map_err(Failure::file(path, "read"))?;
    Ok(text)
}

fn strict(map: &WeldMap) -> Result<(), Failure> {
    let not = |weld: &&coldsquare_engine::map::model::MappedWeld| {
        !matches!(weld.verdict, Verdict::WithinLimits | Verdict::NoLimit)
    };
    let failed: Vec<u16> = map
        .welds
        .iter()
        .filter(not)
        .map(|weld| weld.number)
        .collect();
    if failed.is_empty() {
        return Ok(());
    }
    Err(Failure::NotAcceptable(format!(
        "not certainly within the limits of the procedure: weld {}",
        coldsquare_engine::format::list(&failed)
    )))
}
