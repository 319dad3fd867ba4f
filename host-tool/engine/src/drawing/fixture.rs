//! The fixture in plan: the table with its holes, the frame, blocks, spacers and clamps.

use super::palette;
use super::svg::{Svg, number, path};
use crate::fixture::model::{Block, BlockKind, Fixture, Grid};
use crate::fixture::text::grid_sentence;
use crate::format::Precision;
use crate::units::Units;

/// Width of the drawing, units of the page.
const WIDTH: f64 = 900.0;
/// Highest drawing; a taller frame is drawn smaller.
const MAX_HEIGHT: f64 = 1000.0;
/// Room round the frame for blocks and their numbers, mm on the table over the reach of a block.
const MARGIN_REACHES: f64 = 2.2;
/// More holes than this are not drawn.
const MAX_HOLES: f64 = 6000.0;
/// From the hole of a block to its number, units of the page.
const TO_NUMBER: f64 = 26.0;

/// The drawing as a file of its own.
#[must_use]
pub fn fixture_svg(fixture: &Fixture, units: Units) -> String {
    let sheet = Sheet::of(fixture);
    let (width, height) = (number(WIDTH), number(sheet.height + 80.0));
    let view = format!("0 0 {width} {height}");
    let mut svg = Svg::default();
    svg.open(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("class", "figure"),
            ("viewBox", &view),
            ("width", &width),
            ("height", &height),
            ("role", "img"),
        ],
    );
    svg.text("title", &[], &format!("Fixture: {}", fixture.title));
    svg.style(&palette::filled_in(super::STYLE));
    svg.leaf(
        "rect",
        &[("class", "ground"), ("width", &width), ("height", &height)],
    );
    svg.text(
        "text",
        &[("class", "caption"), ("x", "24"), ("y", "30")],
        &fixture.title,
    );
    svg.text(
        "text",
        &[("class", "small"), ("x", "24"), ("y", "52")],
        &short_grid(&fixture.grid, units),
    );
    svg.open("g", &[("transform", "translate(0,70)")]);
    draw(&mut svg, fixture);
    svg.finish()
}

fn short_grid(grid: &Grid, units: Units) -> String {
    let sentence = grid_sentence(grid, units);
    let first = sentence.split_inclusive(". ").next().unwrap_or_default();
    let reach = units.length_with_unit(grid.reach_mm, Precision::Drawn);
    format!("{first}A block reaches {reach} from its hole in its middle place.")
}

/// Where things of the table are on the page.
struct Sheet {
    scale: f64,
    /// The left and the top of what is drawn, mm from the middle of the frame.
    corner: [f64; 2],
    /// Right and bottom of it, mm.
    end: [f64; 2],
    height: f64,
}

impl Sheet {
    fn of(fixture: &Fixture) -> Self {
        let margin = MARGIN_REACHES * fixture.grid.reach_mm + fixture.grid.pitch_mm / 2.0;
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        for corner in fixture.outline.iter().flat_map(|one| one.corners) {
            for axis in 0..2 {
                low[axis] = low[axis].min(corner[axis]);
                high[axis] = high[axis].max(corner[axis]);
            }
        }
        if low[0] > high[0] {
            (low, high) = ([-100.0; 2], [100.0; 2]);
        }
        let corner = [low[0] - margin, high[1] + margin];
        let end = [high[0] + margin, low[1] - margin];
        let (wide, tall) = (end[0] - corner[0], corner[1] - end[1]);
        let scale = (WIDTH / wide).min(MAX_HEIGHT / tall);
        // A narrow frame stands in the middle of the sheet.
        let spare = (WIDTH / scale - wide) / 2.0;
        Self {
            scale,
            corner: [corner[0] - spare, corner[1]],
            end: [end[0] + spare, end[1]],
            height: tall * scale,
        }
    }

    /// A point of the table on the page: up is up.
    fn at(&self, point: [f64; 2]) -> [f64; 2] {
        [
            (point[0] - self.corner[0]) * self.scale,
            (self.corner[1] - point[1]) * self.scale,
        ]
    }
}

/// Height of the drawing without its title, units of the page.
pub(crate) fn height(fixture: &Fixture) -> f64 {
    Sheet::of(fixture).height
}

