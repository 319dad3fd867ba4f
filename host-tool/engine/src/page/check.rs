//! The page of a job as drawn, before anything is welded: members, welds, dimensions from the centre; or every error in
//! its file, shown where it is in the picture.

use super::FRAME_SCRIPTS;
use super::html::{self, Page, panel, scroll};
use super::{scene, stills};
use crate::drawing::figure::{Figures, Flag, Mark};
use crate::drawing::scene::Scene;
use crate::drawing::svg::{Svg, number};
use crate::drawing::view::View;
use crate::drawing::{DIMENSIONS_ROOM, face, plain_marks};
use crate::file_error::FileErrors;
use crate::format::{Precision, count};
use crate::job::cut_list::CutList;
use crate::job::from_centre::{FromCentre, from_centre};
use crate::job::model::{EndCut, Job, Member, SeenFrom, WeldKind};
use crate::job::which_way::which_way;
use crate::sanitise;
use maud::{Markup, PreEscaped, html};
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Serialize)]
struct Data {
    scene: scene::SceneData,
    marks: Vec<scene::MarkData>,
    shapes: BTreeMap<&'static str, &'static str>,
}

/// A job without errors as one HTML file.
#[must_use]
pub fn check_html(job: &Job, list: &CutList) -> String {
    let title = format!("As drawn: {}", sanitise::short(&job.name, 80));
    let scene = Scene::of(job);
    let marks = plain_marks(job);
    let figures = Figures::new(&scene, &marks);
    let data = Data {
        scene: scene::data(&scene),
        marks: scene::marks(&marks),
        shapes: scene::shapes(),
    };
    let counts = format!(
        "{}, {}, {} of {} in all, {}",
        count(job.members.len(), "member"),
        count(job.joints.len(), "joint"),
        count(job.welds.len(), "weld"),
        job.units.total_length(job.weld_length()),
        job.units.mass(job.mass()),
    );
    let rows = from_centre(job);
    html::page(&Page {
        title: &title,
        body: html! {
            a.skip href="#welds" { "To the table of welds" }
            header {
                p.kind { "The frame as drawn" }
                (html::heading(&job.name))
                p.sum { (counts) }
            }
            main #main {
                section.panel aria-label="Drawing" {
                    (stills::controls(job.seen_from))
                    div #frame .frame {}
                    (stills::stills(&figures))
                }
                (dimensions(job, &figures, &rows))
                (centre_lines(job, &rows))
                (members(job))
                (cut_list(job, list))
                (welds(job))
            }
        },
        data: html::data(&data),
        scripts: [
            &FRAME_SCRIPTS[..],
            &[
                include_str!("scripts/check.js"),
                "startCheck(JSON.parse(document.getElementById(\"data\").textContent));",
            ],
        ]
        .concat(),
    })
}

/// The errors of a job file as one HTML file, each with its letter in the picture of what can be drawn.
#[must_use]
pub fn errors_html(file: &str, sketch: Option<&Job>, errors: &FileErrors) -> String {
    let title = format!("Errors in {}", sanitise::short(file, 80));
    let picture = sketch.map(|job| {
        let scene = Scene::of(job);
        let marks: Vec<Mark> = plain_marks(job);
        let flags = flags(job, errors);
        let figures = Figures::new(&scene, &marks).with_flags(&flags);
        let views = figures.views().into_iter();
        // The welds are not numbered: their numbers change when the errors are gone.
        html! {
            section.panel aria-label="Drawing" {
                p.how { "What can be drawn so far. A letter in a square stands on what the error names." }
                div.frame role="group" aria-label="Views of the frame" tabindex="0" {
                    @for (caption, view, _) in views {
                        figure { p.view { (face(caption)) } (stills::still(&figures, caption, &view, &[])) }
                    }
                }
            }
        }
    });
    let rows = errors.iter().enumerate().map(|(k, error)| {
        let (line, column) = error.line_and_column();
        html! {
            tr {
                th scope="row" { (html::mark("out-of-limits", &letter(k))) }
                td.num { (line) ":" (column) }
                td { bdi { (error.what()) } }
                td { bdi { (error.advice().unwrap_or_default()) } }
            }
        }
    });
    let table = html! {
        table {
            thead { tr {
                th scope="col" { "Error" }
                th.num scope="col" { "Line" }
                th scope="col" { "What" }
                th scope="col" { "What to do" }
            } }
            tbody { @for row in rows { (row) } }
        }
    };
    html::page(&Page {
        title: &title,
        body: html! {
            header {
                p.kind { "Errors in a job file" }
                (html::heading(file))
                p.sum { (count(errors.iter().count(), "error")) }
            }
            main #main {
                (panel("errors", "panel", "Errors", scroll("errors", table)))
                @if let Some(picture) = picture { (picture) }
            }
        },
        data: String::new(),
        scripts: Vec::new(),
    })
}

