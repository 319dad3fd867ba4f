//! The page of the weld map.

use super::html::{self, Page, escape, mark};
use super::judged::{self, Shown};
use super::{build_time, scene, trace};
use crate::drawing::figure::Figures;
use crate::drawing::scene::Scene;
use crate::drawing::svg::{Svg, number};
use crate::drawing::{self, palette};
use crate::job::model::{Job, Units, Weld, WeldKind};
use crate::map::model::{Flag, MappedBead, MappedWeld, WeldMap};
use crate::map::words;
use serde::Serialize;
use std::fmt::Write;

#[derive(Serialize)]
struct Data {
    scene: scene::SceneData,
    marks: Vec<scene::MarkData>,
    shapes: std::collections::BTreeMap<&'static str, &'static str>,
    welds: Vec<WeldData>,
    beads: Vec<BeadData>,
    /// Factor from J/mm to the reader's unit of heat input.
    heat_unit: f64,
}

#[derive(Serialize)]
struct WeldData {
    number: u16,
    name: String,
    class: &'static str,
    verdict: String,
    quantities: [Shown; 4],
    runs: Vec<RunData>,
    /// Name and value, as printed.
    facts: Vec<(&'static str, String)>,
    flags: Vec<String>,
    /// Size, symbol ("fillet" or "butt"), length and process, for the call-out.
    symbol: (String, &'static str, String, String),
    length_mm: f64,
    efficiency: f64,
}

#[derive(Serialize)]
struct RunData {
    beads: Vec<u32>,
    /// Absent for a single run: then they are the weld's.
    quantities: Option<[Shown; 4]>,
}

#[derive(Serialize)]
struct BeadData {
    number: u32,
    role: String,
    at: String,
    flags: Vec<String>,
    trace: trace::TraceData,
}

/// The weld map as one HTML file.
#[must_use]
pub fn weld_map_html(job: &Job, map: &WeldMap) -> String {
    let scene = Scene::of(job);
    let marks = drawing::marks(map);
    let figures = Figures::new(&scene, &marks);
    let title = format!("Weld map: {}", words::short(&map.title, 80));
    let body = body(job, map, &figures);
    html::page(&Page {
        title: &title,
        body: &body,
        data: html::data(&data(job, map, &scene, &marks)),
        scripts: &[include_str!("frame.js"), include_str!("map.js")],
    })
}

fn data(job: &Job, map: &WeldMap, scene: &Scene, marks: &[drawing::figure::Mark]) -> Data {
    let most = trace::share(map);
    Data {
        scene: scene::data(scene),
        marks: scene::marks(marks),
        shapes: scene::shapes(),
        welds: map
            .welds
            .iter()
            .zip(&job.welds)
            .map(|(mapped, weld)| weld_data(job, mapped, weld))
            .collect(),
        beads: map.beads.iter().map(|bead| bead_data(bead, most)).collect(),
        heat_unit: match job.units {
            Units::Metric => 1e-3,
            Units::UsCustomary => 25.4e-3,
        },
    }
}

fn weld_data(job: &Job, mapped: &MappedWeld, weld: &Weld) -> WeldData {
    let runs = mapped.runs.iter().map(|run| RunData {
        beads: run.beads.clone(),
        quantities: (mapped.runs.len() > 1).then(|| judged::of_run(run, job.units)),
    });
    WeldData {
        number: mapped.number,
        name: words::plain(&mapped.name),
        class: palette::class(mapped.verdict),
        verdict: words::verdict(mapped),
        quantities: judged::of_weld(mapped, job.units),
        runs: runs.collect(),
        facts: facts(job, mapped),
        flags: flags(&mapped.flags),
        symbol: symbol(job, mapped, weld),
        length_mm: mapped.length.value.0,
        efficiency: mapped.process.thermal_efficiency(),
    }
}

fn facts(job: &Job, weld: &MappedWeld) -> Vec<(&'static str, String)> {
    let (length, to_length) = words::length(job.units);
    let (heat, to_heat) = words::heat(job.units);
    let mut facts = vec![(
        "length",
        format!(
            "{:.*} ± {:.*} {}",
            length.decimals,
            to_length(weld.length.value),
            length.decimals,
            to_length(weld.length.expanded),
            length.symbol
        ),
    )];
    let measured = weld.start.is_some();
    let planned = format!("{:.1} s planned", weld.planned_arc_time.0);
    facts.push((
        "arc time",
        if measured {
            format!("{:.1} s, {planned}", weld.arc_time.0)
        } else {
            planned
        },
    ));
    if let Some(energy) = weld.energy {
        let kilojoules = |joules: f64| joules / 1000.0;
        facts.push((
            "energy",
            format!(
                "{:.2} ± {:.2} kJ",
                kilojoules(energy.value.0),
                kilojoules(energy.expanded.0)
            ),
        ));
    }
    if let Some(power) = weld.power {
        facts.push((
            "true power",
            format!(
                "{:.2} ± {:.2} kW",
                power.value.0 / 1000.0,
                power.expanded.0 / 1000.0
            ),
        ));
    }
    facts.push((
        "heat planned",
        format!(
            "{:.*} {}",
            heat.decimals,
            to_heat(weld.planned_heat_input),
            heat.symbol
        ),
    ));
    facts.push(("order", order(weld)));
    facts.push((
        "procedure",
        format!(
            "{}, {} ({})",
            words::short(&weld.procedure, 40),
            weld.process.name(),
            weld.process.number()
        ),
    ));
    if let Some(inspection) = &weld.inspection {
        facts.push(("inspected", words::short(&inspection.to_string(), 160)));
    }
    if let Some(confidence) = weld.confidence.filter(|c| *c < 0.995) {
        facts.push(("its own beads", format!("{:.0} % sure", 100.0 * confidence)));
    }
    facts
}

fn order(weld: &MappedWeld) -> String {
    match weld.done_place {
        Some(done) if done == weld.planned_place => format!("place {done}, as planned"),
        Some(done) => format!("place {done}, planned {}", weld.planned_place),
        None => format!("planned {}, not done", weld.planned_place),
    }
}

/// ISO 2553:2019: size before the symbol (z for leg, s for penetration), length after it, process (ISO 4063) at the tail.
fn symbol(job: &Job, mapped: &MappedWeld, weld: &Weld) -> (String, &'static str, String, String) {
    let (length, to_length) = words::length(job.units);
    let size =
        |letter: char, size| format!("{letter}{}", trimmed(to_length(size), length.decimals));
    let (size, symbol) = match weld.kind {
        WeldKind::Fillet { leg } => (size('z', leg), "fillet"),
        WeldKind::Butt { throat } => (size('s', throat), "butt"),
    };
    let long = trimmed(to_length(weld.length()), length.decimals);
    (size, symbol, long, mapped.process.number().to_string())
}

fn trimmed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').into()
    } else {
        text
    }
}

