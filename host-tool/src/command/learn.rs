//! `coldsquare learn JOB...`: the shop's own factors from builds that were logged and measured.

use super::reading::ReadingArguments;
use crate::learn::gather::{Gathered, gather};
use crate::learn::text::{change, factor_rows, misfit_words, narrowing, supports_anything};
use crate::learn::{Learned, build::Build, learn};
use crate::run::{Failure, Io};
use crate::shop::factors::Knowledge;
use crate::shop::file::{self, Digest, History, Recorded, Revision, beside};
use serde_json::json;
use std::path::{Path, PathBuf};

/// Arguments of `learn`.
#[derive(Debug, clap::Args)]
#[command(after_help = HOW)]
pub struct Arguments {
    /// Jobs with measurements (and their logs beside them)
    #[arg(value_name = "JOB")]
    pub jobs: Vec<PathBuf>,
    /// The shop's file [default: the one that the jobs name]
    #[arg(long, value_name = "FILE")]
    pub shop: Option<PathBuf>,
    /// Keep what was learned as a new revision of the shop's file; without it nothing is written
    #[arg(long)]
    pub keep: bool,
    /// Forget the builds of the revision before: learn from the jobs named alone
    #[arg(long, requires = "jobs")]
    pub only: bool,
    /// Go back to an earlier revision (0: the published factors), as a new revision
    #[arg(long, value_name = "REVISION", conflicts_with_all = ["keep", "only"])]
    pub back: Option<usize>,
    /// List the revisions of the shop's file
    #[arg(long, conflicts_with_all = ["keep", "only", "back"])]
    pub history: bool,
    /// The order that was planned for the jobs named, as for `map`
    #[arg(long, value_name = "LIST|FILE")]
    pub order: Option<String>,
    /// The date of the revision, as 2026-11-25 [default: today]
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
All builds are learned from together, those of the shop's latest revision and those of the jobs named, always from the \
published factors on. Without a JOB the recorded builds are read again, which is what to do after a clamp was \
calibrated and logs were read anew. A job uses the file when it says shop = \"our-shop.toml\"; shop_revision = 2 keeps it \
at a revision.";

/// Learns and prints; writes only with `--keep` or `--back`.
///
/// # Errors
/// [`Failure`] when a file has mistakes or cannot be read or written, or there is nothing to learn from.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let shop = shop_file(arguments)?;
    let history = match &shop {
        Some(path) => file::load(path)?,
        None => History::default(),
    };
    if arguments.history || arguments.back.is_some() {
        let path = needed(shop.as_deref())?;
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
        .map(|(path, order)| gather(path, order, &options))
        .collect::<Result<_, _>>()?;
    let builds: Vec<Build> = gathered.iter().flat_map(|one| one.builds.clone()).collect();
    let learned = learn(&builds).map_err(|error| Failure::Input(error.to_string()))?;
    let taught = Taught {
        before: history.knowledge(history.latest()),
        gathered,
        builds,
        learned,
    };
    if arguments.json {
        taught.json(io)?;
    } else {
        taught.text(io)?;
    }
    match shop {
        Some(path) if arguments.keep => taught.keep(arguments, &path, &jobs, io),
        _ if !arguments.json => Ok(writeln!(
            io.out,
            "\nNothing was written; --keep adds it to the shop's file."
        )?),
        _ => Ok(()),
    }
}

fn needed(shop: Option<&Path>) -> Result<&Path, Failure> {
    shop.ok_or_else(|| {
        Failure::Usage(
            "which shop? --shop our-shop.toml, or a job with the line shop = \"our-shop.toml\""
                .into(),
        )
    })
}

/// The file that was named, or that all jobs name.
fn shop_file(arguments: &Arguments) -> Result<Option<PathBuf>, Failure> {
    if arguments.shop.is_some() {
        return Ok(arguments.shop.clone());
    }
    let mut found: Option<PathBuf> = None;
    for path in &arguments.jobs {
        let Some(named) = crate::job::load_alone(path)?.shop_file else {
            continue;
        };
        let here = beside(path, &named.path);
        if found.as_ref().is_some_and(|other| *other != here) {
            return Err(Failure::Usage(
                "the jobs name different files of a shop; say which with --shop".into(),
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
        return Err(Failure::Usage(
            "name the jobs to learn from: coldsquare learn gate.toml".into(),
        ));
    }
    if let Some((gone, _)) = jobs.iter().find(|(path, _)| !path.exists()) {
        return Err(Failure::Input(format!(
            "{} is not there; put it back, or learn from others with --only",
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

fn today(arguments: &Arguments) -> String {
    let today = || jiff::Timestamp::now().strftime("%Y-%m-%d").to_string();
    arguments.on.clone().unwrap_or_else(today)
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
    let number = file::add(path, &Revision::back(today(arguments), to))?;
    writeln!(
        io.out,
        "Revision {number} of {} goes back to {}.",
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
        let text = serde_json::to_string_pretty(&history.0).unwrap_or_default();
        writeln!(io.out, "{text}")?;
        return Ok(());
    }
    if history.latest() == 0 {
        writeln!(
            io.out,
            "Nothing was learned yet; the published factors are used."
        )?;
    }
    for (k, revision) in history.0.iter().enumerate() {
        let number = k + 1;
        match revision.back_to {
            Some(0) => writeln!(
                io.out,
                "{number}  {}  back to the published factors",
                revision.on
            )?,
            Some(to) => writeln!(io.out, "{number}  {}  back to revision {to}", revision.on)?,
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

/// What a run has found.
struct Taught {
    before: Knowledge,
    gathered: Vec<Gathered>,
    builds: Vec<Build>,
    learned: Learned,
}

impl Taught {
    fn readings(&self) -> usize {
        let used = self.learned.used.iter();
        used.map(|&build| self.builds[build].readings.len()).sum()
    }

    fn misfits(&self) -> Vec<String> {
        let misfits = self.learned.misfits.iter();
        misfits
            .map(|misfit| misfit_words(&self.builds, misfit, &self.learned.knowledge))
            .collect()
    }

    fn text(&self, io: &mut Io<'_>) -> Result<(), Failure> {
        let used = self.learned.used.len();
        writeln!(
            io.out,
            "Learned from {} of {}, {} readings. ± is k = 2, about 95 %.",
            used,
            match self.builds.len() {
                1 => "1 build".to_owned(),
                builds => format!("{builds} builds"),
            },
            self.readings()
        )?;
        for &build in &self.learned.used {
            let build = &self.builds[build];
            writeln!(
                io.out,
                "  {}: {} readings",
                build.name,
                build.readings.len()
            )?;
        }
        for misfit in self.misfits() {
            writeln!(io.out, "Does not fit: {misfit}.")?;
        }
        for note in self.gathered.iter().flat_map(|one| &one.notes) {
            writeln!(io.out, "Note: {note}.")?;
        }
        let mut class = String::new();
        for [of, way, before, after, support] in factor_rows(&self.before, &self.learned.knowledge)
        {
            if of != class {
                writeln!(io.out, "\nFactors of welds {of}")?;
                class.clone_from(&of);
            }
            writeln!(io.out, "  {way:<15} {before:>13} -> {after:<13}  {support}")?;
        }
        writeln!(io.out)?;
        for one in &self.gathered {
            if let Some((name, [before, after])) =
                narrowing(&one.job, &self.before, &self.learned.knowledge)
            {
                let units = one.job.units;
                writeln!(
                    io.out,
                    "Next build of {}, {name}: {} -> {}, doubt {:.0} % of before",
                    one.job.name,
                    change(before, units),
                    change(after, units),
                    100.0 * after.standard / before.standard
                )?;
            }
        }
        if !supports_anything(&self.learned) {
            writeln!(io.out, "The data do not support a change of any factor.")?;
        }
        Ok(())
    }

    fn json(&self, io: &mut Io<'_>) -> Result<(), Failure> {
        let rows = factor_rows(&self.before, &self.learned.knowledge);
        let factors: Vec<_> = rows
            .iter()
            .enumerate()
            .map(|(k, [class, way, before, after, support])| {
                let factor = self.learned.knowledge.position(&crate::shop::Class::named(class));
                let factor = factor.map(|at| self.learned.knowledge.factor(at, k % 5));
                json!({
                    "class": class, "way": way, "before": before, "after": after, "support": support,
                    "value": factor.map(|f| f.value),
                    "relative_expanded": factor.map(|f| 2.0 * f.relative_uncertainty),
                })
            })
            .collect();
        let next: Vec<_> = self
            .gathered
            .iter()
            .filter_map(|one| {
                let (measure, [before, after]) =
                    narrowing(&one.job, &self.before, &self.learned.knowledge)?;
                Some(json!({
                    "job": one.job.name, "measure": measure,
                    "before_mm": {"value": before.value, "expanded": before.expanded()},
                    "after_mm": {"value": after.value, "expanded": after.expanded()},
                }))
            })
            .collect();
        let used: Vec<&str> = self
            .learned
            .used
            .iter()
            .map(|&b| self.builds[b].name.as_str())
            .collect();
        let notes: Vec<&String> = self.gathered.iter().flat_map(|one| &one.notes).collect();
        let text = serde_json::to_string_pretty(&json!({
            "used": used, "readings": self.readings(), "misfits": self.misfits(), "notes": notes,
            "factors": factors, "next": next, "supported": supports_anything(&self.learned),
        }));
        writeln!(io.out, "{}", text.unwrap_or_default())?;
        Ok(())
    }

    fn keep(
        &self,
        arguments: &Arguments,
        shop: &Path,
        jobs: &[(PathBuf, String)],
        io: &mut Io<'_>,
    ) -> Result<(), Failure> {
        if self.readings() == 0 {
            return Err(Failure::Input(
                "there is nothing to learn from; nothing was written".into(),
            ));
        }
        let record = |((path, order), one): (&(PathBuf, String), &Gathered)| {
            let left_out = self
                .learned
                .misfits
                .iter()
                .map(|misfit| &self.builds[misfit.build].name);
            let own: Vec<&String> = one.builds.iter().map(|build| &build.name).collect();
            let digest = |(file, sha256): &(PathBuf, String)| Digest {
                file: seen_from(shop, file),
                sha256: sha256.clone(),
            };
            let order_file = !order.is_empty() && Path::new(order).is_file();
            Recorded {
                job: seen_from(shop, path),
                order: if order_file {
                    seen_from(shop, Path::new(order))
                } else {
                    order.clone()
                },
                left_out: left_out
                    .filter(|name| own.contains(name))
                    .cloned()
                    .collect(),
                digest: one.files.iter().map(digest).collect(),
            }
        };
        let records = jobs.iter().zip(&self.gathered).map(record).collect();
        let revision = Revision::new(
            today(arguments),
            self.readings(),
            records,
            &self.learned.knowledge,
        );
        let number = file::add(shop, &revision)?;
        if !arguments.json {
            writeln!(io.out, "\nKept as revision {number} of {}.", shop.display())?;
        }
        Ok(())
    }
}

/// A path as seen from the shop's file where it lies in its folder or below, else whole.
fn seen_from(shop: &Path, path: &Path) -> String {
    let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let folder = match shop.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let (folder, path) = (real(folder), real(path));
    let seen = path.strip_prefix(&folder).unwrap_or(&path);
    // The same on every system.
    seen.display().to_string().replace('\\', "/")
}
