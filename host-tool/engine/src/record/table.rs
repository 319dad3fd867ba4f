//! The table of welds of the build record: every number with its uncertainty.

use super::model::BuildRecord;
use crate::drawing::palette;
use crate::format;
use crate::job::model::Job;
use crate::map::model::MappedWeld;
use crate::page::html::{self, mark};
use crate::units::Units;
use crate::verdict::Judged;
use maud::{Markup, html};

const MS_PER_DAY: u64 = 86_400_000;

/// The panel.
pub(super) fn panel(job: &Job, record: &BuildRecord) -> Markup {
    let (heat, _) = format::heat(job.units);
    let (speed, _) = format::speed(job.units);
    let log_began = record.map.source.started_unix_ms;
    let table = html! {
        table #welds .full {
            thead {
                tr {
                    th scope="col" { "No." }
                    th scope="col" { "Weld" }
                    th scope="col" { @if log_began.is_some() { "Began, UTC" } @else { "Began, s" } }
                    th scope="col" { "Verdict" }
                    th.num scope="col" { "Heat input, " (heat.symbol) }
                    @for column in ["V", "A", speed.symbol, "Arc, s"] {
                        th.num scope="col" { (column) }
                    }
                    th scope="col" { "Inspection" }
                }
            }
            tbody { @for weld in &record.map.welds { (row(weld, job.units, log_began)) } }
        }
    };
    let content = html! {
        p.how {
            "Heat input is energy over length times thermal efficiency (EN 1011-1); ± is the expanded uncertainty, k = 2; \
             its limits are on the line below. Where the log has no clock, times count from its first sample."
        }
        (html::scroll("welds", table))
    };
    html::panel("welds", "panel", "Welds", content)
}

fn row(weld: &MappedWeld, units: Units, log_began: Option<u64>) -> Markup {
    let (heat, heat_in) = format::heat(units);
    let (speed, speed_in) = format::speed(units);
    let class = palette::class(weld.verdict);
    html! {
        tr class=(class) {
            th scope="row" {
                (mark(class, &weld.number.to_string()))
                span.unseen { (weld.number) }
            }
            td { bdi { (weld.name) } }
            td { (began(weld, log_began)) }
            td.verdict { (weld.describe_verdict()) }
            td.num {
                (with_uncertainty(&weld.heat_input, heat.decimals, heat_in))
                br;
                span.quiet-text { (weld.heat_input.limits.format(heat.decimals, heat_in)) }
            }
            td.num { (with_uncertainty(&weld.voltage, 1, |volts| volts.0)) }
            td.num { (with_uncertainty(&weld.current, 0, |amperes| amperes.0)) }
            td.num { (with_uncertainty(&weld.travel_speed, speed.decimals, speed_in)) }
            td.num { @if weld.start.is_some() { (format!("{:.1}", weld.arc_time.0)) } @else { "–" } }
            td { @if let Some(seen) = &weld.inspection { (seen) } @else { "not inspected" } }
        }
    }
}

/// The time of day if the log has a clock, with the date if it is not the day on which the log began; otherwise the time
/// from the first sample.
fn began(weld: &MappedWeld, log_began: Option<u64>) -> String {
    match (weld.start, log_began) {
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

fn with_uncertainty<T: Copy>(
    judged: &Judged<T>,
    decimals: usize,
    number: impl Fn(T) -> f64,
) -> String {
    judged
        .estimate
        .map_or("–".into(), |one| one.format(decimals, number))
}
