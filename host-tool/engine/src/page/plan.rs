//! The page of the plan: the order step by step on the drawing, and a bench card to print and tick.

use super::html::{self, Page, escape};
use super::moving::{self, Movement, MovementData};
use super::step_words::{Told, face_name};
use super::stills::drawing_panel;
use super::{bench_card, scene};
use crate::drawing::figure::{Figures, Mark};
use crate::drawing::scene::Scene;
use crate::job::model::Job;
use crate::plan::model::{CUT_SHORT, Face, Method, Plan, Score, Step, Work};
use crate::plan::text::on_the_bench;
use crate::plan::travel::faces_up;
use crate::plan::{NOTHING_BEYOND, saved};
use crate::units::Units;
use crate::sanitise;
use coldsquare_core::units::Millimetres;
use serde::Serialize;
use std::fmt::Write;

#[derive(Serialize)]
struct Data {
    scene: scene::SceneData,
    marks: Vec<scene::MarkData>,
    shapes: std::collections::BTreeMap<&'static str, &'static str>,
    steps: Vec<StepData>,
    /// Start and end of each member.
    members: Vec<[[f64; 3]; 2]>,
    /// Null without a prediction.
    movement: Option<MovementData>,
}

#[derive(Serialize)]
struct StepData {
    kind: &'static str,
    /// Index of the weld, for a weld.
    weld: Option<usize>,
    /// What the large sign says.
    sign: String,
    title: String,
    name: String,
    how: String,
    why: String,
    gauge: f64,
    /// The line of travel, from where the arc starts.
    line: Option<[[f64; 3]; 2]>,
    /// Where tacks go.
    tacks: Vec<[f64; 3]>,
    /// The face that is up.
    up: &'static str,
}

/// The plan as one HTML file.
#[must_use]
pub fn plan_html(job: &Job, plan: &Plan) -> String {
    plan_html_moving(job, plan, None)
}

/// As [`plan_html`], with the predicted movement after each step, which the reader can magnify.
#[must_use]
pub fn plan_html_moving(job: &Job, plan: &Plan, movement: Option<&[Movement]>) -> String {
    let scene = Scene::of(job);
    let marks = marks(job, plan);
    let figures = Figures::new(&scene, &marks);
    let title = format!("Plan: {}", sanitise::short(&plan.title, 80));
    let data = Data {
        scene: scene::data(&scene),
        marks: scene::marks(&marks),
        shapes: scene::shapes(),
        steps: steps(plan),
        members: job
            .members
            .iter()
            .map(|m| [m.from.into(), m.to.into()])
            .collect(),
        movement: movement.map(moving::data),
    };
    html::page(&Page {
        title: &title,
        body: &body(
            job,
            plan,
            &figures,
            movement.map(|movement| moving::times(job, movement)),
        ),
        data: html::data(&data),
        scripts: &[
            include_str!("frame.js"),
            include_str!("labels.js"),
            include_str!("plan.js"),
        ],
    })
}

/// Every weld with its place in the order: the place, not the weld's number, is what the maker follows.
fn marks(job: &Job, plan: &Plan) -> Vec<Mark> {
    let order = plan.order();
    job.welds
        .iter()
        .map(|weld| {
            let place = order.iter().position(|number| *number == weld.number);
            Mark {
                label: weld.number.to_string(),
                class: "later",
                title: match place {
                    Some(place) => {
                        format!(
                            "Weld {}, {}: place {}",
                            weld.number,
                            sanitise::plain(&weld.name),
                            place + 1
                        )
                    }
                    None => format!("Weld {}, {}", weld.number, sanitise::plain(&weld.name)),
                },
                arrow: false,
            }
        })
        .collect()
}

fn steps(plan: &Plan) -> Vec<StepData> {
    let steps = plan.steps.iter().zip(faces_up(plan));
    steps.map(|(step, up)| step_data(plan, step, up)).collect()
}

