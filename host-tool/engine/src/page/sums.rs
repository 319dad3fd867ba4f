//! Totals of a log and where they come from, at the foot of the weld map.

use super::html;
use crate::format;
use crate::map::model::{Source, Totals, WeldMap};
use crate::sanitise;
use maud::{Markup, html};

/// The panel.
pub(super) fn panel(map: &WeldMap) -> Markup {
    let mut rows = totals(&map.totals, map.beads.len());
    if !map.order.out_of_order.is_empty() {
        rows.push((
            "Not in their planned place",
            format::list(&map.order.out_of_order),
        ));
    }
    rows.extend(source(&map.source));
    html::panel(
        "sums",
        "panel",
        "Totals and source",
        html! {
            (html::facts(&rows))
            p.how {
                "Heat input is arc energy times thermal efficiency, per run. The number after ± is the expanded uncertainty \
                 (k = 2). " b { "Within limits" } " and " b { "out of limits" } " mean by more than that; in between a weld \
                 is " b { "marginal" } ". The log records volts and amps, not metal: it finds no defects."
            }
        },
    )
}

fn totals(totals: &Totals, beads: usize) -> Vec<(&'static str, String)> {
    let mut rows = vec![
        ("Arc time", duration(totals.arc_time.0)),
        (
            "Energy",
            format!(
                "{:.1} ± {:.1} kJ",
                totals.energy.value.0 / 1000.0,
                totals.energy.expanded.0 / 1000.0
            ),
        ),
        ("First arc to last", duration(totals.elapsed.0)),
    ];
    rows.extend(
        totals
            .operating_factor
            .map(|f| ("Arc on", format!("{:.0} % of that time", 100.0 * f))),
    );
    rows.push((
        "Beads",
        format!(
            "{beads}: {}, {} extra or scrap, {} replaced",
            format::count(totals.tacks, "tack"),
            totals.extra,
            totals.replaced
        ),
    ));
    rows
}

fn source(source: &Source) -> Vec<(&'static str, String)> {
    let mut rows = vec![("Log", sanitise::short(&source.log, 80))];
    rows.extend(
        source
            .device
            .as_ref()
            .map(|device| ("Logger", sanitise::short(device, 40))),
    );
    rows.extend(
        source
            .started_unix_ms
            .map(|ms| ("Started", format::date_and_time(ms))),
    );
    rows.extend(
        source
            .calibrated_unix_s
            .map(|s| ("Calibrated", format::date(s))),
    );
    rows.push((
        "Sampling rate",
        format!(
            "{:.0} pairs of volts and amps per second",
            source.sample_rate_hz
        ),
    ));
    rows.push(("Made with", format!("coldsquare {}", source.software)));
    rows
}

/// "12 s", "3 min 05 s", "2 h 10 min".
fn duration(seconds: f64) -> String {
    let whole = seconds.round().max(0.0) as u64;
    match whole {
        0..60 => format!("{whole} s"),
        60..3600 => format!("{} min {:02} s", whole / 60, whole % 60),
        _ => format!("{} h {:02} min", whole / 3600, whole / 60 % 60),
    }
}
