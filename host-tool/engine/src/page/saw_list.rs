//! The page for the saw: every kind of piece with its picture, every bar with its pieces, boxes to tick.

use super::html::{self, Page, panel, scroll};
use crate::format::Precision;
use crate::job::model::Job;
use crate::sanitise;
use crate::saw::{Bar, Kind, SawList, angles, lies_on, long_points, rounding};
use crate::units::Units;
use coldsquare_core::units::Millimetres;
use maud::{Markup, html};

/// Width and height of the picture of a piece.
const PIECE: [f64; 2] = [300.0, 40.0];
/// Width and height of the picture of a bar.
const BAR: [f64; 2] = [900.0, 44.0];

/// The list as one HTML file.
#[must_use]
pub fn saw_page(job: &Job, list: &SawList) -> String {
    let title = format!("For the saw: {}", sanitise::short(&job.name, 80));
    html::page(&Page {
        title: &title,
        body: body(job, list),
        data: String::new(),
        scripts: Vec::new(),
    })
}

fn body(job: &Job, list: &SawList) -> Markup {
    let units = job.units;
    let kerf = units.length_with_unit(list.kerf_mm, Precision::Drawn);
    let mut notes = vec![
        "Lengths run from long point to long point, with no allowance for shrinkage.".to_owned(),
        format!("Each cut takes {kerf}. The end of a bar counts as square and clean: trim it first if it is not."),
        "Cut one piece of each kind, check it against the frame, then cut the rest to its stop.".to_owned(),
        "Clamp the piece, wear eye and ear protection, and keep the guard on; follow the saw's own instructions."
            .to_owned(),
    ];
    notes.extend(rounding(list, units));
    html! {
        header {
            p.kind { "For the saw" }
            (html::heading(&job.name))
        }
        main #main {
            (panel("pieces", "panel", "Pieces", pieces(job, list)))
            (panel("bars", "panel", "Bars", bars(list, units)))
            (panel("notes", "panel notes", "Notes", html::list(&notes)))
        }
    }
}

fn length(list: &SawList, units: Units, mm: f64) -> String {
    match list.fraction {
        Some(fraction) => fraction.text(mm),
        None => units.length_with_unit(mm, Precision::Drawn),
    }
}

fn pieces(job: &Job, list: &SawList) -> Markup {
    let table = html! {
        table.saw {
            thead {
                tr {
                    th scope="col" { "Cut" }
                    th scope="col" { "Piece" }
                    th.num scope="col" { "How many" }
                    th scope="col" { "Section" }
                    th.num scope="col" { "Long points" }
                    th.num scope="col" { "Short points" }
                    th scope="col" { "Ends" }
                    th scope="col" { "Looks like" }
                    th.wide scope="col" { "Members" }
                }
            }
            tbody { @for kind in &list.kinds { (piece(job, list, kind)) } }
        }
    };
    scroll("pieces", table)
}

fn piece(job: &Job, list: &SawList, kind: &Kind) -> Markup {
    let units = job.units;
    let names: Vec<String> = kind
        .members
        .iter()
        .map(|&member| sanitise::plain(&job.members[member].name))
        .collect();
    let added = list.rounded(kind.long_mm).added_mm;
    let how = [long_points(kind.sides).to_owned(), lies_on(kind, units)];
    html! {
        tr {
            td { @for _ in 0..kind.members.len().min(20) { span.box aria-hidden="true" {} " " } }
            th scope="row" { (kind.mark) }
            td.num { (kind.members.len()) }
            td { bdi { (kind.section) } }
            td.num {
                b { (length(list, units, kind.long_mm)) }
                @if added.abs() > 0.01 { br; "rounded by " (units.signed_length(added, Precision::Calculated)) }
            }
            td.num { @if kind.short_mm < kind.long_mm - 0.05 { (length(list, units, kind.short_mm)) } }
            td {
                (angles(kind.ends))
                @for how in how.iter().filter(|how| !how.is_empty()) { br; (how) }
            }
            td { (piece_picture(kind)) }
            td { bdi { (names.join(", ")) } }
        }
    }
}

/// The piece to no scale: its angles are true, its middle is left out.
fn piece_picture(kind: &Kind) -> Markup {
    let [width, height] = PIECE;
    let [a, b, c, d] = kind.outline();
    let tall = d[1].max(c[1]).max(1.0);
    let scale = (height - 8.0) / tall;
    let right = b[0].max(c[0]);
    // Both ends at one scale, the middle as long as there is room.
    let x = |at: f64| {
        let (near, far) = (at * scale, (right - at) * scale);
        if at < right / 2.0 {
            (4.0 + near).min(width / 2.0)
        } else {
            (width - 4.0 - far).max(width / 2.0)
        }
    };
    let y = |up: f64| height - 4.0 - up * scale;
    let points = [a, b, c, d]
        .map(|[at, up]| format!("{:.1},{:.1}", x(at), y(up)))
        .join(" ");
    html! {
        svg.saw-piece viewBox={ "0 0 " (width) " " (height) } width="300" height="40" role="img" aria-label=(angles(kind.ends)) {
            polygon.metal points=(points) {}
        }
    }
}

fn bars(list: &SawList, units: Units) -> Markup {
    html! {
        ol.saw-bars {
            @for bar in &list.bars { (bar_row(bar, list, units)) }
        }
        @for &kind in &list.too_long {
            p.flag { "Piece " (list.kinds[kind].mark) " is longer than a bar: splice it, or order a longer one." }
        }
    }
}

fn bar_row(bar: &Bar, list: &SawList, units: Units) -> Markup {
    let what = if bar.is_offcut { "Offcut" } else { "Bar" };
    let marks: Vec<&str> = bar
        .cuts
        .iter()
        .map(|cut| list.kinds[cut.kind].mark.as_str())
        .collect();
    html! {
        li.keep {
            p {
                (what) " of " bdi { (bar.section) } ", " (units.total_length(Millimetres(bar.length_mm))) ": "
                b { (marks.join(" ")) } "; left " (units.length_with_unit(bar.left_mm, Precision::Mark))
                @if bar.shared_mitres(&list.kinds) > 0 { ". Each mitre ends a piece and begins the next" }
                @if bar.is_turned(&list.kinds) { ": turn the bar over after it" }
                "."
            }
            (bar_picture(bar, list, &marks))
        }
    }
}

fn bar_picture(bar: &Bar, list: &SawList, marks: &[&str]) -> Markup {
    let [width, height] = BAR;
    let scale = (width - 2.0) / bar.length_mm;
    let mut at = 1.0;
    let mut pieces = Vec::new();
    let used = bar.length_mm - bar.left_mm;
    let long: f64 = bar
        .cuts
        .iter()
        .map(|cut| list.kinds[cut.kind].long_mm)
        .sum();
    for (cut, mark) in bar.cuts.iter().zip(marks) {
        // The kerfs, and what mitres save, are shared out evenly.
        let wide = list.kinds[cut.kind].long_mm * (used / long) * scale;
        pieces.push((at, wide, *mark));
        at += wide;
    }
    let label = format!("{} of {}", marks.join(", "), bar.section);
    html! {
        svg.saw-bar viewBox={ "0 0 " (width) " " (height) } role="img" aria-label=(label) {
            rect.left-over x="1" y="4" width=(format!("{:.1}", width - 2.0)) height="36" {}
            @for (at, wide, mark) in pieces {
                rect.metal x=(format!("{at:.1}")) y="4" width=(format!("{:.1}", wide.max(1.0))) height="36" {}
                text x=(format!("{:.1}", at + wide / 2.0)) y="28" text-anchor="middle" { (mark) }
            }
        }
    }
}
