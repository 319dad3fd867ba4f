//! After the build: map, record, readings, straightening.

use crate::frame::{order, sound};
use crate::json::{Refused, as_json, parsed};
use crate::memory::{self, Opened};
use crate::request::{Built, Measured, Straighten};
use coldsquare_engine::correct::{Settings as CorrectSettings, of_measured, of_predicted};
use coldsquare_engine::digest::sha256;
use coldsquare_engine::file_error::Source;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::map::model::WeldMap;
use coldsquare_engine::map::{self, Settings};
use coldsquare_engine::measured::check::implausible;
use coldsquare_engine::measured::length::bare_unit;
use coldsquare_engine::measured::written::Common;
use coldsquare_engine::measured::{
    Between, Measurement, State, added, compare, expected, path_of, read,
};
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{planned_net_heat, predict_for};
use coldsquare_engine::page::{correction_part, weld_map_part};
use coldsquare_engine::record::{self, Made};
use coldsquare_engine::recording::{ColumnRef, RecordingOptions};
use serde_json::{Value, json};
use std::path::Path;

/// The weld map as data and as a part of the page.
pub(crate) fn map(built: &Built) -> Result<Value, Refused> {
    let job = sound(&built.text)?;
    let map = mapped(&job, built)?;
    Ok(json!({
        "part": as_json(&weld_map_part(&job, &map))?,
        "map": parsed(&map::json::json(&map))?,
    }))
}

/// The build record as a part of the page, and as JSON to save.
pub(crate) fn record(built: &Built) -> Result<Value, Refused> {
    let job = sound(&built.text)?;
    let map = mapped(&job, built)?;
    let made = Made {
        job_file: built.file.clone(),
        job_sha256: sha256(built.text.as_bytes()),
        log_sha256: sha256(&memory::get(&built.log).unwrap_or_default()),
        by: built.by.clone(),
        welder: built.welder.clone(),
        at_unix_s: built.at_unix_s,
    };
    let record = record::build(&job, map, made);
    Ok(json!({
        "part": as_json(&record::html::part(&job, &record))?,
        "json": record::json::json(&job, &record),
    }))
}

fn mapped(job: &Job, built: &Built) -> Result<WeldMap, Refused> {
    let log_path = Path::new(&built.log);
    let [time, volts, amps] = built.columns.clone();
    let column = |name: String| name.trim().parse::<ColumnRef>().ok();
    let options = RecordingOptions {
        time: column(time),
        volts: column(volts),
        amps: column(amps),
        ..RecordingOptions::default()
    };
    let log = coldsquare_engine::log::read_of_job(&Opened, log_path, &options, job)
        .map_err(|error| error.to_string())?;
    let planned = order(job, &built.order);
    let settings = Settings {
        order: planned.iter().map(|weld| job.welds[*weld].number).collect(),
        ..Settings::default()
    };
    let mut map = map::build(job, &log, &settings).map_err(|error| error.to_string())?;
    let job_path = Path::new(&built.file);
    memory::put(
        &path_of(job_path).to_string_lossy(),
        built.measured.clone().into_bytes(),
    );
    let sum = sha256(&memory::get(&built.log).unwrap_or_default());
    compare::put_on(&Opened, &mut map, job, job_path, &sum).map_err(|error| error.to_string())?;
    Ok(map)
}

fn model(job: &Job) -> Result<MovementModel, Refused> {
    MovementModel::new(job).map_err(|error| error.to_string())
}

/// The measurements with one more entry; or each reading that cannot be, and why.
pub(crate) fn measure(measured: &Measured) -> Result<Value, Refused> {
    let job = sound(&measured.text)?;
    let model = model(&job)?;
    let common = Common {
        job: &job,
        measures: model.measures(),
        unit: bare_unit(job.units),
        plus_minus_mm: None,
        between: Between::Outside,
    };
    let (mut readings, mut wrong) = (Vec::new(), Vec::new());
    for (name, written) in &measured.readings {
        match common.named(name, written) {
            Ok(reading) => readings.push(reading),
            Err(what) => wrong.push(json!({ "of": name, "what": what, "impossible": true })),
        }
    }
    let expected = expected::as_planned(&job, &model);
    for found in implausible(&job, model.measures(), &expected.measures, &readings) {
        for index in found.readings {
            let Some(reading) = readings.get_mut(index) else {
                continue;
            };
            if found.impossible || !measured.anyway {
                let (of, what) = (&reading.of, &found.what);
                wrong.push(json!({ "of": of, "what": what, "impossible": found.impossible }));
            } else {
                reading.warnings.push(found.what.clone());
            }
        }
    }
    if !wrong.is_empty() {
        return Ok(json!({ "wrong": wrong }));
    }
    if readings.is_empty() {
        return Err("no reading was entered".into());
    }
    let entry = Measurement {
        on: measured.on.clone(),
        by: String::new(),
        state: State::Unclamped,
        build: String::new(),
        log: String::new(),
        log_sha256: String::new(),
        note: String::new(),
        readings,
    };
    let before = Source::new("the measurements", measured.measured.as_str());
    let text = added(&before, &job, model.measures(), &entry).map_err(|error| error.to_string())?;
    Ok(json!({ "measured": text }))
}

/// Options for straightening, from the measurements or before the build.
pub(crate) fn correct(asked: &Straighten) -> Result<Value, Refused> {
    let job = sound(&asked.text)?;
    let model = model(&job)?;
    let usual = CorrectSettings::default();
    let press_n = match asked.press_force.trim() {
        "" => usual.press_n,
        force => {
            let parsed = job
                .units
                .parse_force(force)
                .filter(|force| force.0 > 0.0 && force.0 <= 1e6);
            parsed
                .ok_or_else(|| {
                    format!("'{force}' is not a force; write \"10 kN\" or \"2000 lbf\"")
                })?
                .0
        }
    };
    let settings = CorrectSettings {
        press_n,
        coated: asked.coated,
        near_combustibles: asked.near_combustibles,
        structural: asked.structural,
        units: job.units,
        ..usual
    };
    let correction = if asked.measured.trim().is_empty() {
        let order: Vec<usize> = (0..job.welds.len()).collect();
        let prediction = predict_for(&job, &model, &order, &planned_net_heat(&job))
            .map_err(|error| error.to_string())?;
        let basis = "predicted with planned heat, file order".to_owned();
        of_predicted(&job, &model, &prediction, None, basis, &settings)
    } else {
        let source = Source::new("the measurements", asked.measured.as_str());
        let measurements =
            read(&source, &job, model.measures()).map_err(|errors| errors.to_string())?;
        of_measured(&job, &model, &measurements, &settings)
    };
    Ok(json!({
        "part": as_json(&correction_part(&correction))?,
        "correction": as_json(&correction)?,
    }))
}
