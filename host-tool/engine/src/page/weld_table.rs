//! The table of welds of the weld map.

use super::html::{self, mark};
use super::judged::{self, Shown};
use super::weld_data::flags;
use crate::drawing::palette;
use crate::format;
use crate::job::model::Job;
use crate::map::model::{MappedWeld, WeldMap};
use crate::verdict::Verdict;
use maud::{Markup, html};

/// The panel.
pub(super) fn panel(job: &Job, map: &WeldMap) -> Markup {
    let (heat, _) = format::heat(job.units);
    let (speed, _) = format::speed(job.units);
    let table = html! {
        table #welds {
            thead {
                tr {
                    th scope="col" { "No." }
                    th scope="col" { "Weld" }
                    th scope="col" { "Verdict" }
                    th.num scope="col" { "Heat input, " (heat.symbol) }
                    th.wide.screen scope="col" { "Against its limits" }
                    th.num.wide scope="col" { "Limits" }
                    @for column in ["V", "A", speed.symbol, "Arc, s"] {
                        th.num.wide scope="col" { (column) }
                    }
                    th.wide scope="col" { "Look here" }
                }
            }
            tbody { @for weld in &map.welds { (row(job, weld)) } }
        }
    };
    html::panel("welds", "panel", "Welds", html::scroll("welds", table))
}

fn row(job: &Job, weld: &MappedWeld) -> Markup {
    let class = palette::class(weld.verdict);
    let [heat, volts, amps, speed] = judged::of_weld(weld, job.units);
    let off = |shown: &Shown| shown.class == palette::class(Verdict::OutOfLimits);
    html! {
        tr class=(class) data-weld=(weld.number) {
            th scope="row" {
                button type="button" aria-label={ "Weld " (weld.number) } { (mark(class, &weld.number.to_string())) }
            }
            td { bdi { (weld.name) } }
            td.verdict { (verdict(weld)) }
            td.num { (heat.with_uncertainty()) }
            td.wide.screen { (heat.gauge()) }
            td.num.wide { (heat.limits()) }
            @for shown in [volts, amps, speed] {
                td.num.wide.off[off(&shown)] { (shown.plain()) }
            }
            td.num.wide { @if weld.start.is_some() { (format!("{:.1}", weld.arc_time.0)) } @else { "–" } }
            td.wide { (flags(&weld.flags).join("; ")) }
        }
    }
}

/// The verdict, and what decided it where there is room to say so.
fn verdict(weld: &MappedWeld) -> Markup {
    let whole = weld.describe_verdict();
    let (verdict, why) = whole.split_at(whole.find(':').unwrap_or(whole.len()));
    html! { (verdict) @if !why.is_empty() { span.wide { (why) } } }
}
