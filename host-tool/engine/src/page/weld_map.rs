//! The page of the weld map.

use super::html::{self, Page, escape, mark};
use super::stills::drawing_panel;
use super::{build_time, movement_table, order_strip, sums, weld_data, weld_table};
use crate::drawing::figure::Figures;
use crate::drawing::scene::Scene;
use crate::drawing::{self, palette};
use crate::job::model::Job;
use crate::map::model::WeldMap;
use crate::sanitise;
use std::fmt::Write;

/// The weld map as one HTML file.
#[must_use]
pub fn weld_map_html(job: &Job, map: &WeldMap) -> String {
    let scene = Scene::of(job);
    let marks = drawing::marks(map);
    let figures = Figures::new(&scene, &marks);
    let title = format!("Weld map: {}", sanitise::short(&map.title, 80));
    let body = body(job, map, &figures);
    html::page(&Page {
        title: &title,
        body: &body,
        data: html::data(&weld_data::data(job, map, &scene, &marks)),
        scripts: &[
            include_str!("frame.js"),
            include_str!("labels.js"),
            include_str!("map.js"),
        ],
    })
}

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

fn body(job: &Job, map: &WeldMap, figures: &Figures<'_>) -> String {
    let mut out = String::new();
    head(&mut out, map);
    put!(out, "<main id=\"main\">");
    put!(out, "<div class=\"bench\">");
    drawing_panel(&mut out, figures);
    put!(
        out,
        "<section class=\"panel detail\" id=\"detail\" aria-label=\"The weld picked\" aria-live=\"polite\" hidden></section>\n</div>"
    );
    warnings(&mut out, map);
    weld_table::table(&mut out, job, map);
    movement_table::panel(&mut out, map.measured.as_ref(), job.units);
    order_strip::panel(&mut out, map);
    time(&mut out, map);
    sums::totals(&mut out, map);
    put!(out, "</main>");
    out
}

fn head(out: &mut String, map: &WeldMap) {
    put!(
        out,
        "<a class=\"skip\" href=\"#welds\">To the table of welds</a>"
    );
    put!(out, "<header>\n<p class=\"kind\">Weld map</p>");
    put!(out, "{}", html::heading(&map.title));
    put!(
        out,
        "<div class=\"tally\" role=\"group\" aria-label=\"Show only\">"
    );
    for verdict in drawing::WORST_FIRST {
        let count = drawing::count(map, verdict);
        if count == 0 {
            continue;
        }
        let class = palette::class(verdict);
        put!(
            out,
            "<button type=\"button\" data-verdict=\"{class}\" aria-pressed=\"false\">{}<b>{count}</b> {}</button>",
            mark(class, ""),
            verdict.words()
        );
    }
    put!(out, "</div>\n</header>");
}

fn warnings(out: &mut String, map: &WeldMap) {
    if map.warnings.is_empty() {
        return;
    }
    put!(
        out,
        "<section class=\"panel notes\" aria-labelledby=\"notes-title\"><h2 id=\"notes-title\">Bear in mind</h2><ul>"
    );
    for warning in &map.warnings {
        put!(out, "<li>{}</li>", escape(&warning.to_string()));
    }
    put!(out, "</ul></section>");
}

fn time(out: &mut String, map: &WeldMap) {
    let Some(svg) = build_time::svg(map) else {
        return;
    };
    put!(
        out,
        "<section class=\"panel keep\" aria-labelledby=\"time-title\"><h2 id=\"time-title\">The build in time</h2>\n\
         <p class=\"how\">Blocks are arcs, numbered by weld; short strokes are tacks; the line between is waiting. \
         Minutes and seconds from the first arc.</p>\n<div class=\"scroll\" role=\"group\" aria-labelledby=\"time-title\" tabindex=\"0\">{svg}</div></section>"
    );
}
