//! Dimensions from the centre: a line below the frame and one at its right, with a tick at each centre line.

use super::figure::Figures;
use super::svg::{Svg, number, path};
use super::view::View;
use crate::format::Precision;
use crate::job::from_centre::FromCentre;
use crate::units::Units;

/// Room for a line with its numbers, units of the page.
pub(crate) const ROOM: f64 = 84.0;
/// From the edge of the figure to the line.
const AWAY: f64 = 10.0;
/// Numbers nearer to each other than this would overlap.
const APART: f64 = 17.0;

impl Figures<'_> {
    /// Draws them beside a view that looks at the front of the drawing, below and at the right of its place on the page.
    pub(crate) fn dimensions(&self, svg: &mut Svg, view: &View, rows: &[FromCentre], units: Units) {
        let size = self.size(view);
        for row in rows {
            let level = row.axis.x.abs() > 0.5;
            let place = |mm: f64| {
                let [x, y] = self.place_on_page(view, row.axis * (row.middle_mm + mm));
                if level { x } else { y }
            };
            let edge = if level { size[1] } else { size[0] } + AWAY;
            // Along the line and off it, on the page.
            let at = |along: f64, off: f64| {
                if level {
                    [along, edge + off]
                } else {
                    [edge + off, along]
                }
            };
            svg.open("g", &[("class", "dimensions")]);
            let ends =
                [row.marks.first(), row.marks.last()].map(|mark| mark.map_or(0.0, |m| place(m.0)));
            svg.leaf(
                "path",
                &[
                    ("class", "dimension"),
                    ("d", &path(&ends.map(|p| at(p, 0.0)), false)),
                ],
            );
            // The centre: a long stroke and the sign of a centre line.
            let centre = place(0.0);
            svg.leaf(
                "path",
                &[
                    ("class", "dimension centre"),
                    ("d", &path(&[at(centre, -22.0), at(centre, 8.0)], false)),
                ],
            );
            let mut last = f64::NEG_INFINITY;
            for (mm, names) in &row.marks {
                let along = place(*mm);
                svg.leaf(
                    "path",
                    &[
                        ("class", "dimension"),
                        ("d", &path(&[at(along, -6.0), at(along, 6.0)], false)),
                    ],
                );
                if (along - last).abs() < APART {
                    continue;
                }
                last = along;
                let [x, y] = at(along, 12.0).map(number);
                let turn = format!("rotate(90 {x} {y})");
                let attributes: &[(&str, &str)] = if level {
                    &[
                        ("class", "small"),
                        ("x", &x),
                        ("y", &y),
                        ("transform", &turn),
                        ("dominant-baseline", "central"),
                    ]
                } else {
                    &[
                        ("class", "small"),
                        ("x", &x),
                        ("y", &y),
                        ("dominant-baseline", "central"),
                    ]
                };
                let words = units.signed_length(*mm, Precision::Drawn);
                svg.open("g", &[]);
                svg.text("title", &[], &names.join(", "));
                svg.text("text", attributes, &words);
                svg.close();
            }
            svg.close();
        }
    }
}
