//! The page of a correction: for each fault the ways, with a drawing of where to press, heat or shim.

use super::html::{self, Page, escape};
use crate::correct::model::{Correction, Fault, Kind, PlaceKind, Way};
use crate::drawing::svg::{Svg, number, path};
use crate::map::words;
use std::fmt::Write;

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

/// A correction as one HTML file.
#[must_use]
pub fn correction_html(correction: &Correction) -> String {
    let title = format!("Correction: {}", words::short(&correction.title, 80));
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
        "<li>All lengths in mm; ± is k = 2, about 95 %.</li></ul></section>"
    );
    if correction.faults.is_empty() {
        put!(
            out,
            "<section class=\"panel\"><h2>Nothing to mend</h2><p>All that was looked at is inside its tolerance.</p></section>"
        );
    }
    for (number, fault) in correction.faults.iter().enumerate() {
        fault_panel(&mut out, number, fault);
    }
    sizes(&mut out, correction);
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
    escape(&words::plain(text))
}

fn fault_panel(out: &mut String, number: usize, fault: &Fault) {
    put!(
        out,
        "<section class=\"panel\" aria-labelledby=\"fault-{number}\"><h2 id=\"fault-{number}\"><bdi>{}</bdi></h2>\n\
         <p class=\"big\"><b>{:+.1}</b> ± {:.1} mm {}, {:.1} tolerated</p>",
        safe(&fault.name),
        fault.change_mm,
        fault.plus_minus_mm,
        fault.known_by(),
        fault.tolerance_mm
    );
    put!(
        out,
        "<div class=\"scroll\"><table><thead><tr><th>Way</th><th>Effort</th><th>Risk</th><th>In short</th></tr></thead><tbody>"
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
            "<tr><th>{}</th><td>{effort}</td><td>{risk}</td><td>{no}{}</td></tr>",
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
            put!(out, "{}", drawing(fault, way));
        }
        for says in &way.says {
            put!(out, "<p>{}</p>", safe(says));
        }
        put!(out, "<ol>");
        for step in &way.steps {
            put!(out, "<li>{}</li>", safe(step));
        }
        put!(out, "</ol>");
        for caution in &way.cautions {
            put!(out, "<p class=\"flag\">{}</p>", safe(caution));
        }
        put!(out, "</div>");
    }
    put!(out, "</section>");
}

fn sizes(out: &mut String, correction: &Correction) {
    if correction.together.is_empty() {
        return;
    }
    put!(
        out,
        "<section class=\"panel keep\"><h2>Cut longer and pre-set together</h2><div class=\"scroll\"><table><thead><tr><th>Size</th><th class=\"num\">Asked</th><th class=\"num\">As drawn</th><th class=\"num\">Mended</th></tr></thead><tbody>"
    );
    for size in &correction.together {
        put!(
            out,
            "<tr><th>{}</th><td class=\"num\">{:.1}</td><td class=\"num\">{:.2} ± {:.2}</td><td class=\"num\">{:.2} ± {:.2}</td></tr>",
            safe(&size.name),
            size.wanted_mm,
            size.as_drawn_mm[0],
            size.as_drawn_mm[1],
            size.mended_mm[0],
            size.mended_mm[1]
        );
    }
    put!(out, "</tbody></table></div></section>");
}

const WIDTH: f64 = 1000.0;
const HEIGHT: f64 = 230.0;
const LEFT: f64 = 60.0;
/// Where the ends of the bar stand.
const LEVEL: f64 = 130.0;
/// How high the bow is drawn, whatever it is.
const RISE: f64 = 34.0;

