//! A bowed member from its side, with what stands where: blocks, press, heat or shims.

use crate::correct::model::{Place, PlaceKind, Way};
use crate::correct::show::Show;
use crate::drawing::svg::{Svg, number, path};

const WIDTH: f64 = 1000.0;
const HEIGHT: f64 = 230.0;
const LEFT: f64 = 60.0;
/// Where the ends of the bar stand.
const LEVEL: f64 = 130.0;
/// How high the bow is drawn, whatever it is.
const RISE: f64 = 34.0;
/// How deep the bar is drawn.
const DEPTH: f64 = 16.0;

/// The drawing of one way. The bow is drawn large and up; shims fill what is below it.
pub(super) fn member_side(length_mm: f64, way: &Way, show: Show) -> String {
    let view = View {
        length: length_mm.max(1.0),
        show,
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
    let line = |lower: f64| -> Vec<[f64; 2]> {
        let stations = (0..=40).map(|k| view.length * f64::from(k) / 40.0);
        stations
            .map(|at| [view.x(at), view.y(at) + lower])
            .collect()
    };
    let straight = [[view.x(0.0), LEVEL], [view.x(view.length), LEVEL]];
    svg.leaf(
        "path",
        &[("class", "ink thin"), ("d", &path(&straight, false))],
    );
    for lower in [0.0, DEPTH] {
        svg.leaf(
            "path",
            &[("class", "ink"), ("d", &path(&line(lower), false))],
        );
    }
    for place in &way.places {
        view.mark(&mut svg, place);
    }
    view.heated(&mut svg, way);
    svg.finish()
}

struct View {
    length: f64,
    show: Show,
}

impl View {
    fn x(&self, at: f64) -> f64 {
        LEFT + at / self.length * (WIDTH - 2.0 * LEFT)
    }

    /// Upper edge of the bar.
    fn y(&self, at: f64) -> f64 {
        let part = at / self.length;
        LEVEL - 4.0 * RISE * part * (1.0 - part)
    }

    fn mark(&self, svg: &mut Svg, place: &Place) {
        let (at, top) = (self.x(place.at_mm), self.y(place.at_mm));
        let station = self.show.place(place.at_mm);
        let line = |svg: &mut Svg, class, points: &[[f64; 2]], closed| {
            svg.leaf("path", &[("class", class), ("d", &path(points, closed))]);
        };
        match place.what {
            PlaceKind::Block => {
                let wedge = [
                    [at, top + 18.0],
                    [at - 14.0, top + 44.0],
                    [at + 14.0, top + 44.0],
                ];
                line(svg, "tip", &wedge, true);
                words(svg, [at, top + 64.0], &station);
            }
            PlaceKind::Press => {
                line(svg, "ink", &[[at, top - 50.0], [at, top - 12.0]], false);
                let tip = [
                    [at, top - 3.0],
                    [at - 8.0, top - 18.0],
                    [at + 8.0, top - 18.0],
                ];
                line(svg, "tip", &tip, true);
                words(svg, [at, top - 56.0], &station);
            }
            PlaceKind::Heat => {
                let square = [
                    [at - 3.0, top - 4.0],
                    [at + 3.0, top - 4.0],
                    [at + 3.0, top + 4.0],
                    [at - 3.0, top + 4.0],
                ];
                line(svg, "bead outside", &square, true);
            }
            PlaceKind::Shim => {
                line(svg, "ink", &[[at, top + DEPTH], [at, LEVEL + DEPTH]], false);
                words(svg, [at, LEVEL + 40.0], &self.show.gap(place.amount_mm));
                words(svg, [at, LEVEL + 60.0], &format!("at {station}"));
            }
        }
    }

    /// Where heat begins and ends.
    fn heated(&self, svg: &mut Svg, way: &Way) {
        let mut at: Vec<f64> = way
            .places
            .iter()
            .filter(|place| place.what == PlaceKind::Heat)
            .map(|place| place.at_mm)
            .collect();
        at.sort_by(f64::total_cmp);
        if let (Some(&first), Some(&last)) = (at.first(), at.last()) {
            let range = format!(
                "{} places from {} to {}, on this side",
                at.len(),
                self.show.place(first),
                self.show.place(last)
            );
            words(svg, [WIDTH / 2.0, LEVEL - RISE - 24.0], &range);
        }
    }
}

fn words(svg: &mut Svg, [x, y]: [f64; 2], text: &str) {
    svg.text(
        "text",
        &[
            ("x", &number(x)),
            ("y", &number(y)),
            ("text-anchor", "middle"),
        ],
        text,
    );
}
