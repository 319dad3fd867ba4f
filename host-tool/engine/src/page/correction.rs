//! The page of a correction: for each fault the ways, with a drawing of where to press, heat or shim.

use super::html::{self, Page, escape};
use super::member_side::member_side;
use crate::correct::model::{Correction, Fault, Kind};
use crate::correct::show::Show;
use crate::sanitise;
use std::fmt::Write;

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

/// A correction as one HTML file.
#[must_use]
pub fn correction_html(correction: &Correction) -> String {
    let title = format!("Correction: {}", sanitise::short(&correction.title, 80));
    let body = body(correction);
    html::page(&Page {
        title: &title,
        body: &body,
        data: String::new(),
        scripts: &[],
    })
}

fn body(correction: &Correction) -> String {
    let mut out = String::new();
    let show = Show(correction.units);
    put!(
        out,
        "<header>\n<p class=\"kind\">What now, {}</p>\n{}\n</header>",
        safe(&correction.basis),
        html::heading(&correction.title)
    );
    put!(
        out,
        "<main id=\"main\">\n<section class=\"panel notes\" aria-labelledby=\"notes-title\"><h2 id=\"notes-title\">Bear in mind</h2><ul>"
    );
    for note in &correction.notes {
        put!(out, "<li>{}</li>", safe(note));
    }
    put!(
        out,
        "<li>All lengths in {}; ± is k = 2, about 95 %.</li></ul></section>",
        show.unit_in_words()
    );
    if correction.faults.is_empty() {
        put!(
            out,
            "<section class=\"panel\"><h2>Nothing to mend</h2><p>All that was looked at is inside its tolerance.</p></section>"
        );
    }
    for (number, fault) in correction.faults.iter().enumerate() {
        fault_panel(&mut out, number, fault, show);
    }
    sizes(&mut out, correction, show);
    if !correction.fine.is_empty() {
        put!(
            out,
            "<section class=\"panel\"><h2>Inside tolerance</h2><p>{}</p></section>",
            safe(&correction.fine.join(", "))
        );
    }
    put!(out, "</main>");
    out
}

fn safe(text: &str) -> String {
    escape(&sanitise::plain(text))
}

fn fault_panel(out: &mut String, number: usize, fault: &Fault, show: Show) {
    put!(
        out,
        "<section class=\"panel\" aria-labelledby=\"fault-{number}\"><h2 id=\"fault-{number}\"><bdi>{}</bdi></h2>\n\
         <p class=\"big\"><b>{}</b> ± {} {} {}, {} tolerated</p>",
        safe(&fault.name),
        show.change(fault.change_mm),
        show.gap(fault.plus_minus_mm),
        show.unit(),
        fault.known_by(),
        show.gap(fault.tolerance_mm)
    );
    put!(
        out,
        "<div class=\"scroll\" role=\"group\" aria-labelledby=\"fault-{number}\" tabindex=\"0\"><table><thead><tr><th scope=\"col\">Way</th>\
         <th scope=\"col\">Effort</th><th scope=\"col\">Risk</th><th scope=\"col\">In short</th></tr></thead><tbody>"
    );
    for way in &fault.ways {
        let (effort, risk) = if way.open {
            (way.effort.words(), way.risk.words())
        } else {
            ("", "")
        };
        let short = way.says.first().map_or("", String::as_str);
        let no = if way.open { "" } else { "No. " };
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{effort}</td><td>{risk}</td><td>{no}{}</td></tr>",
            way.kind.words(),
            safe(short)
        );
    }
    put!(out, "</tbody></table></div>");
    for way in fault
        .ways
        .iter()
        .filter(|way| way.open && way.kind != Kind::Leave)
    {
        put!(out, "<div class=\"keep\"><h3>{}</h3>", way.kind.words());
        if !way.places.is_empty() {
            put!(out, "{}", member_side(fault.length_mm, way, show));
        }
        for says in &way.says {
            put!(out, "<p>{}</p>", safe(says));
        }
        for caution in &way.cautions {
            put!(out, "<p class=\"flag\">{}</p>", safe(caution));
        }
        put!(out, "<ol>");
        for step in &way.steps {
            put!(out, "<li>{}</li>", safe(step));
        }
        put!(out, "</ol>");
        put!(out, "</div>");
    }
    put!(out, "</section>");
}

fn sizes(out: &mut String, correction: &Correction, show: Show) {
    if correction.together.is_empty() {
        return;
    }
    put!(
        out,
        "<section class=\"panel keep\" aria-labelledby=\"sizes-title\"><h2 id=\"sizes-title\">Cut longer and pre-set together</h2>\
         <div class=\"scroll\" role=\"group\" aria-labelledby=\"sizes-title\" tabindex=\"0\"><table><thead><tr><th scope=\"col\">Size</th>\
         <th scope=\"col\" class=\"num\">Asked</th><th scope=\"col\" class=\"num\">As drawn</th><th scope=\"col\" class=\"num\">Cut longer</th>\
         <th scope=\"col\" class=\"num\">Pre-set</th><th scope=\"col\" class=\"num\">Both</th></tr></thead><tbody>"
    );
    for size in &correction.together {
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td class=\"num\">{}</td><td class=\"num\">{} ± {}</td><td class=\"num\">{}</td>\
             <td class=\"num\">{}</td><td class=\"num\">{} ± {}</td></tr>",
            safe(&size.name),
            show.size(size.wanted_mm),
            show.fine(size.as_drawn_mm[0]),
            show.fine(size.as_drawn_mm[1]),
            show.added(size.longer_mm),
            show.added(size.pre_set_mm),
            show.fine(size.mended_mm[0]),
            show.fine(size.mended_mm[1])
        );
    }
    put!(out, "</tbody></table></div></section>");
}
