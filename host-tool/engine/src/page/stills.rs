//! The frame as it is drawn without a script and on paper, and the buttons that turn it where there is one.

use crate::drawing::figure::Figures;
use crate::drawing::svg::{Svg, number};
use crate::drawing::view::View;
use crate::job::model::SeenFrom;
use maud::{Markup, PreEscaped, html};

/// The drawing as a panel of a page.
pub(super) fn drawing_panel(figures: &Figures<'_>) -> Markup {
    html! {
        section.panel aria-label="Drawing" {
            (controls(figures.seen_from()))
            div #frame .frame {}
            (stills(figures))
        }
    }
}

/// The views that show every weld, for paper and for a browser that runs no script.
pub(crate) fn stills(figures: &Figures<'_>) -> Markup {
    html! {
        div.frame.stills role="group" aria-label="Views of the frame" tabindex="0" {
            @for (caption, view, numbered) in figures.views() {
                figure { p.view { (caption) } (still(figures, caption, &view, &numbered)) }
            }
        }
    }
}

pub(super) fn still(
    figures: &Figures<'_>,
    caption: &str,
    view: &View,
    numbered: &[usize],
) -> Markup {
    let mut drawing = Svg::default();
    let [width, height] = figures.draw(&mut drawing, view, numbered, [0.0, 0.0]);
    let frame = format!("0 0 {} {}", number(width), number(height));
    html! {
        svg.figure.still viewBox=(frame) role="img" aria-label={ "The frame, " (caption) } {
            (PreEscaped(drawing.finish()))
        }
    }
}

/// Attribute of a button, its value, sign and name.
const BUTTONS: [(&str, &str, &str, &str); 6] = [
    ("turn", "-15,0", "↶", "turn left"),
    ("turn", "15,0", "↷", "turn right"),
    ("turn", "0,15", "⤒", "tip forward"),
    ("turn", "0,-15", "⤓", "tip back"),
    ("zoom", "1.4", "+", "larger"),
    ("zoom", "0.714", "−", "smaller"),
];

/// Buttons that turn the drawing; shown once there is a script to obey them.
pub(super) fn controls(seen_from: SeenFrom) -> Markup {
    // What each view shows of the object as it stands.
    let names = match seen_from {
        SeenFrom::Front => ["front", "back", "top", "side", "corner"],
        SeenFrom::Above => ["above", "below", "rear", "side", "corner"],
    };
    let looks = ["front", "back", "top", "side", "corner"]
        .into_iter()
        .zip(names);
    html! {
        div #controls .controls role="group" aria-label="View" hidden {
            @for (look, name) in looks {
                button type="button" data-look=(look) aria-pressed=(look == "front") { (name) }
            }
            @for (kind, value, sign, name) in BUTTONS {
                button.sign-only type="button" data-turn=[(kind == "turn").then_some(value)]
                    data-zoom=[(kind == "zoom").then_some(value)] aria-label=(name) title=(name) { (sign) }
            }
        }
    }
}
