//! A look at a job: the frame, the form, and how it moves.

use crate::json::{Refused, as_json, parsed};
use crate::request::Look;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_engine::correct::answer::answer;
use coldsquare_engine::file_error::FileErrors;
use coldsquare_engine::format::Precision;
use coldsquare_engine::job;
use coldsquare_engine::job::edit::{alike, alike_words, form};
use coldsquare_engine::job::model::Job;
use coldsquare_engine::movement::error::MovementError;
use coldsquare_engine::movement::json::json as prediction_json;
use coldsquare_engine::movement::measures::MeasureKind;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{planned_net_heat, predict_for};
use coldsquare_engine::movement::shapes::Shapes;
use coldsquare_engine::movement::simulate::SimulationOptions;
use coldsquare_engine::movement::text::Basis;
use coldsquare_engine::page::frame_data;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// A job that must have no errors.
pub(crate) fn sound(text: &str) -> Result<Job, Refused> {
    job::from_text("the job", text).map_err(|errors| {
        let first = errors.iter().next();
        let what = first.map_or_else(String::new, |error| error.what().to_owned());
        format!("mend the job first: {what}")
    })
}

/// An order by numbers, as indices; file order where none is given.
pub(crate) fn order(job: &Job, numbers: &[u16]) -> Vec<usize> {
    let all = 0..job.welds.len();
    let given: Vec<usize> = numbers
        .iter()
        .filter_map(|number| usize::from(*number).checked_sub(1))
        .collect();
    // An order of an earlier version of the frame no longer fits: go back to file order.
    let mut sorted = given.clone();
    sorted.sort_unstable();
    if sorted.iter().copied().eq(all.clone()) {
        given
    } else {
        all.collect()
    }
}

/// The errors of a job, or all that the page shows of it.
pub(crate) fn look(look: &Look) -> Result<Value, Refused> {
    let form = form(&look.text).unwrap_or_default();
    let job = match job::from_text("the job", &look.text) {
        Ok(job) => job,
        Err(errors) => return Ok(json!({ "errors": written(&errors), "form": as_json(&form)? })),
    };
    let order = order(&job, &look.order);
    let mut view = json!({
        "errors": [],
        "form": as_json(&form)?,
        "job": facts(&job),
        "notes": notes(&job),
        "order": order.iter().map(|weld| weld + 1).collect::<Vec<_>>(),
    });
    let moves = if look.quick {
        moves_quickly(&job, &order, look.heat)
    } else {
        moves(&job, &order, look)
    };
    match moves {
        Ok(moves) => merge(&mut view, moves),
        Err(error) => {
            let frame = as_json(&frame_data(&job, None))?;
            merge(
                &mut view,
                json!({ "frame": frame, "cannot_predict": error.to_string() }),
            );
        }
    }
    Ok(view)
}

fn merge(view: &mut Value, more: Value) {
    if let (Some(view), Value::Object(more)) = (view.as_object_mut(), more) {
        view.extend(more);
    }
}

/// The planned heat of every weld, times a factor.
fn heat_of(job: &Job, factor: f64) -> Vec<Uncertain> {
    let warmer = |planned: Uncertain| Uncertain {
        value: planned.value * factor,
        ..planned
    };
    planned_net_heat(job).into_iter().map(warmer).collect()
}

/// The final shape of the frame, and the change of each measure, mm.
fn final_shape(
    job: &Job,
    model: &MovementModel,
    order: &[usize],
    heat: &[Uncertain],
) -> Result<(Shapes, Vec<f64>), MovementError> {
    let values: Vec<f64> = heat.iter().map(|heat| heat.value).collect();
    let shrinkage = model.shrinkage_each(&values, &job.shrinkage_factors())?;
    let shapes = Shapes::final_only(job, model, order, &shrinkage)
        .map_err(|error| MovementError::of_structure(job, error))?;
    let sequence = model.whole_welds(order);
    let outcome = model.simulate(&sequence, &shrinkage, &SimulationOptions::default());
    Ok((shapes, outcome.released_mm))
}

/// Where the frame moves to, and nothing of how sure that is.
fn moves_quickly(job: &Job, order: &[usize], heat: f64) -> Result<Value, MovementError> {
    let model = MovementModel::new(job)?;
    let heat = heat_of(job, heat);
    let (shapes, released_mm) = final_shape(job, &model, order, &heat)?;
    let measures = model.measures().iter().zip(&released_mm);
    let measures = measures.filter(|(measure, _)| measure.kind != MeasureKind::Span);
    let values: BTreeMap<&str, String> = measures
        .map(|(measure, mm)| {
            let length = job.units.signed_length(*mm, Precision::Calculated);
            let unit = job.units.length_symbol();
            (measure.name.as_str(), format!("{length} {unit}"))
        })
        .collect();
    Ok(json!({ "frame": frame_data(job, Some(&shapes)), "values": values }))
}

fn moves(job: &Job, order: &[usize], look: &Look) -> Result<Value, MovementError> {
    let model = MovementModel::new(job)?;
    let heat = heat_of(job, look.heat);
    let prediction = predict_for(job, &model, order, &heat)?;
    let (shapes, _) = final_shape(job, &model, order, &heat)?;
    let from = if look.order.is_empty() {
        "file order"
    } else {
        "the order planned"
    };
    let basis = Basis {
        order: from.into(),
        heat: "planned heat".into(),
    };
    let written = prediction_json(job, &prediction, &shapes, &basis);
    Ok(json!({
        "frame": frame_data(job, Some(&shapes)),
        "answer": answer(job, &model, &prediction),
        "prediction": parsed(&written).unwrap_or_default(),
    }))
}

fn written(errors: &FileErrors) -> Vec<Value> {
    errors
        .iter()
        .map(|error| {
            let (line, column) = error.line_and_column();
            json!({ "line": line, "column": column, "what": error.what(), "advice": error.advice() })
        })
        .collect()
}

/// What the page leaves out of a prediction.
fn notes(job: &Job) -> Vec<String> {
    let factors = job.shop_file.iter().map(|file| {
        format!(
            "The job names shop factors in {}, which this page does not read: it predicts with published factors.",
            file.path
        )
    });
    factors.collect()
}

fn facts(job: &Job) -> Value {
    let joints: Vec<Value> = job
        .joints
        .iter()
        .enumerate()
        .map(|(index, joint)| {
            let sides: Vec<Value> = joint
                .sides
                .iter()
                .map(|side| json!({ "name": side.name, "welded": side.welded }))
                .collect();
            json!({
                "name": joint.name,
                "sides": sides,
                "alike": alike(job, index).len(),
                "alike_words": alike_words(job, index),
            })
        })
        .collect();
    let members: Vec<Value> = job
        .members
        .iter()
        .map(|member| json!({ "name": member.name, "section": member.section.designation() }))
        .collect();
    let welds: Vec<Value> = job
        .welds
        .iter()
        .map(|weld| json!({ "number": weld.number, "name": weld.name, "joint": weld.joint }))
        .collect();
    json!({
        "name": job.name,
        "unit": job.units.length_symbol(),
        "material": job.material.name,
        "members": members,
        "joints": joints,
        "welds": welds,
        "clamps": job.clamps.len(),
        "weld_length": job.units.total_length(job.weld_length()),
        "mass": job.units.mass(job.mass()),
    })
}
