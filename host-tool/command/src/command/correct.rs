//! `coldsquare correct JOB`: options for straightening, in millimetres.

use super::Io;
use super::predict::drawn;
use crate::disk::Disk;
use crate::save::{Existing, refuse_input, save};
use coldsquare_engine::correct::model::Correction;
use coldsquare_engine::correct::{Settings, of_measured, of_predicted, text::text};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job::model::{Clamp, Job};
use coldsquare_engine::measured::{load, path_of};
use coldsquare_engine::movement::error::MovementError;
use coldsquare_engine::movement::measures::MeasureKind;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{Prediction, planned_net_heat, predict_for};
use coldsquare_engine::units::Units;
use std::path::PathBuf;

/// Arguments of `correct`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Read the measurements from this file instead of JOB-measured.toml
    #[arg(long, value_name = "FILE")]
    pub measured: Option<PathBuf>,
    /// Work from the prediction, even if the frame was measured
    #[arg(long, conflicts_with = "measured")]
    pub before: bool,
    /// Predict with this order: file (as in the job file), numbers and ranges, or a file with a list or a plan's JSON
    #[arg(long, value_name = "ORDER")]
    pub order: Option<String>,
    /// Set the tolerance of every measure: "2 mm" [default: EN ISO 13920, class A for sizes, E for straightness]
    #[arg(long, value_name = "LENGTH")]
    pub tolerance: Option<String>,
    /// Set the greatest force of your clamp, screw or jack: "10 kN", "2000 lbf"; a bare number is in kN or lbf
    #[arg(long, value_name = "FORCE", default_value = "10 kN")]
    pub press_force: String,
    /// Set the length of the packing along the bar, under the press and on the blocks
    #[arg(long, value_name = "LENGTH", default_value = "60 mm")]
    pub packing: String,
    /// Set the distance between the blocks [default: nine tenths of the member, or less for a springy one]
    #[arg(long, value_name = "LENGTH")]
    pub span: Option<String>,
    /// Rule out heat: the metal is galvanised, painted or otherwise coated
    #[arg(long)]
    pub coated: bool,
    /// Rule out heat: glass, wood or anything that burns is on the frame or near it
    #[arg(long)]
    pub near_combustibles: bool,
    /// Rule out bending, heat and welds: people or a code depend on the frame (as structural = true in the job)
    #[arg(long)]
    pub structural: bool,
    /// Print in these units, and read bare numbers in them [default: those of the job]
    #[arg(long, value_parser = ["mm", "inch"])]
    pub units: Option<String>,
    /// Print JSON (always in mm, N, MPa and °C) instead of text
    #[arg(long)]
    pub json: bool,
    /// Write a page to this file, with drawings of where to press and heat
    #[arg(long, value_name = "FILE")]
    pub page: Option<PathBuf>,
    /// Replace the page if it exists
    #[arg(long)]
    pub force: bool,
}

/// Works out the options and prints them.
///
/// # Errors
/// [`Failure`] when a file cannot be read or written, the job or its measurements have errors, or its movement cannot
/// be worked out.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    if let Some(page) = &arguments.page {
        let measured = arguments.measured.as_deref();
        refuse_input(page, [arguments.job.as_path()].into_iter().chain(measured))?;
    }
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let input =
        |error: MovementError| Failure::Input(format!("{}: {error}", arguments.job.display()));
    let engine = MovementModel::new(&job).map_err(input)?;
    let settings = settings(arguments, &job)?;
    let path = arguments
        .measured
        .clone()
        .unwrap_or_else(|| path_of(&arguments.job));
    if arguments.measured.is_some() && !path.exists() {
        return Err(Failure::Input(format!("there is no {}", path.display())));
    }
    let measurements = load(&Disk, &path, &job, engine.measures())?;
    let expected = if measurements.is_empty() || arguments.before {
        Some(Expected::of(arguments, &job, &engine)?)
    } else {
        None
    };
    let correction = |units| {
        let settings = Settings { units, ..settings };
        match &expected {
            Some(expected) => expected.correction(&job, &engine, &settings),
            None => of_measured(&job, &engine, &measurements, &settings),
        }
    };
    if arguments.json {
        let json = serde_json::to_string_pretty(&correction(Units::Metric)).unwrap_or_default();
        writeln!(io.out, "{json}")?;
    } else {
        io.out
            .write_all(text(&correction(settings.units)).as_bytes())?;
    }
    if let Some(page) = &arguments.page {
        let existing = Existing::with_force(arguments.force);
        save(
            page,
            coldsquare_engine::page::correction_html(&correction(settings.units)).as_bytes(),
            existing,
        )?;
        if !arguments.json {
            writeln!(io.out, "\nPage: {}", page.display())?;
        }
    }
    Ok(())
}

