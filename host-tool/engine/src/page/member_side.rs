//! A bowed member from its side, with the places of blocks, press, heat or shims.

use crate::correct::model::{Place, PlaceKind, RepairOption};
use crate::drawing::svg::{Svg, number, path};
use crate::format::Precision;
use crate::units::Units;

const WIDTH: f64 = 1000.0;
const HEIGHT: f64 = 230.0;
const LEFT: f64 = 60.0;
/// Height of the ends of the bar.
const LEVEL: f64 = 130.0;
/// Height of the bow as drawn, whatever its size.
const RISE: f64 = 34.0;
/// Depth of the bar as drawn.
const DEPTH: f64 = 16.0;

/// The drawing of one option. The bow is enlarged and points up; shims fill the space below it.
pub(super) fn member_side(length_mm: f64, option: &RepairOption, units: Units) -> String {
    let view = View {
        length: length_mm.max(1.0),
        units,
    };
    let mut svg = Svg::default();
    let frame = format!("0 0 {WIDTH} {HEIGHT}");
    svg.open("svg", &[
        ("class", "figure callout"),
        ("viewBox", &frame),
        ("width", &number(WIDTH)),
        ("height", &number(HEIGHT)),
        ("role", "img"),
        ("aria-label", "The member from its side, its bow drawn larger than it is; the text names the same places"),
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
    for place in &option.places {
        view.mark(&mut svg, place);
    }
    view.heated(&mut svg, option);
    svg.finish()
}

struct View {
    length: f64,
    units: Units,
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
        let station = self.units.length(place.at_mm, Precision::Mark);
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
                label(svg, [at, top + 64.0], &station);
            }
            PlaceKind::Press => {
                line(svg, "ink", &[[at, top - 50.0], [at, top - 12.0]], false);
                let tip = [
                    [at, top - 3.0],
                    [at - 8.0, top - 18.0],
                    [at + 8.0, top - 18.0],
                ];
                line(svg, "tip", &tip, true);
                label(svg, [at, top - 56.0], &station);
            }
            PlaceKind::Heat => {
                let square = [
                    [at - 3.0, top - 4.0],
                    [at + 3.0, top - 4.0],
                    [at + 3.0, top + 4.0],
                    [at - 3.0, top + 4.0],
                ];
                line(svg, "bead out-of-limits", &square, true);
            }
            PlaceKind::Shim => {
                line(svg, "ink", &[[at, top + DEPTH], [at, LEVEL + DEPTH]], false);
                label(
                    svg,
                    [at, LEVEL + 40.0],
                    &self.units.length(place.amount_mm, Precision::Drawn),
                );
                label(svg, [at, LEVEL + 60.0], &format!("at {station}"));
            }
        }
    }

    /// Where heat begins and ends.
    fn heated(&self, svg: &mut Svg, option: &RepairOption) {
        let mut at: Vec<f64> = option
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
                self.units.length(first, Precision::Mark),
                self.units.length(last, Precision::Mark)
            );
            label(svg, [WIDTH / 2.0, LEVEL - RISE - 24.0], &range);
        }
    }
}

fn label(svg: &mut Svg, [x, y]: [f64; 2], text: &str) {
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
