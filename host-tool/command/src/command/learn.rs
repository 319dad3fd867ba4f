//! `coldsquare learn JOB...`: the shop's own factors from builds that were logged and measured.

use super::Io;
use super::reading::ReadingArguments;
use crate::disk::Disk;
use crate::learned::revision;
use crate::notebook::add;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::learn::gather::{Gathered, gather};
use coldsquare_engine::learn::report::Taught;
use coldsquare_engine::shop::file::{self, History, Revision, beside};
use std::path::{Path, PathBuf};

/// Arguments of `learn`.
#[derive(Debug, clap::Args)]
#[command(after_help = HOW)]
pub struct Arguments {
    /// Jobs with measurements, and their logs beside them
    #[arg(value_name = "JOB")]
    pub jobs: Vec<PathBuf>,
    /// Use this shop factors file [default: the one the jobs name]
    #[arg(long, value_name = "FILE")]
    pub shop: Option<PathBuf>,
    /// Keep what was learned as a new revision of the shop factors file; without it nothing is written
    #[arg(long)]
    pub keep: bool,
    /// Learn from the named jobs alone, without the builds of the last revision
    #[arg(long, requires = "jobs")]
    pub only: bool,
    /// Return to an earlier revision (0: the published factors), as a new revision
    #[arg(long, value_name = "REVISION", conflicts_with_all = ["keep", "only"])]
    pub back: Option<usize>,
    /// List the revisions of the shop factors file
    #[arg(long, conflicts_with_all = ["keep", "only", "back"])]
    pub history: bool,
    /// Give the planned order of the named jobs, as for `map`
    #[arg(long, value_name = "LIST|FILE")]
    pub order: Option<String>,
    /// Date the revision: 2026-11-25 [default: today]
    #[arg(long, value_parser = super::inspect::date)]
    pub on: Option<String>,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub reading: ReadingArguments,
}

const HOW: &str = "\
Each run learns from all builds together, those of the latest revision and those of the named jobs, starting from the \
published factors. Without a JOB it reads the recorded builds again: do that after recalibrating a clamp. A job uses \
the file if it says shop_factors = \"our-shop.toml\"; shop_factors_revision = 2 holds it at a revision.";

/// Learns and prints; writes only with `--keep` or `--back`.
///
/// # Errors
/// [`Failure`] when a file has errors or cannot be read or written, or there is nothing to learn from.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let shop = shop_file(arguments)?;
    let history = match &shop {
        Some(path) => file::load(&Disk, path)?,
        None => History::default(),
    };
    if arguments.history || arguments.back.is_some() {
        let path = needed(shop.as_deref())?;
        if !path.exists() {
            return Err(not_there(path));
        }
        return match arguments.back {
            Some(to) => go_back(arguments, path, &history, to, io),
            None => list(&history, arguments.json, io),
        };
    }
    if arguments.keep {
        needed(shop.as_deref())?;
    }
    let jobs = jobs(arguments, shop.as_deref(), &history)?;
    let options = arguments.reading.options();
    let gathered: Vec<Gathered> = jobs
        .iter()
        .map(|(path, order)| gather(&Disk, path, order, &options))
        .collect::<Result<_, _>>()?;
    let taught = Taught::of(gathered, history.knowledge(history.latest()))?;
    let printed = if arguments.json {
        taught.json()
    } else {
        taught.text()
    };
    io.out.write_all(printed.as_bytes())?;
    match shop {
        Some(path) if arguments.keep => keep(arguments, &taught, &path, &jobs, io),
        _ if arguments.json => Ok(()),
        Some(path) => Ok(writeln!(
            io.out,
            "\nNothing written; --keep adds it to {}{}.",
            path.display(),
            if path.exists() {
                ""
            } else {
                ", which does not exist yet"
            }
        )?),
        None => Ok(writeln!(
            io.out,
            "\nNothing written; no job names a shop factors file (shop_factors = \"our-shop.toml\") to --keep it in."
        )?),
    }
}

fn keep(
    arguments: &Arguments,
    taught: &Taught,
    shop: &Path,
    jobs: &[(PathBuf, String)],
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    if taught.readings() == 0 {
        return Err(Failure::Input(
            "there is nothing to learn from; nothing written".into(),
        ));
    }
    let learned = revision(taught, date(arguments), shop, jobs);
    add(shop, |before| file::added(before, &learned))?;
    let number = file::load(&Disk, shop)?.latest();
    if !arguments.json {
        writeln!(io.out, "\nKept as revision {number} of {}.", shop.display())?;
        for path in &arguments.jobs {
            if !names_shop(path, shop)? {
                writeln!(
                    io.out,
                    "Note: {} does not name this file, so its plan will not use it; add shop_factors = \"{}\" above the first \
                     [table].",
                    path.display(),
                    shop.display()
                )?;
            }
        }
    }
    Ok(())
}