/// A, B … Z, then AA, AB and so on.
fn letter(k: usize) -> String {
    let one = |k: usize| char::from(b'A' + u8::try_from(k % 26).unwrap_or(0));
    match k / 26 {
        0 => one(k).to_string(),
        more => format!("{}{}", one(more - 1), one(k)),
    }
}

/// The letter of each error on every member that it names.
fn flags(job: &Job, errors: &FileErrors) -> Vec<Flag> {
    let mut flags = Vec::new();
    for (k, error) in errors.iter().enumerate() {
        let named = |member: &&Member| names(error.what(), &member.name);
        for member in job.members.iter().filter(named) {
            flags.push(Flag {
                at: (member.from + member.to) * 0.5,
                label: letter(k),
                title: error.what().to_owned(),
            });
        }
    }
    flags
}

/// Whether a text names a member: "bar 1" is not named by "bar 12".
#[must_use]
pub fn names(text: &str, name: &str) -> bool {
    !name.is_empty()
        && text.match_indices(name).any(|(at, _)| {
            let is_part = |c: char| c.is_alphanumeric();
            !text[..at].ends_with(is_part) && !text[at + name.len()..].starts_with(is_part)
        })
}

/// The front of the drawing with dimensions from the centre; without the numbers of welds, which would hide them.
fn dimensions(job: &Job, figures: &Figures<'_>, rows: &[FromCentre]) -> Markup {
    if rows.is_empty() {
        return Markup::default();
    }
    let view = View::FRONT;
    let mut drawing = Svg::default();
    let [width, height] = figures.draw(&mut drawing, &view, &[], [0.0, 0.0]);
    figures.dimensions(&mut drawing, &view, rows, job.units);
    let has = |level: bool| rows.iter().any(|row| (row.axis.x.abs() > 0.5) == level);
    let wide = width + if has(false) { DIMENSIONS_ROOM } else { 0.0 };
    let high = height + if has(true) { DIMENSIONS_ROOM } else { 0.0 };
    let frame = format!("0 0 {} {}", number(wide), number(high));
    let caption = match job.seen_from {
        SeenFrom::Front => face("front"),
        SeenFrom::Above => face("from above"),
    };
    panel(
        "dimensions",
        "panel keep",
        "Dimensions from the centre",
        html! {
            p.view { (caption) }
            div.frame {
                svg.figure.still viewBox=(frame) role="img" aria-label="The frame with dimensions from its centre" {
                    (PreEscaped(drawing.finish()))
                }
            }
        },
    )
}

fn centre_lines(job: &Job, rows: &[FromCentre]) -> Markup {
    let units = job.units;
    html! {
        @for (k, row) in rows.iter().enumerate() {
            @let id = format!("centre-{k}");
            @let title = format!("Centre lines, {} {}", units.length_symbol(), row.what);
            (panel(&id, "panel keep", &title, scroll(&id, html! {
                table {
                    thead { tr { th.num scope="col" { "From the middle" } th scope="col" { "Members" } } }
                    tbody { @for (mm, names) in &row.marks {
                        tr { td.num { (units.signed_length(*mm, Precision::Drawn)) } td { bdi { (names.join(", ")) } } }
                    } }
                }
            })))
        }
    }
}