fn step_data(plan: &Plan, step: &Step, up: Face) -> StepData {
    let (kind, weld) = match &step.work {
        Work::Tack { .. } => ("tack", None),
        Work::TurnOver { .. } => ("turn", None),
        Work::ClampOff { .. } => ("off", None),
        Work::Weld { weld, .. } => ("weld", Some(usize::from(*weld).saturating_sub(1))),
    };
    let told = Told::of(step, up);
    StepData {
        kind,
        weld,
        sign: told.sign,
        title: told.title,
        name: sanitise::plain(&told.name),
        how: told.how,
        why: step.why.clone(),
        gauge: if plan.gauge.per_root.is_finite() {
            scene::round(step.gauge_after, 100.0)
        } else {
            0.0
        },
        line: match &step.work {
            Work::Weld { from, to, .. } => Some([*from, *to]),
            _ => None,
        },
        tacks: match &step.work {
            Work::Tack { at, .. } => at.clone(),
            Work::ClampOff { at, .. } => vec![*at],
            _ => Vec::new(),
        },
        up: face_name(up),
    }
}

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

fn body(job: &Job, plan: &Plan, figures: &Figures<'_>, times: Option<u32>) -> String {
    let mut out = String::new();
    put!(
        out,
        "<a class=\"skip\" href=\"#steps\">To the list of steps</a>"
    );
    put!(
        out,
        "<header><p class=\"kind\">Order of welding</p>{}<p class=\"sum\">{}</p></header>\n<main id=\"main\">",
        html::heading(&plan.title),
        summary(plan)
    );
    if plan.cut_short {
        put!(
            out,
            "<section class=\"panel notes\" id=\"cut-short\"><p><b>Cut short:</b> {}.</p></section>",
            escape(CUT_SHORT)
        );
    }
    put!(out, "<div class=\"bench\">");
    drawing_panel(&mut out, figures);
    stepper(&mut out, plan, times);
    put!(out, "</div>");
    bench_card::card(&mut out, job.units, plan);
    comparison(&mut out, job, plan);
    beyond_order(&mut out, job, plan);
    cautions(&mut out, plan);
    put!(out, "</main>");
    out
}

fn summary(plan: &Plan) -> String {
    let count = |what: fn(&Work) -> bool| plan.steps.iter().filter(|step| what(&step.work)).count();
    let welds = plan.order().len();
    let tacks = count(|work| matches!(work, Work::Tack { .. }));
    let turns = count(|work| matches!(work, Work::TurnOver { .. }));
    let counted = |count: usize, one: &str, more: &str| {
        format!("<b>{count}</b> {}", if count == 1 { one } else { more })
    };
    format!(
        "{}, {}, {}<br>{}",
        counted(tacks, "place to tack", "places to tack"),
        counted(welds, "weld", "welds"),
        counted(turns, "turn over", "turns over"),
        escape(&on_the_bench(&plan.time))
    )
}

fn stepper(out: &mut String, plan: &Plan, times: Option<u32>) {
    put!(
        out,
        "<section class=\"panel detail stepper\" id=\"stepper\" aria-label=\"Step\" hidden>\n<div class=\"pace\">\
         <button type=\"button\" id=\"back\" aria-label=\"step back\">◀</button>\
         <label for=\"step\">Step <output id=\"place\" for=\"step\">1</output> of {count}</label>\
         <button type=\"button\" id=\"on\" aria-label=\"next step\">▶</button></div>\n\
         <input type=\"range\" id=\"step\" min=\"1\" max=\"{count}\" value=\"1\">\n\
         <div id=\"told\" aria-live=\"polite\"></div>",
        count = plan.steps.len().max(1)
    );
    if let Some(times) = times {
        put!(
            out,
            "<div class=\"pace\"><label for=\"times\">Movement shown <output id=\"times-shown\" for=\"times\">{times}</output> times</label></div>\n\
             <input type=\"range\" id=\"times\" min=\"0\" max=\"500\" step=\"10\" value=\"{times}\">"
        );
    }
    put!(
        out,
        "<h3 id=\"gauge-title\">{}, {}</h3><div id=\"gauge\"></div></section>",
        escape(plan.gauge.name),
        escape(plan.gauge.unit)
    );
}