/// Whether a job names this file of a shop.
fn names_shop(job: &Path, shop: &Path) -> Result<bool, Failure> {
    let named = coldsquare_engine::job::load_without_factors(&Disk, job)?.shop_file;
    let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
    Ok(named.is_some_and(|named| real(&beside(job, &named.path)) == real(shop)))
}

fn needed(shop: Option<&Path>) -> Result<&Path, Failure> {
    shop.ok_or_else(|| {
        Failure::Usage(
            "name the shop factors file: --shop our-shop.toml, or a job with the line shop_factors = \"our-shop.toml\""
                .into(),
        )
    })
}

fn not_there(shop: &Path) -> Failure {
    Failure::Input(format!(
        "{} does not exist; check the name, or make it with `coldsquare learn JOB --keep`",
        shop.display()
    ))
}

/// The file that was named, or that all jobs name.
fn shop_file(arguments: &Arguments) -> Result<Option<PathBuf>, Failure> {
    if arguments.shop.is_some() {
        return Ok(arguments.shop.clone());
    }
    let mut found: Option<PathBuf> = None;
    for path in &arguments.jobs {
        let Some(named) = coldsquare_engine::job::load_without_factors(&Disk, path)?.shop_file
        else {
            continue;
        };
        let here = beside(path, &named.path);
        if found.as_ref().is_some_and(|other| *other != here) {
            return Err(Failure::Usage(
                "the jobs name different shop factors files; choose one with --shop".into(),
            ));
        }
        found = Some(here);
    }
    Ok(found)
}

/// The jobs to learn from with their planned orders: those of the latest revision, then those named.
fn jobs(
    arguments: &Arguments,
    shop: Option<&Path>,
    history: &History,
) -> Result<Vec<(PathBuf, String)>, Failure> {
    let mut jobs: Vec<(PathBuf, String)> = Vec::new();
    let recorded = history.meant(history.latest()).filter(|_| !arguments.only);
    if let (Some(shop), Some(revision)) = (shop, recorded) {
        for build in &revision.builds {
            jobs.push((beside(shop, &build.job), order_beside(shop, &build.order)));
        }
    }
    let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
    for path in &arguments.jobs {
        let order = arguments.order.clone().unwrap_or_default();
        match jobs.iter_mut().find(|(known, _)| real(known) == real(path)) {
            Some((_, known)) if !order.is_empty() => *known = order,
            Some(_) => {}
            None => jobs.push((path.clone(), order)),
        }
    }
    if jobs.is_empty() {
        return Err(match shop {
            Some(shop) if !shop.exists() => not_there(shop),
            Some(shop) => Failure::Input(format!(
                "{} holds no builds; name jobs to learn from: coldsquare learn gate.toml",
                shop.display()
            )),
            None => {
                Failure::Usage("name the jobs to learn from: coldsquare learn gate.toml".into())
            }
        });
    }
    if let Some((gone, _)) = jobs.iter().find(|(path, _)| !path.exists()) {
        return Err(Failure::Input(format!(
            "{} does not exist; put it back, or learn from other jobs with --only",
            gone.display()
        )));
    }
    Ok(jobs)
}

/// An order that is a file is recorded as seen from the shop's file.
fn order_beside(shop: &Path, order: &str) -> String {
    let path = beside(shop, order);
    if !order.is_empty() && path.is_file() {
        path.display().to_string()
    } else {
        order.to_owned()
    }
}

fn date(arguments: &Arguments) -> String {
    arguments.on.clone().unwrap_or_else(super::today)
}

fn go_back(
    arguments: &Arguments,
    path: &Path,
    history: &History,
    to: usize,
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    if to > history.latest() || history.latest() == 0 {
        return Err(Failure::Input(format!(
            "{} has no revision {to}; its latest is {}",
            path.display(),
            history.latest()
        )));
    }
    let back = Revision::back(date(arguments), to);
    add(path, |before| file::added(before, &back))?;
    let number = file::load(&Disk, path)?.latest();
    writeln!(
        io.out,
        "Revision {number} of {} returns to {}.",
        path.display(),
        match to {
            0 => "the published factors".to_owned(),
            to => format!("revision {to}"),
        }
    )?;
    Ok(())
}

fn list(history: &History, as_json: bool, io: &mut Io<'_>) -> Result<(), Failure> {
    if as_json {
        return io.print_json(&history.0);
    }
    if history.latest() == 0 {
        writeln!(io.out, "Nothing learned yet; the published factors apply.")?;
    }
    for (k, revision) in history.0.iter().enumerate() {
        let number = k + 1;
        match revision.back_to {
            Some(0) => writeln!(
                io.out,
                "{number}  {}  return to the published factors",
                revision.on
            )?,
            Some(to) => writeln!(io.out, "{number}  {}  return to revision {to}", revision.on)?,
            None => {
                let jobs: Vec<&str> = revision.builds.iter().map(|b| b.job.as_str()).collect();
                writeln!(
                    io.out,
                    "{number}  {}  from {} readings: {}",
                    revision.on,
                    revision.readings,
                    jobs.join(", ")
                )?;
            }
        }
    }
    Ok(())
}
