//! What was measured of the frame beside what was predicted, as a table of the weld map and the build record.

use super::html::{escape, mark};
use super::judged::Shown;
use crate::drawing::palette;
use crate::measured::compare::{Compared, Comparison};
use crate::units::Units;
use crate::verdict::Verdict;
use crate::format;
use crate::sanitise;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::Millimetres;
use std::fmt::Write;

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

/// The panel; nothing where nothing was measured.
pub(crate) fn panel(out: &mut String, measured: Option<&Comparison>, units: Units) {
    let Some(comparison) = measured else {
        return;
    };
    let unit = format::length(units).0.symbol;
    put!(
        out,
        "<section class=\"panel keep\" aria-labelledby=\"moved-title\"><h2 id=\"moved-title\">Predicted and measured</h2>"
    );
    if comparison.rows.is_empty() {
        put!(out, "<p>Nothing that was measured is of this build.</p>");
    } else {
        put!(
            out,
            "<p class=\"how\">Change from the drawing in {unit}. Predicted from the heat of this log, in the order welded, with \
         <bdi>{}</bdi>. ± is k = 2; a residual is <b>inside</b> when it is no more than its own doubt. On the gauge the band is \
         predicted, the stroke measured.</p>",
            escape(&sanitise::plain(&comparison.factors))
        );
        table(out, comparison, units);
    }
    if !comparison.notes.is_empty() {
        put!(out, "<ul>");
        for note in &comparison.notes {
            put!(out, "<li>{}.</li>", escape(&sanitise::plain(note)));
        }
        put!(out, "</ul>");
    }
    put!(out, "</section>");
}

fn table(out: &mut String, comparison: &Comparison, units: Units) {
    put!(
        out,
        "<div class=\"scroll\" role=\"group\" aria-labelledby=\"moved-title\" tabindex=\"0\"><table id=\"moved\"><thead><tr>\
         <th scope=\"col\">Quantity</th><th scope=\"col\">Residual is</th><th scope=\"col\" class=\"num\">Measured</th>\
         <th scope=\"col\" class=\"num\">Predicted</th><th scope=\"col\" class=\"num\">Residual</th>\
         <th scope=\"col\" class=\"wide screen\">Measured on predicted</th><th scope=\"col\" class=\"wide\">When</th></tr></thead>\n\
         <tbody>"
    );
    for row in &comparison.rows {
        let class = class(row);
        let shown = |change: Option<Uncertain>| {
            change.map_or("–".into(), |change| units.change(change))
        };
        put!(
            out,
            "<tr class=\"{class}\"><th scope=\"row\"><bdi>{}</bdi></th><td class=\"verdict\">{}{}</td><td class=\"num\">{}</td>\
             <td class=\"num\">{}</td><td class=\"num\">{}</td><td class=\"wide screen\">{}</td><td class=\"wide\">{}</td></tr>",
            escape(&sanitise::plain(&row.of)),
            mark(class, ""),
            row.verdict(),
            units.change(row.measured_mm),
            shown(row.predicted_mm),
            shown(row.residual_mm()),
            gauge(row, units).map_or(String::new(), |shown| shown.gauge()),
            escape(&format!("{}, {}", row.on, row.state)),
        );
    }
    put!(out, "</tbody></table></div>");
}

/// The shapes of verdicts: round inside, square outside, a bare stroke where there is none.
fn class(row: &Compared) -> &'static str {
    palette::class(match row.is_inside() {
        Some(true) => Verdict::Inside,
        Some(false) => Verdict::Outside,
        None => Verdict::NoLimit,
    })
}

fn gauge(row: &Compared, units: Units) -> Option<Shown> {
    let (length, to_length) = format::length(units);
    let to = |mm: f64| to_length(Millimetres(mm));
    let predicted = row.predicted_mm?;
    Some(Shown {
        decimals: length.decimals,
        value: Some(to(row.measured_mm.value)),
        doubt: Some(to(row.measured_mm.expanded())),
        low: Some(to(predicted.value - predicted.expanded())),
        high: Some(to(predicted.value + predicted.expanded())),
        class: class(row),
    })
}
