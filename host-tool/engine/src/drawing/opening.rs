//! The opening seen from the front, with a frame in it: what walls deviate from the frame is drawn larger than it is.

use super::sheet::Sheet;
use super::svg::{Svg, number};
use crate::format::Precision;
use crate::opening::gaps::Placed;
use crate::opening::model::{Side, Station, Walls};

/// Height or width of the frame as drawn, units of the page.
const DRAWN: f64 = 520.0;
/// Room for the gaps around the frame, and for their numbers.
const ROOM: f64 = 150.0;
/// Places with a number of their own are so far apart, mm.
const APART_MM: f64 = 150.0;
/// The largest gap is drawn so wide.
const WIDEST: f64 = 60.0;

/// A drawing of a frame in an opening, a figure for each depth at which it stays or passes.
#[must_use]
pub fn opening_svg(title: &str, walls: &Walls, placed: &Placed) -> String {
    let mut sheet = Sheet::new(title);
    let widest = placed
        .gaps
        .iter()
        .map(|one| one.gap_mm.value.abs())
        .fold(1.0, f64::max);
    let scale = WIDEST / widest;
    sheet.line("Seen from the front. Gaps are drawn larger than they are; numbers are the gaps.");
    for (depth, (_, name)) in walls.depths.iter().enumerate() {
        let gaps: Vec<(&Station, f64)> = placed
            .gaps
            .iter()
            .filter(|one| one.station.depth == depth)
            .map(|one| (&one.station, one.gap_mm.value))
            .collect();
        if gaps.is_empty() {
            continue;
        }
        sheet.line(&format!("At the {name}"));
        sheet.foot(|svg, at| figure(svg, at, walls, &gaps, scale));
    }
    sheet.finish()
}

fn figure(
    svg: &mut Svg,
    [x, y]: [f64; 2],
    walls: &Walls,
    gaps: &[(&Station, f64)],
    scale: f64,
) -> f64 {
    let far = |sides: [Side; 2]| {
        let on = gaps.iter().filter(|one| sides.contains(&one.0.side));
        on.map(|one| one.0.along_mm).fold(1.0, f64::max)
    };
    let (tall, wide) = (
        far([Side::Left, Side::Right]),
        far([Side::Floor, Side::Top]),
    );
    let wide = if wide > 1.0 { wide } else { tall / 2.0 };
    let per_mm = DRAWN / tall.max(wide);
    let (width, height) = (wide * per_mm, tall * per_mm);
    let (left, upper) = (x + ROOM, y + ROOM / 2.0);
    let place = |station: &Station, gap: f64| match station.side {
        Side::Left => [
            left - gap * scale,
            upper + height - station.along_mm * per_mm,
        ],
        Side::Right => [
            left + width + gap * scale,
            upper + height - station.along_mm * per_mm,
        ],
        Side::Floor => [
            left + station.along_mm * per_mm,
            upper + height + gap * scale,
        ],
        Side::Top => [left + station.along_mm * per_mm, upper - gap * scale],
    };
    let frame = [number(left), number(upper), number(width), number(height)];
    svg.leaf(
        "rect",
        &[
            ("class", "outline"),
            ("x", &frame[0]),
            ("y", &frame[1]),
            ("width", &frame[2]),
            ("height", &frame[3]),
        ],
    );
    for side in Side::ALL {
        let mut on: Vec<&(&Station, f64)> = gaps.iter().filter(|one| one.0.side == side).collect();
        on.sort_by(|a, b| a.0.along_mm.total_cmp(&b.0.along_mm));
        let points: Vec<[f64; 2]> = on
            .iter()
            .filter(|one| !one.0.proud)
            .map(|one| place(one.0, one.1))
            .collect();
        svg.leaf(
            "path",
            &[("class", "clamp"), ("d", &super::svg::path(&points, false))],
        );
        // The number of the tighter of two places that are close together.
        on.sort_by(|a, b| a.1.total_cmp(&b.1));
        let mut named: Vec<f64> = Vec::new();
        for (station, gap) in on {
            if named
                .iter()
                .any(|one| (one - station.along_mm).abs() < APART_MM)
            {
                continue;
            }
            named.push(station.along_mm);
            let [x, y] = place(station, *gap);
            let (anchor, [dx, dy]) = match side {
                Side::Left => ("end", [-8.0, 5.0]),
                Side::Right => ("start", [8.0, 5.0]),
                Side::Floor => ("middle", [0.0, 20.0]),
                Side::Top => ("middle", [0.0, -8.0]),
            };
            let text = walls.units.length_with_unit(*gap, Precision::Drawn);
            svg.text(
                "text",
                &[
                    ("class", "small"),
                    ("x", &number(x + dx)),
                    ("y", &number(y + dy)),
                    ("text-anchor", anchor),
                ],
                &text,
            );
        }
    }
    height + 1.5 * ROOM
}
