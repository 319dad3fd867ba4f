//! What was measured of the frame beside what was predicted, as a table of the weld map and the build record.

use super::html::{self, mark};
use super::judged::Shown;
use crate::comparison::{Compared, Comparison};
use crate::drawing::palette;
use crate::format;
use crate::units::Units;
use crate::verdict::Verdict;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::Millimetres;
use maud::{Markup, html};

/// The panel; nothing where nothing was measured.
pub(crate) fn panel(measured: Option<&Comparison>, units: Units) -> Markup {
    let Some(comparison) = measured else {
        return Markup::default();
    };
    let content = html! {
        @if comparison.rows.is_empty() {
            p { "No measurement is of this build." }
        } @else {
            p.how {
                "Change from the drawing in " (units.length_symbol()) ". Predicted from the heat of this log, in the order \
                 welded, with " bdi { (comparison.factors) } ". ± is k = 2; measured and predicted " b { "agree" } " if the \
                 residual is no more than its uncertainty. On the gauge the band is predicted, the stroke measured."
            }
            (html::scroll("moved", table(comparison, units)))
        }
        @if !comparison.notes.is_empty() {
            ul { @for note in &comparison.notes { li { (note) "." } } }
        }
    };
    html::panel("moved", "panel keep", "Predicted and measured", content)
}

fn table(comparison: &Comparison, units: Units) -> Markup {
    html! {
        table #moved {
            thead {
                tr {
                    th scope="col" { "Measure" }
                    th scope="col" { "Verdict" }
                    @for column in ["Measured", "Predicted", "Residual"] {
                        th.num scope="col" { (column) }
                    }
                    th.wide.screen scope="col" { "Measured on predicted" }
                    th.wide scope="col" { "When" }
                }
            }
            tbody { @for row in &comparison.rows { (table_row(row, units)) } }
        }
    }
}

fn table_row(row: &Compared, units: Units) -> Markup {
    let class = class(row);
    let shown =
        |change: Option<Uncertain>| change.map_or("–".into(), |change| units.change(change));
    html! {
        tr class=(class) {
            th scope="row" { bdi { (row.of) } }
            td.verdict { (mark(class, "")) (row.verdict()) }
            td.num { (units.change(row.measured_mm)) }
            td.num { (shown(row.predicted_mm)) }
            td.num { (shown(row.residual_mm())) }
            td.wide.screen { @if let Some(shown) = gauge(row, units) { (shown.gauge()) } }
            td.wide { (row.on) ", " (row.state) }
        }
    }
}

/// The shapes of verdicts: round if they agree, square if they differ, a bare stroke without a verdict.
fn class(row: &Compared) -> &'static str {
    palette::class(match row.agrees() {
        Some(true) => Verdict::WithinLimits,
        Some(false) => Verdict::OutOfLimits,
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
        uncertainty: Some(to(row.measured_mm.expanded())),
        low: Some(to(predicted.value - predicted.expanded())),
        high: Some(to(predicted.value + predicted.expanded())),
        class: class(row),
    })
}
