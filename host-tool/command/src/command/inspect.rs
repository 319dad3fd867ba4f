//! `coldsquare inspect JOB [WELDS] RESULT`: notes what was seen on welds, beside the job.

use super::Io;
use super::table::Table;
use crate::disk::Disk;
use crate::notebook::add;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::inspection::{Finding, Inspection, Outcome, added, load, path_of};
use coldsquare_engine::sanitise::plain;
use std::path::PathBuf;

/// Arguments of `inspect`.
#[derive(Debug, clap::Args)]
#[command(after_help = WHO_JUDGES)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Numbers of the welds: 3 or 3,5-8; without them the command lists what was recorded
    #[arg(value_name = "WELDS", requires = "result")]
    pub welds: Option<String>,
    /// Record the result
    #[arg(long, value_enum)]
    pub result: Option<Outcome>,
    /// Record what you saw; may be repeated
    #[arg(long, value_enum)]
    pub found: Vec<Finding>,
    /// Name the quality level of ISO 5817 you judged by
    #[arg(long, value_parser = ["B", "C", "D"])]
    pub level: Option<String>,
    /// Name the inspector: initials or stamp
    #[arg(long, default_value = "")]
    pub by: String,
    /// Date the entry: 2026-11-25 [default: today]
    #[arg(long, value_parser = date)]
    pub on: Option<String>,
    /// Add a note
    #[arg(long, default_value = "")]
    pub note: String,
}

const WHO_JUDGES: &str = "\
Entries go into JOB-inspection.toml and are never changed; the latest entry of a weld counts. ISO 5817 gives the \
limits of each item by quality level: this program records what you saw and does not judge it. Where a code applies, \
a qualified inspector does.";

pub(super) fn date(text: &str) -> Result<String, String> {
    text.parse::<jiff::civil::Date>()
        .map(|date| date.to_string())
        .map_err(|_| "give a date such as 2026-11-25".into())
}

/// Adds entries, or lists what was recorded.
///
/// # Errors
/// [`Failure`] when the job or its inspections have errors, a weld does not exist or the file cannot be written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let (Some(list), Some(result)) = (&arguments.welds, arguments.result) else {
        return show(&load(&Disk, &arguments.job, job.welds.len())?, io);
    };
    let numbers = welds(list, job.welds.len())?;
    let on = arguments.on.clone().unwrap_or_else(super::today);
    let entry = |weld| Inspection {
        weld,
        on: on.clone(),
        by: plain(&arguments.by),
        result,
        found: arguments.found.clone(),
        level: arguments.level.clone().unwrap_or_default(),
        note: plain(&arguments.note),
    };
    let entries: Vec<Inspection> = numbers.into_iter().map(entry).collect();
    let path = path_of(&arguments.job);
    add(&path, |before| added(before, job.welds.len(), &entries))?;
    show(&entries, io)?;
    writeln!(io.out, "Added to: {}", path.display())?;
    Ok(())
}

fn show(entries: &[Inspection], io: &mut Io<'_>) -> Result<(), Failure> {
    if entries.is_empty() {
        writeln!(io.out, "No inspections for this job yet.")?;
    }
    let mut table = Table::new("><");
    for entry in entries {
        table.row([format!("weld {}", entry.weld), plain(&entry.to_string())]);
    }
    table.print(io.out)?;
    Ok(())
}

/// "3,5-8" as numbers of welds that there are.
fn welds(list: &str, count: usize) -> Result<Vec<u16>, Failure> {
    let bad = |part: &str| {
        Failure::Input(format!(
            "there is no weld '{part}': the job has welds 1 to {count}; write 3 or 3,5-8"
        ))
    };
    let mut numbers = Vec::new();
    for part in list.split(',').map(str::trim) {
        let (first, last) = part.split_once('-').unwrap_or((part, part));
        let number = |text: &str| {
            let number: u16 = text.trim().parse().map_err(|_| bad(part))?;
            if (1..=count).contains(&usize::from(number)) {
                Ok(number)
            } else {
                Err(bad(part))
            }
        };
        let (first, last) = (number(first)?, number(last)?);
        if last < first {
            return Err(bad(part));
        }
        numbers.extend(
            (first..=last)
                .filter(|number| !numbers.contains(number))
                .collect::<Vec<_>>(),
        );
    }
    Ok(numbers)
}
