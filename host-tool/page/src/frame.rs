//! A look at a job: the frame, the form, and how it moves.

use crate::json::{Refused, parsed};
use crate::memory::Opened;
use crate::request::{Look, LookPart};
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_engine::correct;
use coldsquare_engine::correct::answer::{Answer, answer};
use coldsquare_engine::file_error::{FileErrors, Source};
use coldsquare_engine::format::Precision;
use coldsquare_engine::job;
use coldsquare_engine::job::attach_shop_factors;
use coldsquare_engine::job::edit::{Group, alike, alike_words, form};
use coldsquare_engine::job::model::Job;
use coldsquare_engine::movement::error::MovementError;
use coldsquare_engine::movement::json::json as prediction_json;
use coldsquare_engine::movement::measures::MeasureKind;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{planned_net_heat, predict_for};
use coldsquare_engine::movement::shapes::{Shapes, final_shape};
use coldsquare_engine::movement::text::Basis;
use coldsquare_engine::page::{FrameData, MovedData, frame_data, moved_data};
use serde::Serialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;

/// A job that must have no errors, with the files that it names.
pub(crate) fn sound(text: &str) -> Result<Job, Refused> {
    let mut job = read(text).map_err(|errors| {
        let first = errors.iter().next();
        let what = first.map_or_else(String::new, |error| error.what().to_owned());
        format!("mend the job first: {what}")
    })?;
    attach_shop_factors(&Opened, &mut job, Path::new("")).map_err(|error| error.to_string())?;
    Ok(job)
}

fn read(text: &str) -> Result<Job, FileErrors> {
    job::from_source(&Opened, &Source::new("the job", text))
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

/// What the page shows of a job; only the parts that were asked for.
#[derive(Default, Serialize)]
pub(crate) struct View {
    errors: Vec<Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    form: Option<Vec<Group>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    job: Option<Value>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    notes: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    order: Option<Vec<usize>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    frame: Option<FrameData>,
    #[serde(flatten)]
    moves: Moves,
    #[serde(skip_serializing_if = "Option::is_none")]
    cannot_predict: Option<String>,
}

/// How the frame moves.
#[derive(Default, Serialize)]
struct Moves {
    #[serde(skip_serializing_if = "Option::is_none")]
    moved: Option<MovedData>,
    /// The change of each measure, with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    values: Option<BTreeMap<String, String>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    answer: Option<Answer>,
    #[serde(skip_serializing_if = "Option::is_none")]
    prediction: Option<Value>,
    /// Which members are bent before welding.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pre_camber: Vec<String>,
}

/// The errors of a job, or what was asked of it.
pub(crate) fn look(look: &Look) -> View {
    let asked = |part: LookPart| look.parts.contains(&part);
    let form = asked(LookPart::Frame).then(|| form(&look.text).unwrap_or_default());
    let mut view = View {
        form,
        ..View::default()
    };
    let mut job = match read(&look.text) {
        Ok(job) => job,
        Err(errors) => {
            view.errors = written(&errors);
            return view;
        }
    };
    if let Err(failure) = attach_shop_factors(&Opened, &mut job, Path::new("")) {
        view.notes.push(failure.to_string());
    }
    let order = order(&job, &look.order);
    if asked(LookPart::Frame) {
        view.notes.extend(notes(&job));
        view.job = Some(facts(&job));
        view.order = Some(order.iter().map(|weld| weld + 1).collect());
        view.frame = Some(frame_data(&job));
    }
    let moves = if asked(LookPart::Answer) {
        moves(&job, &order, look)
    } else if asked(LookPart::Movement) {
        moves_quickly(&job, &order, look.heat)
    } else {
        return view;
    };
    match moves {
        Ok(moves) => view.moves = moves,
        Err(error) => view.cannot_predict = Some(error.to_string()),
    }
    view
}

/// The planned heat of every weld, times a factor.
fn heat_of(job: &Job, factor: f64) -> Vec<Uncertain> {
    let warmer = |planned: Uncertain| Uncertain {
        value: planned.value * factor,
        ..planned
    };
    planned_net_heat(job).into_iter().map(warmer).collect()
}

/// Where the frame moves to, and nothing of how sure that is.
fn moves_quickly(job: &Job, order: &[usize], heat: f64) -> Result<Moves, MovementError> {
    let (shapes, changes) = final_shape(job, order, &values(&heat_of(job, heat)))?;
    let seen = changes
        .into_iter()
        .filter(|(measure, _)| measure.kind != MeasureKind::Span);
    let unit = job.units.length_symbol();
    let text = |mm: f64| {
        let length = job.units.signed_length(mm, Precision::Calculated);
        format!("{length} {unit}")
    };
    Ok(Moves {
        moved: Some(moved_data(job, &shapes)),
        values: Some(seen.map(|(measure, mm)| (measure.name, text(mm))).collect()),
        ..Moves::default()
    })
}

fn values(heat: &[Uncertain]) -> Vec<f64> {
    heat.iter().map(|heat| heat.value).collect()
}

fn moves(job: &Job, order: &[usize], look: &Look) -> Result<Moves, MovementError> {
    let model = MovementModel::new(job)?;
    let heat = heat_of(job, look.heat);
    let mut prediction = predict_for(job, &model, order, &heat)?;
    let shrinkage = model.shrinkage_each(&values(&heat), &job.shrinkage_factors())?;
    let (mut shapes, _) = Shapes::final_only(job, &model, order, &shrinkage)
        .map_err(|error| MovementError::of_structure(job, error))?;
    let mut pre_camber = Vec::new();
    if look.pre_camber {
        pre_camber = correct::pre_camber(job, &model, &mut prediction, &mut shapes);
    }
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
    Ok(Moves {
        moved: Some(moved_data(job, &shapes)),
        values: None,
        answer: Some(answer(job, &model, &prediction)),
        prediction: Some(parsed(&written).unwrap_or_default()),
        pre_camber,
    })
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

/// A file that the job names and that was not opened.
fn notes(job: &Job) -> Option<String> {
    let shop = job.shop.as_ref().filter(|shop| !shop.is_there)?;
    Some(format!(
        "The job names shop factors in {}: open that file too. Until then it is predicted with published factors.",
        shop.file
    ))
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