fn comparison(out: &mut String, job: &Job, plan: &Plan) {
    let found = match plan.method {
        Method::Exact => format!(
            "No order with as few turns has a smaller {} on the way.",
            plan.gauge.name
        ),
        Method::Search { trials } => format!("The best of {trials} orders tried."),
    };
    put!(
        out,
        "<section class=\"panel keep\" aria-labelledby=\"habits-title\"><h2 id=\"habits-title\">Beside the usual habits</h2><p class=\"how\">{} Values are {} in {}.</p>\n\
         <div class=\"scroll\" role=\"group\" aria-labelledby=\"habits-title\" tabindex=\"0\"><table><thead><tr><th scope=\"col\">Order</th>\
         <th scope=\"col\" class=\"num\">Greatest</th><th scope=\"col\" class=\"num\">At the end</th><th scope=\"col\" class=\"num\">Turns</th>\
         <th scope=\"col\" class=\"num\">Way</th></tr></thead><tbody>",
        escape(&found),
        escape(plan.gauge.name),
        escape(plan.gauge.unit)
    );
    score_row(out, job, "<b>this plan</b>", &plan.score);
    for habit in &plan.habits {
        let name = format!(
            "{}<br><span class=\"quiet-text\">{}</span>",
            escape(habit.name),
            escape(habit.description)
        );
        score_row(out, job, &name, &habit.score);
    }
    put!(out, "</tbody></table></div></section>");
}

fn score_row(out: &mut String, job: &Job, name: &str, score: &Score) {
    let way = match job.units {
        Units::Metric => format!("{:.1} m", score.walk_mm as f64 / 1000.0),
        Units::UsCustomary => format!(
            "{:.0} ft",
            Millimetres(score.walk_mm as f64).inches() / 12.0
        ),
    };
    put!(
        out,
        "<tr><th scope=\"row\">{name}</th><td class=\"num\">{:.1}</td><td class=\"num\">{:.1}</td><td class=\"num\">{}</td><td class=\"num\">{way}</td></tr>",
        score.peak,
        score.last,
        score.turns
    );
}

fn beyond_order(out: &mut String, job: &Job, plan: &Plan) {
    let Some(found) = &plan.beyond_order else {
        return;
    };
    put!(
        out,
        "<section class=\"panel keep\" aria-labelledby=\"beyond-title\"><h2 id=\"beyond-title\">Beyond the order</h2>"
    );
    if found.gains.is_empty() {
        let nothing = format!("Worked out: {NOTHING_BEYOND}.");
        put!(out, "<p class=\"how\">{}</p></section>", escape(&nothing));
        return;
    }
    put!(
        out,
        "<p class=\"how\">What would make the frame move less still, most first. Each by itself: two of them together do not \
         save both figures. Worked out, not measured.</p><ol>"
    );
    for gain in &found.gains {
        put!(
            out,
            "<li><bdi>{}</bdi>: <span class=\"whole\">{}</span></li>",
            escape(&sanitise::plain(&gain.advice)),
            escape(&saved(gain, job.units))
        );
    }
    put!(out, "</ol></section>");
}

fn cautions(out: &mut String, plan: &Plan) {
    if plan.cautions.is_empty() {
        return;
    }
    put!(
        out,
        "<section class=\"panel notes\" aria-labelledby=\"care-title\"><h2 id=\"care-title\">Take care</h2><ul>"
    );
    for caution in &plan.cautions {
        put!(out, "<li>{}</li>", escape(caution));
    }
    put!(out, "</ul></section>");
}
