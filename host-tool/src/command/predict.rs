//! `coldsquare predict`: how a frame moves when it is welded.

use crate::job;
use crate::movement::effect::Factors;
use crate::movement::engine::Engine;
use crate::movement::error::MovementError;
use crate::movement::json::json;
use crate::movement::predict::{planned_net_heat, predict};
use crate::movement::shapes::Shapes;
use crate::movement::text::{Basis, text};
use crate::order;
use crate::run::{Failure, Io};
use std::path::PathBuf;

/// Arguments of `predict`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// The job file.
    pub job: PathBuf,
    /// Order of the welds: "drawn", numbers and ranges ("3,1,2" or "5-8 1-4"), or a file: a plan's JSON, or a list.
    #[arg(long, default_value = "drawn", value_name = "ORDER")]
    pub order: String,
    /// Print JSON, with the shape after each weld, instead of text.
    #[arg(long)]
    pub json: bool,
}

/// Predicts and prints.
///
/// # Errors
/// [`Failure`] when a file cannot be read, the job has mistakes or its movement cannot be worked out.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let job = job::load(&arguments.job)?;
    let input =
        |error: MovementError| Failure::Input(format!("{}: {error}", arguments.job.display()));
    let (order, order_from) = order::given(&arguments.order, &job)?;
    let factors = Factors::starting();
    let heat = planned_net_heat(&job);
    let engine = Engine::new(&job).map_err(input)?;
    let prediction = predict(&job, &engine, &order, &heat, &factors).map_err(input)?;
    let basis = Basis {
        order: order_from,
        heat: "planned heat".into(),
    };
    if arguments.json {
        let heat: Vec<f64> = heat.iter().map(|heat| heat.value).collect();
        let shrinkage = engine.shrinkage(&heat, &factors).map_err(input)?;
        let shapes = Shapes::new(&job, &engine, &order, &shrinkage)
            .map_err(|error| input(MovementError::of_structure(&job, error)))?;
        io.out
            .write_all(json(&job, &prediction, &shapes, &basis).as_bytes())?;
    } else {
        io.out
            .write_all(text(&job, &prediction, &basis).as_bytes())?;
    }
    Ok(())
}
