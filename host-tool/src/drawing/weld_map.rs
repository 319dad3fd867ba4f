//! The weld map as a drawing that stands alone: every weld numbered, its verdict told by shape and colour.

use super::figure::{Figures, Mark};
use super::palette;
use super::scene::Scene;
use super::svg::{Svg, number};
use crate::job::model::Job;
use crate::map::model::WeldMap;
use crate::map::words;
use crate::verdict::Verdict;

/// The order in which verdicts are listed: worst first.
pub const WORST_FIRST: [Verdict; 5] = [
    Verdict::Outside,
    Verdict::OnTheEdge,
    Verdict::Inside,
    Verdict::NotMeasured,
    Verdict::NoLimit,
];

/// The marks of a weld map, one a weld of the job.
#[must_use]
pub fn marks(map: &WeldMap) -> Vec<Mark> {
    map.welds
        .iter()
        .map(|weld| Mark {
            label: weld.number.to_string(),
            class: palette::class(weld.verdict),
            title: format!(
                "Weld {}, {}: {}",
                weld.number,
                words::plain(&weld.name),
                words::verdict(weld)
            ),
            arrow: false,
        })
        .collect()
}

/// How many welds have a verdict.
#[must_use]
pub fn count(map: &WeldMap, verdict: Verdict) -> usize {
    map.welds
        .iter()
        .filter(|weld| weld.verdict == verdict)
        .count()
}

/// The weld map as an SVG file: title, the views that show every weld, and what the marks mean.
#[must_use]
pub fn weld_map_svg(job: &Job, map: &WeldMap) -> String {
    let scene = Scene::of(job);
    let marks = marks(map);
    let title = format!("Weld map: {}", words::short(&map.title, 60));
    alone(&title, &Figures::new(&scene, &marks), |svg, at| {
        legend(svg, map, at)
    })
}

/// A drawing with title, views one below the other, and a foot of which `foot` gives the height.
fn alone(title: &str, figures: &Figures<'_>, foot: impl Fn(&mut Svg, [f64; 2]) -> f64) -> String {
    let mut body = Svg::default();
    body.text(
        "text",
        &[("class", "caption"), ("x", "24"), ("y", "36")],
        title,
    );
    let mut at = 52.0;
    let mut width = 700.0_f64;
    for (caption, view, numbered) in figures.views() {
        let y = number(at + 20.0);
        body.text(
            "text",
            &[("class", "small"), ("x", "24"), ("y", &y)],
            caption,
        );
        let size = figures.draw(&mut body, &view, &numbered, [0.0, at]);
        width = width.max(size[0]);
        at += size[1];
    }
    at += foot(&mut body, [24.0, at + 20.0]);
    let (width, height) = (number(width), number(at + 24.0));
    let frame = format!("0 0 {width} {height}");
    let mut svg = Svg::default();
    svg.open(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("class", "figure"),
            ("viewBox", &frame),
            ("width", &width),
            ("height", &height),
            ("role", "img"),
        ],
    );
    svg.text("title", &[], title);
    svg.style(&palette::filled_in(super::STYLE));
    svg.leaf(
        "rect",
        &[("class", "ground"), ("width", &width), ("height", &height)],
    );
    let head = svg.finish();
    let head = head.strip_suffix("</svg>\n").unwrap_or(&head);
    format!("{head}{}</svg>\n", body.finish())
}

fn legend(svg: &mut Svg, map: &WeldMap, [mut x, y]: [f64; 2]) -> f64 {
    for verdict in WORST_FIRST {
        let count = count(map, verdict);
        if count == 0 {
            continue;
        }
        let class = palette::class(verdict);
        let place = format!("translate({} {})", number(x + 18.0), number(y));
        svg.open("g", &[("class", &format!("mark {class}"))]);
        svg.leaf(
            "path",
            &[("d", palette::outline(class)), ("transform", &place)],
        );
        svg.close();
        let words = format!("{} {}", count, verdict.words());
        let (at, base) = (number(x + 46.0), number(y + 5.0));
        svg.text(
            "text",
            &[("class", "small"), ("x", &at), ("y", &base)],
            &words,
        );
        x += 70.0 + 9.0 * words.chars().count() as f64;
    }
    40.0
}
