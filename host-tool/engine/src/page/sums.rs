//! Sums over a log and where they come from, at the foot of the weld map.

use super::html::escape;
use crate::map::model::WeldMap;
use crate::format;
use crate::sanitise;
use std::fmt::Write;

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

pub(super) fn totals(out: &mut String, map: &WeldMap) {
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
            format::list(&map.order.out_of_order),
        ));
    }
    rows.push(("Log", sanitise::short(&source.log, 80)));
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