/// The bar from the side, its bow drawn large and up (shims: its opposite bow, down the other way round), with what
/// stands where.
fn drawing(fault: &Fault, way: &Way) -> String {
    let length = fault.length_mm.max(1.0);
    let x = |at: f64| LEFT + at / length * (WIDTH - 2.0 * LEFT);
    let y = |at: f64| {
        let part = at / length;
        LEVEL - 4.0 * RISE * part * (1.0 - part)
    };
    let mut svg = Svg::default();
    let frame = format!("0 0 {WIDTH} {HEIGHT}");
    svg.open("svg", &[
        ("class", "figure callout"),
        ("viewBox", &frame),
        ("width", &number(WIDTH)),
        ("height", &number(HEIGHT)),
        ("role", "img"),
        ("aria-label", "The member from its side, its bow drawn larger than it is; the same places stand in the text"),
    ]);
    let bar: Vec<[f64; 2]> = (0..=40)
        .map(|k| length * f64::from(k) / 40.0)
        .map(|at| [x(at), y(at)])
        .collect();
    let low: Vec<[f64; 2]> = bar.iter().map(|p| [p[0], p[1] + 16.0]).collect();
    let straight = path(&[[x(0.0), LEVEL], [x(length), LEVEL]], false);
    svg.leaf("path", &[("class", "ink thin"), ("d", &straight)]);
    for line in [&bar, &low] {
        svg.leaf("path", &[("class", "ink"), ("d", &path(line, false))]);
    }
    for place in &way.places {
        let (at, top) = (x(place.at_mm), y(place.at_mm));
        let label = |svg: &mut Svg, y: f64, text: &str| {
            svg.text(
                "text",
                &[
                    ("x", &number(at)),
                    ("y", &number(y)),
                    ("text-anchor", "middle"),
                ],
                text,
            );
        };
        match place.what {
            PlaceKind::Block => {
                let wedge = [
                    [at, top + 18.0],
                    [at - 14.0, top + 44.0],
                    [at + 14.0, top + 44.0],
                ];
                svg.leaf("path", &[("class", "tip"), ("d", &path(&wedge, true))]);
                label(&mut svg, top + 64.0, &format!("{:.0}", place.at_mm));
            }
            PlaceKind::Press => {
                svg.leaf(
                    "path",
                    &[
                        ("class", "ink"),
                        ("d", &path(&[[at, top - 50.0], [at, top - 12.0]], false)),
                    ],
                );
                let tip = [
                    [at, top - 3.0],
                    [at - 8.0, top - 18.0],
                    [at + 8.0, top - 18.0],
                ];
                svg.leaf("path", &[("class", "tip"), ("d", &path(&tip, true))]);
                label(&mut svg, top - 56.0, &format!("{:.0}", place.at_mm));
            }
            PlaceKind::Heat => {
                svg.leaf(
                    "path",
                    &[
                        ("class", "bead outside"),
                        (
                            "d",
                            &path(
                                &[
                                    [at - 3.0, top - 4.0],
                                    [at + 3.0, top - 4.0],
                                    [at + 3.0, top + 4.0],
                                    [at - 3.0, top + 4.0],
                                ],
                                true,
                            ),
                        ),
                    ],
                );
            }
            PlaceKind::Shim => {
                svg.leaf(
                    "path",
                    &[
                        ("class", "ink"),
                        ("d", &path(&[[at, top + 16.0], [at, LEVEL + 16.0]], false)),
                    ],
                );
                label(&mut svg, LEVEL + 40.0, &format!("{:.1}", place.amount_mm));
                label(&mut svg, LEVEL + 60.0, &format!("at {:.0}", place.at_mm));
            }
        }
    }
    let heated: Vec<f64> = way
        .places
        .iter()
        .filter(|p| p.what == PlaceKind::Heat)
        .map(|p| p.at_mm)
        .collect();
    if let (Some(first), Some(last)) = (heated.first(), heated.last()) {
        let words = format!(
            "{} lines from {first:.0} to {last:.0}, on this side",
            heated.len()
        );
        svg.text(
            "text",
            &[
                ("x", &number(WIDTH / 2.0)),
                ("y", &number(LEVEL - RISE - 24.0)),
                ("text-anchor", "middle"),
            ],
            &words,
        );
    }
    svg.finish()
}
