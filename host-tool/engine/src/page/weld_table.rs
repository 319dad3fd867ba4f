//! The table of welds of the weld map.

use super::html::{escape, mark};
use super::judged::{self, Shown};
use super::weld_data::flags;
use crate::drawing::palette;
use crate::job::model::Job;
use crate::map::model::{MappedWeld, WeldMap};
use crate::format;
use crate::sanitise;
use std::fmt::Write;

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

pub(super) fn table(out: &mut String, job: &Job, map: &WeldMap) {
    let (heat, _) = format::heat(job.units);
    let (speed, _) = format::speed(job.units);
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
        escape(&sanitise::plain(&weld.name)),
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
    let whole = weld.verdict_words();
    match whole.split_once(':') {
        Some((verdict, why)) => format!(
            "{}<span class=\"wide\">:{}</span>",
            escape(verdict),
            escape(why)
        ),
        None => escape(&whole),
    }
}