/// Draws table, frame, spacers, blocks and clamps.
pub(crate) fn draw(svg: &mut Svg, fixture: &Fixture) {
    let sheet = Sheet::of(fixture);
    holes(svg, fixture, &sheet);
    for member in &fixture.outline {
        let points = member.corners.map(|corner| sheet.at(corner));
        let d = path(&points, true);
        svg.open("g", &[]);
        svg.text("title", &[], &member.member);
        svg.leaf("path", &[("class", "plan-member"), ("d", &d)]);
        svg.close();
    }
    for corners in fixture.spacers.iter().flat_map(|spacer| &spacer.corners) {
        let d = path(&corners.map(|corner| sheet.at(corner)), true);
        svg.leaf("path", &[("class", "spacer"), ("d", &d)]);
    }
    let [x, y] = sheet.at([0.0, 0.0]);
    let cross = format!(
        "M{},{}h24M{},{}v24",
        number(x - 12.0),
        number(y),
        number(x),
        number(y - 12.0)
    );
    svg.leaf("path", &[("class", "middle"), ("d", &cross)]);
    for block in &fixture.blocks {
        draw_block(svg, fixture, &sheet, block);
    }
    for clamp in &fixture.clamps {
        let [x, y] = sheet.at(clamp.at);
        let d = format!("M{},{}h18v18h-18Z", number(x - 9.0), number(y - 9.0));
        svg.leaf("path", &[("class", "clamp"), ("d", &d)]);
        svg.text(
            "text",
            &[
                ("class", "plan-number"),
                ("x", &number(x)),
                ("y", &number(y)),
            ],
            &format!("C{}", clamp.number),
        );
    }
}

fn holes(svg: &mut Svg, fixture: &Fixture, sheet: &Sheet) {
    let grid = &fixture.grid;
    let pitch = grid.pitch_mm;
    let range =
        |low: f64, high: f64| ((low / pitch).ceil() as i32)..=((high / pitch).floor() as i32);
    let columns = range(sheet.corner[0], sheet.end[0]);
    let rows = range(sheet.end[1], sheet.corner[1]);
    let count = f64::from(columns.end() - columns.start()) * f64::from(rows.end() - rows.start());
    let used = |hole: [i32; 2]| fixture.blocks.iter().any(|block| block.hole == hole);
    for column in columns {
        for row in rows.clone() {
            let hole = [column, row];
            if !grid.has(hole) || (count > MAX_HOLES && !used(hole)) {
                continue;
            }
            let [x, y] = sheet.at(grid.at(hole));
            let radius = (grid.hole_mm / 2.0 * sheet.scale).max(1.2);
            let class = if used(hole) {
                "table-hole used"
            } else {
                "table-hole"
            };
            svg.leaf(
                "circle",
                &[
                    ("class", class),
                    ("cx", &number(x)),
                    ("cy", &number(y)),
                    ("r", &number(radius)),
                ],
            );
        }
    }
}

fn draw_block(svg: &mut Svg, fixture: &Fixture, sheet: &Sheet, block: &Block) {
    let grid = &fixture.grid;
    let aside = [-block.out[1], block.out[0]];
    let point = |out: f64, side: f64| {
        let at: [f64; 2] =
            std::array::from_fn(|k| block.touches[k] + out * block.out[k] + side * aside[k]);
        sheet.at(at)
    };
    let deep = grid.reach_mm + block.offset_mm + grid.hole_mm;
    let half = grid.hole_mm;
    let outline = match block.kind {
        // A push comes to a point: its screw.
        BlockKind::Push => vec![
            point(0.0, 0.0),
            point(deep / 3.0, half),
            point(deep, half),
            point(deep, -half),
            point(deep / 3.0, -half),
        ],
        BlockKind::Stop | BlockKind::Inside => vec![
            point(0.0, half),
            point(deep, half),
            point(deep, -half),
            point(0.0, -half),
        ],
    };
    let class = match (block.kind, block.loosen) {
        (BlockKind::Stop, None) => "block stop",
        (BlockKind::Stop, Some(_)) => "block stop loosen",
        (_, None) => "block",
        (_, Some(_)) => "block loosen",
    };
    svg.leaf("path", &[("class", class), ("d", &path(&outline, true))]);
    let [x, y] = sheet.at(grid.at(block.hole));
    let radius = number((grid.hole_mm / 2.0 * sheet.scale).max(1.2));
    svg.leaf(
        "circle",
        &[
            ("class", "table-hole used"),
            ("cx", &number(x)),
            ("cy", &number(y)),
            ("r", &radius),
        ],
    );
    let beyond = deep + TO_NUMBER / sheet.scale * 0.55;
    let [x, y] = point(beyond, 0.0);
    svg.text(
        "text",
        &[
            ("class", "plan-number"),
            ("x", &number(x)),
            ("y", &number(y)),
        ],
        &block.number.to_string(),
    );
}