fn flags(flags: &[Flag]) -> Vec<String> {
    flags.iter().map(ToString::to_string).collect()
}

fn bead_data(bead: &MappedBead, most: usize) -> BeadData {
    BeadData {
        number: bead.number,
        role: words::role(bead.role),
        at: clock(bead.start.0),
        flags: flags(&bead.flags),
        trace: trace::data(bead, most),
    }
}

/// "12:05" from the start of the log.
fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0).floor() as u64;
    match whole {
        0..3600 => format!("{}:{:02}", whole / 60, whole % 60),
        _ => format!("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60),
    }
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
    table(&mut out, job, map);
    time(&mut out, map);
    totals(&mut out, map);
    put!(out, "</main>");
    out
}

fn head(out: &mut String, map: &WeldMap) {
    put!(
        out,
        "<a class=\"skip\" href=\"#welds\">To the table of welds</a>"
    );
    put!(out, "<header>\n<p class=\"kind\">Weld map</p>");
    put!(out, "<h1><bdi>{}</bdi></h1>", escape(&map.title));
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

fn drawing_panel(out: &mut String, figures: &Figures<'_>) {
    put!(
        out,
        "<section class=\"panel\" aria-label=\"Drawing\">\n{}<div id=\"frame\" class=\"frame\"></div>\n{}</section>",
        controls(),
        stills(figures)
    );
}

/// The views that show every weld, for paper and for a browser that runs no script.
pub(super) fn stills(figures: &Figures<'_>) -> String {
    let mut out = String::from("<div class=\"frame stills\">\n");
    for (caption, view, numbered) in figures.views() {
        let mut inner = Svg::default();
        let [width, height] = figures.draw(&mut inner, &view, &numbered, [0.0, 0.0]);
        put!(
            out,
            "<figure><p class=\"view\">{caption}</p>\n<svg class=\"figure still\" viewBox=\"0 0 {} {}\" role=\"img\" \
             aria-label=\"The frame, {caption}\">\n{}</svg></figure>",
            number(width),
            number(height),
            inner.finish()
        );
    }
    out.push_str("</div>\n");
    out
}

/// Buttons that turn the drawing; shown once there is a script to obey them.
pub(super) fn controls() -> String {
    let mut out = String::new();
    put!(
        out,
        "<div class=\"controls\" id=\"controls\" role=\"group\" aria-label=\"View\" hidden>"
    );
    for (look, pressed) in [
        ("front", true),
        ("back", false),
        ("top", false),
        ("corner", false),
    ] {
        put!(
            out,
            "<button type=\"button\" data-look=\"{look}\" aria-pressed=\"{pressed}\">{look}</button>"
        );
    }
    for (attribute, value, sign, name) in [
        ("turn", "-15,0", "↶", "turn left"),
        ("turn", "15,0", "↷", "turn right"),
        ("turn", "0,15", "⤒", "tip forward"),
        ("turn", "0,-15", "⤓", "tip back"),
        ("zoom", "1.4", "+", "larger"),
        ("zoom", "0.714", "−", "smaller"),
    ] {
        put!(
            out,
            "<button type=\"button\" class=\"sign-only\" data-{attribute}=\"{value}\" aria-label=\"{name}\" title=\"{name}\">{sign}</button>"
        );
    }
    put!(out, "</div>");
    out
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

fn table(out: &mut String, job: &Job, map: &WeldMap) {
    let (heat, _) = words::heat(job.units);
    let (speed, _) = words::speed(job.units);
    put!(
        out,
        "<section class=\"panel\" aria-labelledby=\"welds-title\"><h2 id=\"welds-title\">Welds</h2>\n\
         <div class=\"scroll\" role=\"group\" aria-labelledby=\"welds-title\" tabindex=\"0\"><table id=\"welds\">\n<thead><tr>\
         <th scope=\"col\">No.</th><th scope=\"col\">Weld</th><th scope=\"col\">Verdict</th>\
         <th scope=\"col\" class=\"num\">Heat input, {heat}</th><th scope=\"col\" class=\"wide screen\">Against its limits</th>\
         <th scope=\"col\" class=\"num wide\">Allowed</th><th scope=\"col\" class=\"num wide\">V</th>\
         <th scope=\"col\" class=\"num wide\">A</th><th scope=\"col\" class=\"num wide\">{speed}</th>\
         <th scope=\"col\" class=\"num wide\">Arc, s</th><th scope=\"col\" class=\"wide\">Look at</th></tr></thead>\n<tbody>",
        heat = heat.symbol,
        speed = speed.symbol
    );
    for weld in &map.welds {
        row(out, job, weld);
    }
    put!(out, "</tbody></table></div></section>");
}

fn row(out: &mut String, job: &Job, weld: &MappedWeld) {
    let class = palette::class(weld.verdict);
    let [heat, volts, amps, speed] = judged::of_weld(weld, job.units);
    let arc = weld
        .start
        .map_or("–".into(), |_| format!("{:.1}", weld.arc_time.0));
    let label = weld.number.to_string();
    let off = |shown: &Shown| match shown.class {
        "outside" => " off",
        _ => "",
    };
    put!(
        out,
        "<tr class=\"{class}\" data-weld=\"{label}\"><th scope=\"row\"><button type=\"button\" aria-label=\"Weld {label}\">{}</button></th>\
         <td><bdi>{}</bdi></td><td class=\"verdict\">{}</td><td class=\"num\">{}</td><td class=\"wide screen\">{}</td>\
         <td class=\"num wide\">{}</td><td class=\"num wide{}\">{}</td><td class=\"num wide{}\">{}</td>\
         <td class=\"num wide{}\">{}</td><td class=\"num wide\">{arc}</td><td class=\"wide\">{}</td></tr>",
        mark(class, &label),
        escape(&words::plain(&weld.name)),
        verdict(weld),
        heat.with_doubt(),
        heat.gauge(),
        heat.allowed(),
        off(&volts),
        volts.plain(),
        off(&amps),
        amps.plain(),
        off(&speed),
        speed.plain(),
        escape(&flags(&weld.flags).join("; "))
    );
}

/// The verdict, and what decided it where there is room to say so.
fn verdict(weld: &MappedWeld) -> String {
    let whole = words::verdict(weld);
    match whole.split_once(':') {
        Some((verdict, why)) => format!(
            "{}<span class=\"wide\">:{}</span>",
            escape(verdict),
            escape(why)
        ),
        None => escape(&whole),
    }
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

fn totals(out: &mut String, map: &WeldMap) {
    let totals = &map.totals;
    let source = &map.source;
    let mut rows: Vec<(&str, String)> = vec![
        ("Arc time", words_of_time(totals.arc_time.0)),
        (
            "Energy",
            format!(
                "{:.1} ± {:.1} kJ",
                totals.energy.value.0 / 1000.0,
                totals.energy.expanded.0 / 1000.0
            ),
        ),
        ("First arc to last", words_of_time(totals.elapsed.0)),
    ];
    rows.extend(
        totals
            .operating_factor
            .map(|f| ("Arc on", format!("{:.0} % of that time", 100.0 * f))),
    );
    rows.push((
        "Beads",
        format!(
            "{}: {} tacks, {} extra or scrap, {} replaced",
            map.beads.len(),
            totals.tacks,
            totals.extra,
            totals.replaced
        ),
    ));
    if !map.order.out_of_order.is_empty() {
        rows.push((
            "Not in their planned place",
            words::numbers(&map.order.out_of_order),
        ));
    }
    rows.push(("Log", words::short(&source.log, 80)));
    rows.extend(
        source
            .device
            .as_ref()
            .map(|device| ("Logger", words::short(device, 40))),
    );
    rows.extend(
        source
            .started_unix_ms
            .map(|ms| ("Started", words::date_and_time(ms))),
    );
    rows.extend(
        source
            .calibrated_unix_s
            .map(|s| ("Calibrated", words::date(s))),
    );
    rows.push((
        "Sampled",
        format!(
            "{:.0} pairs of volts and amps a second",
            source.sample_rate_hz
        ),
    ));
    rows.push((
        "Made with",
        format!("coldsquare {}", escape(&source.software)),
    ));
    put!(
        out,
        "<section class=\"panel\" aria-labelledby=\"sums-title\"><h2 id=\"sums-title\">Sums and source</h2>\n<dl class=\"facts\">"
    );
    for (name, value) in rows {
        put!(
            out,
            "<div><dt>{name}</dt><dd><bdi>{}</bdi></dd></div>",
            escape(&value)
        );
    }
    put!(
        out,
        "</dl>\n<p class=\"how\">Heat input is arc energy times thermal efficiency, per run. The number after ± is the expanded \
         uncertainty (k = 2). <b>Inside</b> and <b>outside</b> mean by more than that; between them a weld is <b>on the edge</b>. \
         The log sees volts and amps, not metal: it finds no defects.</p></section>"
    );
}

/// "12 s", "3 min 05 s", "2 h 10 min".
fn words_of_time(seconds: f64) -> String {
    let whole = seconds.round().max(0.0) as u64;
    match whole {
        0..60 => format!("{whole} s"),
        60..3600 => format!("{} min {:02} s", whole / 60, whole % 60),
        _ => format!("{} h {:02} min", whole / 3600, whole / 60 % 60),
    }
}
