//! The page of the plan: the order step by step on the drawing, and a bench card to print and tick.

use super::FRAME_SCRIPTS;
use super::html::{self, Fragment, Page, Part, panel, scroll};
use super::moving::{self, Movement, MovementData};
use super::step_groups::{group_text, groups};
use super::step_text::look;
use super::stills::drawing_panel;
use super::{bench_card, scene};
use crate::drawing::figure::{Figures, Mark};
use crate::drawing::scene::Scene;
use crate::format::noun;
use crate::job::model::{Job, Weld};
use crate::plan::model::{
    FurtherMeasures, Gauge, Method, Plan, STOPPED_EARLY, Score, Step, StepKind,
};
use crate::plan::text::on_the_bench;
use crate::plan::travel::{Up, faces_up};
use crate::plan::{NO_FURTHER_MEASURES, saved};
use crate::sanitise;
use crate::units::Units;
use coldsquare_core::units::Millimetres;
use maud::{Markup, html};
use serde::Serialize;

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
    /// "7", or "1–22" for several steps shown as one.
    number: String,
    kind: &'static str,
    /// Index of the weld, for a weld.
    weld: Option<usize>,
    /// What the large sign shows.
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
    /// How long to wait before it, s.
    wait: f64,
    /// The face that is up.
    up: &'static str,
}

/// The plan as one HTML file; with the predicted movement after each step, which the reader can magnify, if given.
#[must_use]
pub fn plan_html(job: &Job, plan: &Plan, movement: Option<&[Movement]>) -> String {
    let title = format!("Plan: {}", sanitise::short(&plan.title, 80));
    let Fragment { lead, main, data } = fragment(job, plan, movement);
    html::page(&Page {
        title: &title,
        body: html! {
            a.skip href="#steps" { "To the list of steps" }
            header {
                p.kind { "Welding order" }
                (html::heading(&plan.title))
                (lead)
            }
            main #main { (main) }
        },
        data,
        scripts: [
            &FRAME_SCRIPTS[..],
            &[
                include_str!("scripts/plan.js"),
                "startPlan(JSON.parse(document.getElementById(\"data\").textContent));",
            ],
        ]
        .concat(),
    })
}

/// The plan as a part of another page, whose script calls `startPlan`.
#[must_use]
pub fn plan_part(job: &Job, plan: &Plan, movement: Option<&[Movement]>) -> Part {
    fragment(job, plan, movement).into()
}

fn fragment(job: &Job, plan: &Plan, movement: Option<&[Movement]>) -> Fragment {
    let scene = Scene::of(job);
    let marks = marks(job, plan);
    let figures = Figures::new(&scene, &marks);
    let groups = groups(plan);
    // The drawing shows the movement after the last step of each group.
    let after: Option<Vec<Movement>> = movement.map(|movement| {
        groups
            .iter()
            .map(|group| movement[group.end - 1].clone())
            .collect()
    });
    let data = Data {
        scene: scene::data(&scene),
        marks: scene::marks(&marks),
        shapes: scene::shapes(),
        steps: steps(plan, &groups, after.as_deref()),
        members: job
            .members
            .iter()
            .map(|m| [m.from.into(), m.to.into()])
            .collect(),
        movement: after.as_deref().map(moving::data),
    };
    let times = movement.map(|movement| moving::times(job, movement));
    Fragment {
        lead: html! { p.sum { (summary(plan)) br; (on_the_bench(&plan.time)) } },
        main: body(job, plan, &figures, times),
        data: html::data(&data),
    }
}

/// Every weld with its place in the order.
fn marks(job: &Job, plan: &Plan) -> Vec<Mark> {
    let order = plan.order();
    let mark = |weld: &Weld| {
        let place = order.iter().position(|number| *number == weld.number);
        let place = place.map_or(String::new(), |place| format!(": place {}", place + 1));
        Mark {
            label: weld.number.to_string(),
            class: "later",
            title: format!(
                "Weld {}, {}{place}",
                weld.number,
                sanitise::plain(&weld.name)
            ),
            arrow: false,
        }
    };
    job.welds.iter().map(mark).collect()
}

/// One entry a group of steps. With a prediction the gauge is the greatest movement so far, in true millimetres.
fn steps(
    plan: &Plan,
    groups: &[std::ops::Range<usize>],
    after: Option<&[Movement]>,
) -> Vec<StepData> {
    let ups = faces_up(plan);
    groups
        .iter()
        .enumerate()
        .map(|(k, group)| {
            let mut data = step_data(plan, group, ups[group.start]);
            if let Some(after) = after {
                data.gauge = scene::round(moving::farthest_mm(&after[k]), 1000.0);
            }
            data
        })
        .collect()
}

fn step_data(plan: &Plan, group: &std::ops::Range<usize>, up: Up) -> StepData {
    let steps = &plan.steps[group.clone()];
    let (step, last) = (&steps[0], &steps[steps.len() - 1]);
    let text = group_text(steps, up);
    StepData {
        number: match steps {
            [one] => one.number.to_string(),
            _ => format!("{}–{}", step.number, last.number),
        },
        kind: bench_card::class(&step.what),
        weld: match step.what {
            StepKind::Weld { weld, .. } => Some(usize::from(weld).saturating_sub(1)),
            _ => None,
        },
        sign: text.sign,
        title: text.title,
        name: sanitise::plain(&text.name),
        how: text.how,
        why: step.why.clone(),
        gauge: if plan.gauge.per_root.is_finite() {
            scene::round(last.gauge_after, 100.0)
        } else {
            0.0
        },
        line: match &step.what {
            StepKind::Weld { from, to, .. } => Some([*from, *to]),
            _ => None,
        },
        tacks: match &step.what {
            StepKind::Tack { .. } => steps.iter().flat_map(tacks_of).collect(),
            StepKind::ReleaseClamp { at, .. } => vec![*at],
            _ => Vec::new(),
        },
        wait: step
            .wait
            .map_or(0.0, |wait| scene::round(wait.seconds.0, 1.0)),
        up: look(up.face),
    }
}

