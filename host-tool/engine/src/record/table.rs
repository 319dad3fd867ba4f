//! The table of welds of the build record: every number with its doubt.

use super::model::BuildRecord;
use crate::drawing::palette;
use crate::job::model::Job;
use crate::map::model::MappedWeld;
use crate::page::html::{escape, mark};
use crate::units::Units;
use crate::verdict::{Estimate, Judged};
use crate::format;
use crate::sanitise;
use std::fmt::Write;

const MS_PER_DAY: u64 = 86_400_000;

/// The table.
pub(super) fn welds(out: &mut String, job: &Job, record: &BuildRecord) {
    let (heat, _) = format::heat(job.units);
    let (speed, _) = format::speed(job.units);
    let began = match record.map.source.started_unix_ms {
        Some(_) => "Began, UTC",
        None => "Began, s",
    };
    // Writing to a string cannot fail.
    let _ = writeln!(
        out,
        "<section class=\"panel\" aria-labelledby=\"welds-title\"><h2 id=\"welds-title\">Welds</h2>\n<p class=\"how\">Heat input \
         is energy over length times thermal efficiency (EN 1011-1); ± is the expanded uncertainty, k = 2; below it what is \
         allowed. Where the log has no clock, times count from its first sample.</p>\n<div class=\"scroll\" role=\"group\" \
         aria-labelledby=\"welds-title\" tabindex=\"0\"><table id=\"welds\" class=\"full\"><thead><tr><th scope=\"col\">No.</th>\
         <th scope=\"col\">Weld</th><th scope=\"col\">{began}</th><th scope=\"col\">Verdict</th><th scope=\"col\" class=\"num\">\
         Heat input, {}</th><th scope=\"col\" class=\"num\">V</th><th scope=\"col\" class=\"num\">A</th><th scope=\"col\" \
         class=\"num\">{}</th><th scope=\"col\" class=\"num\">Arc, s</th><th scope=\"col\">Inspection</th></tr></thead>\n<tbody>",
        heat.symbol, speed.symbol
    );
    for weld in &record.map.welds {
        row(out, weld, job.units, record.map.source.started_unix_ms);
    }
    let _ = writeln!(out, "</tbody></table></div></section>");
}

fn row(out: &mut String, weld: &MappedWeld, units: Units, started_unix_ms: Option<u64>) {
    let (heat, heat_in) = format::heat(units);
    let (speed, speed_in) = format::speed(units);
    let class = palette::class(weld.verdict);
    let number = weld.number.to_string();
    let arc_time = match weld.start {
        Some(_) => format!("{:.1}", weld.arc_time.0),
        None => "–".into(),
    };
    let inspection = weld.inspection.as_ref();
    let inspection = inspection.map_or("not inspected".into(), |seen| {
        sanitise::plain(&seen.to_string())
    });
    let _ = writeln!(
        out,
        "<tr class=\"{class}\"><th scope=\"row\">{}<span class=\"unseen\">{number}</span></th><td><bdi>{}</bdi></td><td>{}</td>\
         <td class=\"verdict\">{}</td><td class=\"num\">{}<br><span class=\"quiet-text\">{}</span></td><td class=\"num\">{}</td>\
         <td class=\"num\">{}</td><td class=\"num\">{}</td><td class=\"num\">{arc_time}</td><td>{}</td></tr>",
        mark(class, &number),
        escape(&sanitise::plain(&weld.name)),
        began(weld, started_unix_ms),
        escape(&weld.verdict_words()),
        with_doubt(&weld.heat_input, heat.decimals, heat_in),
        weld.heat_input.limits.format(heat.decimals, heat_in),
        with_doubt(&weld.voltage, 1, |volts| volts.0),
        with_doubt(&weld.current, 0, |amperes| amperes.0),
        with_doubt(&weld.travel_speed, speed.decimals, speed_in),
        escape(&inspection),
    );
}

/// The time of day where the log has a clock, with its date when that is not the one the record begins with; else the
/// time from the first sample.
fn began(weld: &MappedWeld, started_unix_ms: Option<u64>) -> String {
    match (weld.start, started_unix_ms) {
        (None, _) => "–".into(),
        (Some(start), None) => format!("{:.1}", start.0),
        (Some(start), Some(log)) => {
            let at = log.saturating_add((1000.0 * start.0) as u64);
            let whole = format::date_and_time(at);
            let whole = whole.strip_suffix(" UTC").unwrap_or(&whole);
            match whole.split_once(' ') {
                Some((_, time)) if at / MS_PER_DAY == log / MS_PER_DAY => time.into(),
                _ => whole.into(),
            }
        }
    }
}

fn with_doubt<T: Copy>(judged: &Judged<T>, decimals: usize, number: impl Fn(T) -> f64) -> String {
    judged
        .estimate
        .map_or("–".into(), |Estimate { value, expanded }| {
            format!(
                "{:.decimals$} ± {:.decimals$}",
                number(value),
                number(expanded)
            )
        })
}
