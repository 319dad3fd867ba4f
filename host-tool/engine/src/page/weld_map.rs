//! The page of the weld map.

use super::FRAME_SCRIPTS;
use super::html::{self, Fragment, Page, Part, mark};
use super::stills::drawing_panel;
use super::{build_time, movement_table, order_strip, sums, weld_data, weld_table};
use crate::drawing::figure::Figures;
use crate::drawing::scene::Scene;
use crate::drawing::{self, palette};
use crate::job::model::Job;
use crate::map::model::WeldMap;
use crate::sanitise;
use maud::{Markup, PreEscaped, html};

/// The weld map as one HTML file.
#[must_use]
pub fn weld_map_html(job: &Job, map: &WeldMap) -> String {
    let title = format!("Weld map: {}", sanitise::short(&map.title, 80));
    let Fragment { lead, main, data } = fragment(job, map);
    html::page(&Page {
        title: &title,
        body: html! { (head(map, &lead)) main #main { (main) } },
        data,
        scripts: [
            &FRAME_SCRIPTS[..],
            &[
                include_str!("scripts/traces.js"),
                include_str!("scripts/detail.js"),
                include_str!("scripts/map.js"),
                "startMap(JSON.parse(document.getElementById(\"data\").textContent));",
            ],
        ]
        .concat(),
    })
}

/// The weld map as a part of another page, whose script calls `startMap`.
#[must_use]
pub fn weld_map_part(job: &Job, map: &WeldMap) -> Part {
    fragment(job, map).into()
}

fn fragment(job: &Job, map: &WeldMap) -> Fragment {
    let scene = Scene::of(job);
    let marks = drawing::marks(map);
    let figures = Figures::new(&scene, &marks);
    Fragment {
        lead: tally(map),
        main: body(job, map, &figures),
        data: html::data(&weld_data::data(job, map, &scene, &marks)),
    }
}

fn body(job: &Job, map: &WeldMap, figures: &Figures<'_>) -> Markup {
    html! {
            div.bench {
                (drawing_panel(figures))
                section #detail .panel.detail aria-label="The selected weld" aria-live="polite" hidden {}
            }
            (notes(map))
            (weld_table::panel(job, map))
            (movement_table::panel(map.measured.as_ref(), job.units))
            (order_strip::panel(map))
            (timeline(map))
            (sums::panel(map))
    }
}

fn tally(map: &WeldMap) -> Markup {
    let tally = drawing::WORST_FIRST
        .map(|verdict| (verdict, drawing::count(map, verdict)))
        .into_iter()
        .filter(|(_, count)| *count > 0);
    html! {
            div.tally role="group" aria-label="Show only" {
                @for (verdict, count) in tally {
                    button type="button" data-verdict=(palette::class(verdict)) aria-pressed="false" {
                        (mark(palette::class(verdict), "")) b { (count) } " " (verdict.name())
                    }
                }
            }
    }
}

fn head(map: &WeldMap, tally: &Markup) -> Markup {
    html! {
        a.skip href="#welds" { "To the table of welds" }
        header {
            p.kind { "Weld map" }
            (html::heading(&map.title))
            (tally)
        }
    }
}

fn notes(map: &WeldMap) -> Markup {
    if map.warnings.is_empty() {
        return Markup::default();
    }
    let warnings = map.warnings.iter().map(ToString::to_string);
    html::panel("notes", "panel notes", "Notes", html::list(warnings))
}

fn timeline(map: &WeldMap) -> Markup {
    let Some(svg) = build_time::svg(map) else {
        return Markup::default();
    };
    html::panel(
        "time",
        "panel keep",
        "Timeline of the build",
        html! {
            p.how {
                "Blocks are arcs, numbered by weld; short strokes are tacks; the line between them is waiting. \
                 Minutes and seconds from the first arc."
            }
            (html::scroll("time", PreEscaped(svg)))
        },
    )
}
