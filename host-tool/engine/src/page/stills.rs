//! The frame as it is drawn without a script and on paper, and the buttons that turn it where there is one.

use crate::drawing::figure::Figures;
use crate::drawing::svg::{Svg, number};
use std::fmt::Write;

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

/// The drawing as a panel of a page.
pub(super) fn drawing_panel(out: &mut String, figures: &Figures<'_>) {
    put!(
        out,
        "<section class=\"panel\" aria-label=\"Drawing\">\n{}<div id=\"frame\" class=\"frame\"></div>\n{}</section>",
        controls(),
        stills(figures)
    );
}

/// The views that show every weld, for paper and for a browser that runs no script.
pub(crate) fn stills(figures: &Figures<'_>) -> String {
    let mut out = String::from("<div class=\"frame stills\">\n");
    for (caption, view, numbered) in figures.views() {
        let mut inner = Svg::default();
        let [width, height] = figures.draw(&mut inner, &view, &numbered, [0.0, 0.0]);
        put!(
            out,
            "<figure><p class=\"view\">{caption}</p>\n<svg class=\"figure still\" viewBox=\"0 0 {} {}\" role=\"img\" \
             aria-label=\"The frame, {caption}\">\n{}</svg></figure>",
            number(width),
            number(height),
            inner.finish()
        );
    }
    out.push_str("</div>\n");
    out
}

/// Buttons that turn the drawing; shown once there is a script to obey them.
pub(super) fn controls() -> String {
    let mut out = String::new();
    put!(
        out,
        "<div class=\"controls\" id=\"controls\" role=\"group\" aria-label=\"View\" hidden>"
    );
    for (look, pressed) in [
        ("front", true),
        ("back", false),
        ("top", false),
        ("side", false),
        ("corner", false),
    ] {
        put!(
            out,
            "<button type=\"button\" data-look=\"{look}\" aria-pressed=\"{pressed}\">{look}</button>"
        );
    }
    for (attribute, value, sign, name) in [
        ("turn", "-15,0", "↶", "turn left"),
        ("turn", "15,0", "↷", "turn right"),
        ("turn", "0,15", "⤒", "tip forward"),
        ("turn", "0,-15", "⤓", "tip back"),
        ("zoom", "1.4", "+", "larger"),
        ("zoom", "0.714", "−", "smaller"),
    ] {
        put!(
            out,
            "<button type=\"button\" class=\"sign-only\" data-{attribute}=\"{value}\" aria-label=\"{name}\" title=\"{name}\">{sign}</button>"
        );
    }
    put!(out, "</div>");
    out
}