fn tacks_of(step: &Step) -> Vec<[f64; 3]> {
    match &step.what {
        StepKind::Tack { at, .. } => at.clone(),
        _ => Vec::new(),
    }
}

fn body(job: &Job, plan: &Plan, figures: &Figures<'_>, times: Option<u32>) -> Markup {
    html! {
            @if plan.stopped_early {
                section #stopped-early .panel.notes { p { b { "Stopped early:" } " " (STOPPED_EARLY) "." } }
            }
            div.bench {
                (drawing_panel(figures))
                (stepper(plan, times))
            }
            (bench_card::card(job.units, plan))
            (comparison(job.units, plan))
            @if let Some(found) = &plan.further_measures { (further_measures(found, job.units)) }
            @if !plan.cautions.is_empty() {
                (panel("cautions", "panel notes", "Cautions and notes", html::list(&plan.cautions)))
            }
    }
}

/// "9 joints to tack, 16 welds, 1 flip".
fn summary(plan: &Plan) -> Markup {
    let count = |class: &str| {
        let steps = plan.steps.iter();
        steps
            .filter(|step| bench_card::class(&step.what) == class)
            .count()
    };
    let (tacks, welds, flips) = (count("tack"), plan.order().len(), count("flip"));
    html! {
        b { (tacks) } " " (noun(tacks, "joint")) " to tack, "
        b { (welds) } " " (noun(welds, "weld")) ", "
        b { (flips) } " " (noun(flips, "flip"))
    }
}

fn stepper(plan: &Plan, times: Option<u32>) -> Markup {
    let (count, last) = (groups(plan).len().max(1), plan.steps.len().max(1));
    html! {
        section #stepper .panel.detail.stepper aria-label="Step" hidden {
            div.slider-head {
                button #back type="button" aria-label="step back" { "◀" }
                label for="step" { "Step " output #place for="step" { "1" } " of " (last) }
                button #next type="button" aria-label="next step" { "▶" }
            }
            input #step type="range" min="1" max=(count) value="1";
            div #step-text aria-live="polite" {}
            @if let Some(times) = times {
                div.slider-head {
                    label for="times" { "Movement exaggerated " output #times-shown for="times" { (times) } " times" }
                }
                input #times type="range" min="0" max="500" step="10" value=(times);
            }
            h3 #gauge-title {
                @if times.is_some() { "Greatest movement of any point so far, mm" }
                @else { (plan.gauge.name) ", " (plan.gauge.unit) }
            }
            div #gauge {}
        }
    }
}

fn comparison(units: Units, plan: &Plan) -> Markup {
    let Gauge { name, unit, .. } = plan.gauge;
    let found = match plan.method {
        Method::Exact => format!("No order with as few flips has a smaller {name} on the way."),
        Method::Search { trials } => format!("The best of {trials} orders tried."),
    };
    let table = html! {
        table {
            thead {
                tr {
                    th scope="col" { "Order" }
                    @for column in ["Greatest", "At the end", "Flips", "Walking"] {
                        th.num scope="col" { (column) }
                    }
                }
            }
            tbody {
                tr { th scope="row" { b { "this plan" } } (score(&plan.score, units)) }
                @for order in &plan.trade_orders {
                    tr {
                        th scope="row" { (order.name) br; span.quiet-text { (order.description) } }
                        (score(&order.score, units))
                    }
                }
            }
        }
    };
    let content = html! {
        p.how { (found) " Values are " (name) " in " (unit) "." }
        (scroll("comparison", table))
    };
    let title = "Compared with trade orders";
    panel("comparison", "panel keep", title, content)
}

fn score(score: &Score, units: Units) -> Markup {
    let walk = Millimetres(score.walk_mm as f64);
    let walk = match units {
        Units::Metric => format!("{:.1} m", walk.0 / 1000.0),
        Units::UsCustomary => format!("{:.0} ft", walk.inches() / 12.0),
    };
    html! {
        td.num { (format!("{:.1}", score.peak)) }
        td.num { (format!("{:.1}", score.last)) }
        td.num { (score.flips) }
        td.num { (walk) }
    }
}

fn further_measures(found: &FurtherMeasures, units: Units) -> Markup {
    let content = html! {
        @if found.gains.is_empty() {
            p.how { "Result: " (NO_FURTHER_MEASURES) "." }
        } @else {
            p.how {
                "What else would reduce the movement, the largest saving first. Each is on its own: the savings of two \
                 do not add up. Calculated, not measured."
            }
            ol {
                @for gain in &found.gains {
                    li { bdi { (gain.advice) } ": " span.whole { (saved(gain, units)) } }
                }
            }
        }
    };
    let title = "Further measures";
    panel("further-measures", "panel keep", title, content)
}
