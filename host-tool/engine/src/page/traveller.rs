//! The page of a traveller: one sheet after the other, with boxes to tick and readings to note.

use super::html::{self, Page, panel};
use crate::sanitise;
use crate::traveller::Traveller;
use crate::traveller::model::{StepTime, TravellerStep};
use crate::traveller::text::{cost, minutes, total};
use maud::{Markup, html};

/// A traveller as one HTML file.
#[must_use]
pub fn traveller_html(traveller: &Traveller) -> String {
    let title = format!("Traveller: {}", sanitise::short(&traveller.title, 80));
    html::page(&Page {
        title: &title,
        body: html! {
            header {
                p.kind { "Traveller, welded in " (traveller.order) }
                (html::heading(&traveller.title))
            }
            main #main {
                @for (number, step) in traveller.steps.iter().enumerate() {
                    (sheet(number + 1, step, traveller.times.get(number)))
                }
                (panel("time", "panel keep", "Time and money", html! {
                    p { (total(traveller)) }
                    @if let Some(money) = &traveller.money { p { (cost(money)) } }
                }))
            }
        },
        data: String::new(),
        scripts: Vec::new(),
    })
}

fn sheet(number: usize, step: &TravellerStep, time: Option<&StepTime>) -> Markup {
    let title = format!("{number}. {}", step.title);
    let content = html! {
        @if let Some(time) = time {
            p.how { (minutes(time)) ". Took: " span.blank { span.unseen { "to note" } } " min" }
        }
        @for caution in &step.cautions { p.flag { (caution) } }
        ul.ticks { @for one in &step.to_do { li { span.box aria-hidden="true" {} span { bdi { (one) } } } } }
        @if !step.readings.is_empty() {
            table {
                thead { tr { th scope="col" { "Reading" } th scope="col" { "Read" } th scope="col" { "Expected" } } }
                tbody {
                    @for reading in &step.readings {
                        tr {
                            th scope="row" { bdi { (reading.name) } }
                            td.write {}
                            td { (reading.expected) }
                        }
                    }
                }
            }
        }
    };
    panel(&format!("step-{number}"), "panel", &title, content)
}
