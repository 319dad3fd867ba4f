//! The timeline of the build: when the arc burned and how long it was out, in rows like lined paper.

use crate::drawing::palette;
use crate::drawing::svg::{Svg, number};
use crate::map::model::{MappedBead, Role, WeldMap};
use crate::verdict::Verdict;

/// Possible lengths of a row, s.
const ROWS: [f64; 9] = [
    30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0,
];
/// Most rows.
const MAX_ROWS: f64 = 16.0;
const WIDTH: f64 = 1100.0;
const LEFT: f64 = 78.0;
const HEIGHT: f64 = 58.0;

/// The drawing, or nothing for a log without beads.
pub(super) fn svg(map: &WeldMap) -> Option<String> {
    let first = map.beads.first()?.start.0;
    let last = map.beads.last()?.end.0;
    let row = row_length(map, last - first);
    let rows = ((last - first) / row).floor().max(0.0) as usize + 1;
    let mut svg = Svg::default();
    let (width, height) = (number(WIDTH), number(rows as f64 * HEIGHT + 8.0));
    let frame = format!("0 0 {width} {height}");
    let label = "When each bead was welded; the table of beads has the same times";
    svg.open(
        "svg",
        &[
            ("class", "figure time"),
            ("viewBox", &frame),
            ("width", &width),
            ("height", &height),
            ("role", "img"),
            ("aria-label", label),
        ],
    );
    for k in 0..rows {
        rule(&mut svg, k, k as f64 * row);
    }
    let mut free = vec![f64::NEG_INFINITY; rows];
    for bead in &map.beads {
        draw(&mut svg, map, bead, (first, row), &mut free);
    }
    Some(svg.finish())
}

fn row_length(map: &WeldMap, total: f64) -> f64 {
    let mut times: Vec<f64> = map
        .beads
        .iter()
        .filter(|bead| matches!(bead.role, Role::Weld { .. }))
        .map(|bead| bead.arc_time.0)
        .collect();
    times.sort_by(f64::total_cmp);
    // Half of the welds should be wide enough for their number.
    let usual = times.get(times.len() / 2).copied().unwrap_or(10.0);
    let wanted = usual * (WIDTH - LEFT) / 26.0;
    let fits = |row: &&f64| **row >= total / MAX_ROWS && **row * 1.5 >= wanted.min(total);
    ROWS.iter()
        .find(fits)
        .copied()
        .unwrap_or((total / MAX_ROWS).max(1.0))
}

fn rule(svg: &mut Svg, row: usize, time: f64) {
    let y = row as f64 * HEIGHT + 44.0;
    let line = format!("M{},{}H{}", number(LEFT), number(y), number(WIDTH));
    svg.leaf("path", &[("class", "rule"), ("d", &line)]);
    let (minutes, seconds) = ((time / 60.0).floor(), (time % 60.0).round());
    let clock = format!("{minutes:.0}:{seconds:02.0}");
    let at = number(y + 5.0);
    svg.text(
        "text",
        &[("class", "clock"), ("x", "0"), ("y", &at)],
        &clock,
    );
}

fn draw(
    svg: &mut Svg,
    map: &WeldMap,
    bead: &MappedBead,
    (first, row): (f64, f64),
    free: &mut [f64],
) {
    let scale = (WIDTH - LEFT) / row;
    let (class, weld) = match bead.role {
        Role::Weld { weld, .. } => (verdict_of(map, weld), Some(weld)),
        Role::Replaced { .. } => ("replaced", None),
        Role::Tack => ("tack", None),
        Role::Scrap | Role::Extra => ("extra", None),
    };
    let (start, end) = (bead.start.0 - first, bead.end.0 - first);
    let row_of = |time: f64| (time / row).floor().max(0.0) as usize;
    // A bead that passes the end of a row continues in the next.
    for k in row_of(start)..=row_of(end).min(free.len() - 1) {
        let (left, right) = (k as f64 * row, (k + 1) as f64 * row);
        let x = LEFT + (start.max(left) - left) * scale;
        let width = ((end.min(right) - start.max(left)) * scale).max(2.0);
        let y = k as f64 * HEIGHT;
        let (px, py, pw) = (number(x), number(y + 30.0), number(width));
        let name = format!("arc {class}");
        let key = weld.map(|weld| weld.to_string());
        let mut attributes = vec![
            ("class", name.as_str()),
            ("x", &px),
            ("y", &py),
            ("width", &pw),
            ("height", "14"),
        ];
        attributes.extend(key.as_ref().map(|key| ("data-weld", key.as_str())));
        svg.leaf("rect", &attributes);
        let Some(key) = key.filter(|_| k == row_of(start)) else {
            continue;
        };
        let half = 5.0 * key.len() as f64;
        let middle = (x + width / 2.0).max(LEFT + half);
        if middle - half > free[k] + 3.0 {
            let (mx, my) = (number(middle), number(y + 24.0));
            let name = format!("number {class}");
            svg.text("text", &[("class", &name), ("x", &mx), ("y", &my)], &key);
            free[k] = middle + half;
        }
    }
}

fn verdict_of(map: &WeldMap, weld: u16) -> &'static str {
    let weld = map.welds.get(usize::from(weld).wrapping_sub(1));
    palette::class(weld.map_or(Verdict::NotMeasured, |weld| weld.verdict))
}
