//! The bench card: the list of steps on the screen, and on paper sheets with big numbers and boxes to tick.

use super::card_layout::{Item, Layout, MAX_NAME, SHEET_MM, laid_out};
use super::html::{mark, scroll};
use super::step_groups::{group_text, groups};
use super::step_text::StepText;
use crate::plan::model::{Gain, Plan, Step, StepKind};
use crate::plan::saved;
use crate::plan::travel::faces_up;
use crate::sanitise;
use crate::units::Units;
use maud::{Markup, html};

/// Height of the line about a further measure on the first sheet, mm.
const FURTHER_MEASURE_MM: f64 = 14.0;
/// Longest such line, characters.
const MAX_FURTHER_MEASURE: usize = 150;

/// Both forms: the list that the script steps through, and the sheets for paper.
pub(super) fn card(units: Units, plan: &Plan) -> Markup {
    let items: Vec<Item<'_>> = plan
        .steps
        .iter()
        .zip(faces_up(plan))
        .map(|(step, up)| Item {
            step,
            up,
            text: StepText::of(step, up),
        })
        .collect();
    html! { (list(plan, &items)) (paper(units, plan, &items)) }
}

/// Name of a kind of step in style sheets and in the data of the page.
pub(super) const fn class(kind: &StepKind) -> &'static str {
    match kind {
        StepKind::Weld { .. } => "weld",
        StepKind::Tack { .. } => "tack",
        StepKind::Flip { .. } => "flip",
        StepKind::ReleaseClamp { .. } => "release",
    }
}

fn list(plan: &Plan, items: &[Item<'_>]) -> Markup {
    let table = html! {
        table #steps {
            thead {
                tr {
                    th scope="col" { "Done" }
                    th.num scope="col" { "Step" }
                    th scope="col" { "Weld" }
                    th scope="col" { "Where" }
                    th scope="col" { "How" }
                    th.wide scope="col" { "Why now" }
                }
            }
            tbody { @for group in groups(plan) { (row(&items[group])) } }
        }
    };
    html! {
        section.panel.card.screen aria-labelledby="card-title" {
            div.card-head {
                h2 #card-title { "Bench card" }
                button #print-card type="button" hidden { "print the card" }
            }
            (scroll("card", table))
        }
    }
}

fn row(items: &[Item<'_>]) -> Markup {
    let steps: Vec<Step> = items.iter().map(|item| item.step.clone()).collect();
    let (step, text) = (&steps[0], group_text(&steps, items[0].up));
    let number = match steps.as_slice() {
        [one] => one.number.to_string(),
        several => format!("{}–{}", step.number, several[several.len() - 1].number),
    };
    html! {
        tr class=(class(&step.what)) data-step=(step.number) {
            td { span.box aria-hidden="true" {} }
            th.num scope="row" {
                button type="button" aria-label={ "Step " (number) ": " (text.title) } { (number) }
            }
            td {
                @match &step.what {
                    StepKind::Weld { .. } => (mark("later", &text.sign)),
                    StepKind::Tack { .. } => span.what { "tack" },
                    StepKind::Flip { .. } => span.what { "flip" },
                    StepKind::ReleaseClamp { .. } => span.what { "clamp" },
                }
            }
            td { bdi { (text.name) } }
            td { (text.how) }
            td.wide { (step.why) }
        }
    }
}

fn paper(units: Units, plan: &Plan, items: &[Item<'_>]) -> Markup {
    let best = plan
        .further_measures
        .as_ref()
        .and_then(|found| found.gains.first());
    let room = match best {
        Some(_) => SHEET_MM - FURTHER_MEASURE_MM,
        None => SHEET_MM,
    };
    let (layout, sheets) = laid_out(items, room);
    let title = sanitise::short(&plan.title, MAX_NAME);
    html! {
        @for (k, columns) in sheets.iter().enumerate() {
            section.sheet.(layout.class) {
                h2 { "Bench card: " bdi { (title) } }
                p { (instructions(k, sheets.len(), columns)) }
                @if let (0, Some(gain)) = (k, best) { p { (further_measure(gain, units)) } }
                div.columns {
                    @for column in columns {
                        ol { @for item in *column { (entry(layout, item)) } }
                    }
                    @for _ in columns.len()..layout.columns { div.empty {} }
                }
            }
        }
    }
}

fn instructions(sheet: usize, sheets: usize, columns: &[&[Item<'_>]]) -> String {
    let mut text = match sheets {
        1 => String::new(),
        _ => format!("Sheet {} of {sheets}. ", sheet + 1),
    };
    if let Some(first) = columns.first().and_then(|column| column.first())
        && !matches!(first.step.what, StepKind::Flip { .. })
    {
        text += &format!(
            "Begin with the {} up. ",
            first.up.face.name(first.up.seen_from)
        );
    }
    text + "Tick each step when it is done; arrows show the direction of travel."
}

fn further_measure(gain: &Gain, units: Units) -> Markup {
    html! {
        "Further measure: " bdi { (sanitise::short(&gain.advice, MAX_FURTHER_MEASURE)) } " (" (saved(gain, units)) ")."
    }
}

fn entry(layout: &Layout, item: &Item<'_>) -> Markup {
    let (what, phrases) = item.lines();
    let big = !matches!(item.step.what, StepKind::Tack { .. });
    html! {
        li class=(class(&item.step.what)) {
            span.box {}
            span.place { (item.step.number) }
            @if big { b { (item.text.sign) } }
            span.text {
                bdi { (what) }
                @for phrase in phrases { " " span.whole { (phrase) } }
                @if layout.why { br; i { (item.step.why) } }
            }
        }
    }
}
