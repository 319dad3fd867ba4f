//! `coldsquare predict`: how a frame moves when it is welded.

use super::Io;
use super::reading::ReadingArguments;
use super::recording::{KeepArguments, read_and_keep};
use crate::disk::Disk;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::map::Settings;
use coldsquare_engine::movement::error::MovementError;
use coldsquare_engine::movement::json::json;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{
    measured_net_heat, order_done, planned_net_heat, predict_for,
};
use coldsquare_engine::movement::shapes::Shapes;
use coldsquare_engine::movement::text::{Basis, text};
use coldsquare_engine::order;
use std::path::PathBuf;

/// Arguments of `predict`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Weld in this order: file (as in the job file), numbers and ranges (3,1,2 or "5-8 1-4"), or a file with a list or a plan's JSON
    ///
    /// The default is file order, or with a log the order welded.
    #[arg(long, value_name = "ORDER")]
    pub order: Option<String>,
    /// Take the heat of each weld from this log instead of the procedure
    #[arg(long, value_name = "LOG")]
    pub log: Option<PathBuf>,
    /// Print JSON, with the shape after each weld, instead of text
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub reading: ReadingArguments,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub keep: KeepArguments,
}

/// Predicts and prints.
///
/// # Errors
/// [`Failure`] when a file cannot be read, the job has errors or its movement cannot be worked out.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let input =
        |error: MovementError| Failure::Input(format!("{}: {error}", arguments.job.display()));
    let build = Build::given(arguments, &job, io)?;
    let engine = MovementModel::new(&job).map_err(input)?;
    let prediction = predict_for(&job, &engine, &build.order, &build.heat).map_err(input)?;
    let printed = if arguments.json {
        let heat: Vec<f64> = build.heat.iter().map(|heat| heat.value).collect();
        let shrinkage = engine
            .shrinkage_each(&heat, &job.shrinkage_factors())
            .map_err(input)?;
        let shapes = Shapes::new(&job, &engine, &build.order, &shrinkage)
            .map_err(|error| input(MovementError::of_structure(&job, error)))?;
        json(&job, &prediction, &shapes, &build.basis)
    } else {
        text(&job, &prediction, &build.basis)
    };
    io.out.write_all(printed.as_bytes())?;
    if !build.as_planned.is_empty() {
        writeln!(
            io.err,
            "note: no measured heat, taken as planned: weld {}",
            coldsquare_engine::format::list(&build.as_planned)
        )?;
    }
    Ok(())
}

/// The order and heat to predict with: planned or logged.
struct Build {
    order: Vec<usize>,
    heat: Vec<Uncertain>,
    basis: Basis,
    /// Welds that take the planned heat although there is a log.
    as_planned: Vec<u16>,
}

impl Build {
    fn given(arguments: &Arguments, job: &Job, io: &mut Io<'_>) -> Result<Self, Failure> {
        let order = match &arguments.order {
            Some(given) => Some(order::given(&Disk, given, job)?),
            None => None,
        };
        let Some(path) = &arguments.log else {
            let (order, order_from) = order.unwrap_or_else(|| drawn(job));
            return Ok(Self {
                order,
                heat: planned_net_heat(job),
                basis: Basis {
                    order: order_from,
                    heat: "planned heat".into(),
                },
                as_planned: Vec::new(),
            });
        };
        let how = (&arguments.reading, &arguments.keep);
        let log = read_and_keep(path, (job, &arguments.job), how, io)?;
        let settings = Settings {
            order: order
                .iter()
                .flat_map(|(order, _)| order.iter().map(|&weld| number(weld)))
                .collect(),
            ..Settings::default()
        };
        let map = coldsquare_engine::map::build(job, &log, &settings)
            .map_err(|error| Failure::Input(format!("{}: {error}", path.display())))?;
        let (heat, as_planned) = measured_net_heat(job, &map);
        Ok(Self {
            order: order_done(&map),
            heat,
            basis: Basis {
                order: "the order welded".into(),
                heat: format!("heat of {}", map.source.log),
            },
            as_planned,
        })
    }
}

fn number(weld: usize) -> u16 {
    u16::try_from(weld + 1).unwrap_or(u16::MAX)
}

pub(super) fn drawn(job: &Job) -> (Vec<usize>, String) {
    ((0..job.welds.len()).collect(), "file order".into())
}