fn settings(arguments: &Arguments, job: &Job) -> Result<Settings, Failure> {
    let units = match arguments.units.as_deref() {
        Some("inch") => Units::UsCustomary,
        Some(_) => Units::Metric,
        None => job.units,
    };
    let length = |name: &str, text: &String, least: f64, most: f64| {
        units.parse_length(text)
            .map(|length| length.0)
            .filter(|length| (least..=most).contains(length))
            .ok_or_else(|| Failure::Input(format!("{name}: '{text}' is not a length from {least} to {most} mm; write \"20 mm\" or \"3/4 in\"")))
    };
    let press_force = units.parse_force(&arguments.press_force)
        .map(|force| force.0)
        .filter(|force| *force > 0.0 && *force <= 1e6)
        .ok_or_else(|| {
            Failure::Input(format!(
                "--press-force: '{}' is not a force of more than 0 and up to 1000 kN; write \"10 kN\" or \"2000 lbf\"",
                arguments.press_force
            ))
        })?;
    Ok(Settings {
        tolerance_mm: arguments
            .tolerance
            .as_ref()
            .map(|text| length("--tolerance", text, 0.01, 1000.0))
            .transpose()?,
        press_n: press_force,
        packing_mm: length("--packing", &arguments.packing, 5.0, 500.0)?,
        span_mm: arguments
            .span
            .as_ref()
            .map(|text| length("--span", text, 20.0, 20_000.0))
            .transpose()?,
        coated: arguments.coated,
        near_combustibles: arguments.near_combustibles,
        structural: arguments.structural,
        units,
    })
}

/// The movement predicted before the frame is built.
struct Expected {
    prediction: Prediction,
    /// The job with three more clamps on each member that bows, and its prediction.
    clamped: Option<(Job, Prediction)>,
    basis: String,
}

impl Expected {
    fn of(arguments: &Arguments, job: &Job, engine: &MovementModel) -> Result<Self, Failure> {
        let input =
            |error: MovementError| Failure::Input(format!("{}: {error}", arguments.job.display()));
        let (order, from) = match &arguments.order {
            Some(given) => coldsquare_engine::order::given(&Disk, given, job)?,
            None => drawn(job),
        };
        let heat = planned_net_heat(job);
        let prediction = predict_for(job, engine, &order, &heat).map_err(input)?;
        let clamped = with_more_clamps(job, &prediction).and_then(|job| {
            let engine = MovementModel::new(&job).ok()?;
            let prediction = predict_for(&job, &engine, &order, &heat).ok()?;
            Some((job, prediction))
        });
        Ok(Self {
            prediction,
            clamped,
            basis: format!("predicted with planned heat, {from}"),
        })
    }

    fn correction(&self, job: &Job, engine: &MovementModel, settings: &Settings) -> Correction {
        let clamped = self.clamped.as_ref().map(|(job, with)| (job, with));
        of_predicted(
            job,
            engine,
            &self.prediction,
            clamped,
            self.basis.clone(),
            settings,
        )
    }
}

/// The job with three more rigid clamps on each of the six members that bow most; nothing if none bows.
fn with_more_clamps(job: &Job, prediction: &Prediction) -> Option<Job> {
    let mut bows: Vec<_> = prediction
        .measures
        .iter()
        .filter(|m| m.kind == MeasureKind::Bow)
        .collect();
    bows.sort_by(|a, b| {
        b.released_mm
            .value
            .abs()
            .total_cmp(&a.released_mm.value.abs())
    });
    let mut members: Vec<usize> = bows.iter().filter_map(|bow| bow.member).collect();
    members.dedup();
    members.truncate(6);
    members.sort_unstable();
    members.dedup();
    let mut job = job.clone();
    for &member in &members {
        let (from, to) = (job.members[member].from, job.members[member].to);
        for part in [0.1, 0.5, 0.9] {
            job.clamps
                .push(Clamp::firm(member, from + (to - from) * part));
        }
    }
    (!members.is_empty()).then_some(job)
}
