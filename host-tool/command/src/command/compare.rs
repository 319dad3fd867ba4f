//! `coldsquare compare JOB JOB`: what changes from one variant of a frame to another, in movement, time and metal.

use super::Io;
use super::table::Table;
use crate::disk::Disk;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::format::{Precision, count, number, signed};
use coldsquare_engine::job;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{Predicted, planned_net_heat, predict_for};
use coldsquare_engine::sanitise::plain;
use std::path::{Path, PathBuf};

/// Changes below this are not listed, mm: no tape shows them.
const MIN_LISTED_MM: f64 = 0.1;
/// At most so many measures are listed.
const MAX_LISTED: usize = 20;

/// Arguments of `compare`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub first: PathBuf,
    /// Job file of the other variant
    #[arg(value_name = "OTHER")]
    pub second: PathBuf,
}

/// One variant with what is predicted of it.
struct Variant {
    job: Job,
    measures: Vec<Predicted>,
    arc_s: f64,
}

/// Prints both variants side by side.
///
/// # Errors
/// [`Failure::Input`] when a job has errors or cannot be worked out, [`Failure::File`] when it cannot be read.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let first = variant(&arguments.first)?;
    let second = variant(&arguments.second)?;
    let units = first.job.units;
    let names = [&first, &second].map(|one| plain(&one.job.name));
    writeln!(
        io.out,
        "{} and {}, each in file order with its planned heat",
        names[0], names[1]
    )?;
    writeln!(io.out)?;
    let mut table = Table::new("<>>>");
    table.row(["", "first", "second", "second less first"]);
    let mass = |one: &Variant| one.job.mass().0;
    table.row([
        "metal".to_owned(),
        units.mass(first.job.mass()),
        units.mass(second.job.mass()),
        format!(
            "{} %",
            signed(100.0 * (mass(&second) / mass(&first) - 1.0), 0)
        ),
    ]);
    let counts = [&first, &second].map(|one| one.job.welds.len());
    table.row([
        "welds".to_owned(),
        count(counts[0], "weld"),
        count(counts[1], "weld"),
        signed(counts[1] as f64 - counts[0] as f64, 0),
    ]);
    table.row([
        "length of weld".to_owned(),
        units.total_length(first.job.weld_length()),
        units.total_length(second.job.weld_length()),
        format!(
            "{} %",
            signed(
                100.0 * (second.job.weld_length().0 / first.job.weld_length().0 - 1.0),
                0
            )
        ),
    ]);
    table.row([
        "arc time".to_owned(),
        format!("{} s", number(first.arc_s, 0)),
        format!("{} s", number(second.arc_s, 0)),
        format!("{} s", signed(second.arc_s - first.arc_s, 0)),
    ]);
    table.print(io.out)?;
    movement(&first, &second, io)
}

/// The measures that both have, those that differ most first.
fn movement(first: &Variant, second: &Variant, io: &mut Io<'_>) -> Result<(), Failure> {
    let units = first.job.units;
    let mut both: Vec<(&Predicted, &Predicted)> = first
        .measures
        .iter()
        .filter_map(|one| {
            Some((
                one,
                second
                    .measures
                    .iter()
                    .find(|other| other.name == one.name)?,
            ))
        })
        .collect();
    let differ = |(one, other): &(&Predicted, &Predicted)| {
        (other.released_mm.value.abs() - one.released_mm.value.abs()).abs()
    };
    both.sort_by(|a, b| differ(b).total_cmp(&differ(a)));
    let listed: Vec<_> = both
        .iter()
        .filter(|pair| differ(pair) >= MIN_LISTED_MM)
        .collect();
    let least = units.length_with_unit(MIN_LISTED_MM, Precision::Drawn);
    if listed.is_empty() {
        writeln!(
            io.out,
            "\nNo movement differs by {least} or more between the two."
        )?;
        return Ok(());
    }
    writeln!(
        io.out,
        "\nMovement, {} (change when the last weld is cold and the clamps are off)",
        units.length_symbol()
    )?;
    let mut table = Table::new("<>><");
    table.row(["", "first", "second", ""]);
    for (one, other) in listed.iter().take(MAX_LISTED) {
        let (a, b) = (one.released_mm, other.released_mm);
        table.row([
            plain(&one.name),
            units.change(a),
            units.change(b),
            verdict(a, b).to_owned(),
        ]);
    }
    table.print(io.out)?;
    let rest = both.len() - listed.len().min(MAX_LISTED);
    if rest > 0 {
        let verb = if rest == 1 { "differs" } else { "differ" };
        writeln!(
            io.out,
            "  {} of both {verb} less.",
            count(rest, "further measure")
        )?;
    }
    writeln!(
        io.out,
        "\nCalculated, not measured. The uncertainties of the two are mostly shared: the same shop welds both."
    )?;
    Ok(())
}

/// Which of two moves less, as far as that is more than scatter.
fn verdict(first: Uncertain, second: Uncertain) -> &'static str {
    let less = second.value.abs() - first.value.abs();
    let larger = first.value.abs().max(second.value.abs());
    match less {
        _ if less.abs() < 0.1 * larger => "about the same",
        less if less < 0.0 => "second moves less",
        _ => "first moves less",
    }
}

fn variant(path: &Path) -> Result<Variant, Failure> {
    let job = job::load(&Disk, path)?;
    let failed =
        |error: &dyn std::fmt::Display| Failure::Input(format!("{}: {error}", path.display()));
    let model = MovementModel::new(&job).map_err(|error| failed(&error))?;
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let predicted = predict_for(&job, &model, &order, &planned_net_heat(&job));
    let measures = predicted.map_err(|error| failed(&error))?.measures;
    let arcs = job
        .welds
        .iter()
        .map(|weld| weld.planned_arc_time(&job.procedures[weld.procedure]).0);
    Ok(Variant {
        arc_s: arcs.sum(),
        measures,
        job,
    })
}
