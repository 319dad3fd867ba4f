//! `coldsquare inspect JOB [WELDS] RESULT`: notes what was seen on welds, beside the job.

use super::Io;
use super::table::Table;
use crate::disk::Disk;
use crate::notebook::add;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::inspection::{Finding, Inspection, Outcome, added, load, path_of};
use coldsquare_engine::words::plain;
use std::path::PathBuf;

/// Arguments of `inspect`.
#[derive(Debug, clap::Args)]
#[command(after_help = WHO_JUDGES)]
pub struct Arguments {
    /// The job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Numbers of the welds, as 3 or 3,5-8; without them what is known is listed
    #[arg(value_name = "WELDS", requires = "result")]
    pub welds: Option<String>,
    /// What became of them
    #[arg(long, value_enum)]
    pub result: Option<Outcome>,
    /// What was seen; may be repeated
    #[arg(long, value_enum)]
    pub found: Vec<Finding>,
    /// Quality level of ISO 5817 judged by
    #[arg(long, value_parser = ["B", "C", "D"])]
    pub level: Option<String>,
    /// Who looked: initials or stamp
    #[arg(long, default_value = "")]
    pub by: String,
    /// When, as 2026-11-25 [default: today]
    #[arg(long, value_parser = date)]
    pub on: Option<String>,
    /// Anything else worth keeping
    #[arg(long, default_value = "")]
    pub note: String,
}

const WHO_JUDGES: &str = "\
Entries are added to JOB-inspection.toml and never changed; the latest of a weld counts. Limits of each item by quality \
level are those of ISO 5817: this program keeps what you saw and does not judge it. Where a code applies, a qualified \
inspector does.";

pub(super) fn date(text: &str) -> Result<String, String> {
    text.parse::<jiff::civil::Date>()
        .map(|date| date.to_string())
        .map_err(|_| "give a date, as 2026-11-25".into())
}

/// Adds entries, or lists those that are there.
///
/// # Errors
/// [`Failure`] when the job or its inspections have mistakes, a weld does not exist or the file cannot be written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let (Some(list), Some(result)) = (&arguments.welds, arguments.result) else {
        return show(&load(&Disk, &arguments.job, job.welds.len())?, io);
    };
    let numbers = welds(list, job.welds.len())?;
    let on = arguments
        .on
        .clone()
        .unwrap_or_else(|| jiff::Timestamp::now().strftime("%Y-%m-%d").to_string());
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
        writeln!(io.out, "No weld of this job has been inspected yet.")?;
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
            "'{part}' names no weld: the job has welds 1 to {count}; write 3 or 3,5-8"
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