fn members(job: &Job) -> Markup {
    let units = job.units;
    let table = html! {
        table {
            thead { tr {
                th scope="col" { "Member" } th scope="col" { "Section" } th.num scope="col" { "Cut length, " (units.length_symbol()) }
                th scope="col" { "Ends" } th scope="col" { "Turned" }
            } }
            tbody { @for member in &job.members {
                tr {
                    th scope="row" { bdi { (member.name) } }
                    td { (member.section.designation()) }
                    @if let Some(plate) = &member.plate {
                        td.num { "–" } td { (plate.cut_words(units)) } td { "" }
                    } @else {
                        td.num { (units.length(member.cut_length.0, Precision::Drawn)) }
                        td { (ends(member.ends)) }
                        td { (which_way(member, job.seen_from).unwrap_or_default()) }
                    }
                }
            } }
        }
    };
    panel("members", "panel", "Members", scroll("members", table))
}

fn ends(ends: [EndCut; 2]) -> String {
    let one = |end| match end {
        EndCut::Square => "square".to_owned(),
        EndCut::Mitre { degrees } => format!("{degrees:.1}°"),
    };
    ends.map(one).join(" / ")
}

fn cut_list(job: &Job, list: &CutList) -> Markup {
    let units = job.units;
    let names = |members: &[usize]| {
        let names = members
            .iter()
            .map(|&index| job.members[index].name.as_str());
        names.collect::<Vec<_>>().join(", ")
    };
    let table = html! {
        table {
            thead { tr {
                th.num scope="col" { "Pieces" } th scope="col" { "Section" } th.num scope="col" { "Length, " (units.length_symbol()) }
                th scope="col" { "Ends" } th scope="col" { "Members" }
            } }
            tbody {
                @for pieces in &list.pieces { tr {
                    td.num { (pieces.members.len()) } td { (pieces.section.designation()) }
                    td.num { (units.length(pieces.length.0, Precision::Drawn)) } td { (ends(pieces.ends)) }
                    td { bdi { (names(&pieces.members)) } }
                } }
                @for pieces in &list.plates { tr {
                    td.num { (pieces.members.len()) }
                    td { "plate " (units.length_with_unit(pieces.plate.thickness.0, Precision::Drawn)) }
                    td.num { "–" } td { (pieces.plate.cut_words(units)) } td { bdi { (names(&pieces.members)) } }
                } }
            }
        }
    };
    panel("cuts", "panel", "Cut list", scroll("cuts", table))
}

fn welds(job: &Job) -> Markup {
    let units = job.units;
    let table = html! {
        table #welds {
            thead { tr {
                th scope="col" { "No." } th scope="col" { "Weld" } th scope="col" { "Shape" }
                th.num scope="col" { "Size, " (units.length_symbol()) } th.num scope="col" { "Length, " (units.length_symbol()) }
            } }
            tbody { @for weld in &job.welds {
                @let (shape, size) = match weld.kind {
                    WeldKind::Fillet { leg } => ("fillet, leg", leg),
                    WeldKind::Butt { throat } => ("butt, throat", throat),
                };
                tr data-weld=(weld.number) {
                    th scope="row" { button type="button" aria-label={ "Weld " (weld.number) } { (html::mark("later", &weld.number.to_string())) } }
                    td { bdi { (weld.name) } }
                    td { (shape) }
                    td.num { (units.length(size.0, Precision::Drawn)) }
                    td.num { (units.length(weld.length().0, Precision::Drawn)) }
                }
            } }
        }
    };
    let how = match job.seen_from {
        SeenFrom::Front => "The front is the side towards you in the first view.",
        SeenFrom::Above => {
            "The top is the side towards you in the first view; the front is at its lower edge."
        }
    };
    panel(
        "weld-list",
        "panel",
        "Welds",
        html! { p.how { (how) } (scroll("weld-list", table)) },
    )
}
