//! Drawings at full size on A4 or Letter: cut into tiles that overlap, with crosses to lay on each other and a square to
//! check the printer by.
//!
//! A drawing is SVG in millimetres. Long strips are stacked, several tiles to a sheet; what is higher than a sheet gets
//! rows of tiles as well. Each sheet is one SVG of the size of the paper, so that it prints 1:1 wherever the printer does
//! not scale; the check square says whether it did.

use super::html;
use crate::drawing::svg::{Svg, mm};
use crate::sanitise;
use crate::units::Units;
use coldsquare_core::units::MILLIMETRES_PER_INCH;
use maud::{Markup, PreEscaped, html};

/// Edge of the paper that no printer needs to reach, mm.
const MARGIN_MM: f64 = 12.0;
/// How far tiles overlap, mm; the crosses are in the middle of it.
const OVERLAP_MM: f64 = 12.0;
/// Room for the heading and the scale of a sheet, mm.
const HEAD_MM: f64 = 9.0;
const FOOT_MM: f64 = 9.0;
/// Between strips on a sheet, mm.
const BETWEEN_MM: f64 = 5.0;
/// Half of a cross, mm.
const CROSS_MM: f64 = 3.0;

/// A paper size, used on its side.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "clap", derive(clap::ValueEnum))]
pub enum Paper {
    /// 297 × 210 mm (ISO 216).
    #[default]
    A4,
    /// 11 × 8.5 in (ANSI/ASME Y14.1).
    Letter,
}

impl Paper {
    /// Width and height on its side, mm.
    #[must_use]
    pub const fn size_mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [297.0, 210.0],
            Self::Letter => [11.0 * MILLIMETRES_PER_INCH, 8.5 * MILLIMETRES_PER_INCH],
        }
    }

    /// Its name, as in CSS and on the page.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "Letter",
        }
    }
}

/// A drawing to print at full size.
#[derive(Clone, Debug)]
pub struct FullSize {
    /// What it is, printed on each of its sheets.
    pub title: String,
    /// Width, mm.
    pub width_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Its SVG elements, in mm, in the classes of tiles.css.
    pub(crate) body: String,
}

/// A window on a drawing.
struct Tile<'d> {
    drawing: &'d FullSize,
    columns: usize,
    rows: usize,
    from: [f64; 2],
    size: [f64; 2],
    /// From one tile to the next.
    pitch: [f64; 2],
}

/// What is to be said beside the sheets.
#[derive(Clone, Debug)]
pub struct Cover<'c> {
    /// Title of the window and heading.
    pub title: &'c str,
    /// Sentences above the sheets, for the screen and the first sheet.
    pub sentences: &'c [String],
    /// Units of the check square.
    pub units: Units,
}

/// All drawings as one page to print at 100 %.
#[must_use]
pub fn full_size_html(cover: &Cover<'_>, drawings: &[FullSize], paper: Paper) -> String {
    let sheets = sheets(drawings, paper);
    let count = sheets.len() + 1;
    let [width, height] = paper.size_mm();
    let style = format!(
        "{}@page{{size:{} {};margin:0}}\n",
        include_str!("tiles.css"),
        css_mm(width),
        css_mm(height)
    );
    let body = html! {
        header.screen {
            h1 { (cover.title) }
            @for sentence in cover.sentences { p { (sentence) } }
        }
        main {
            (first_sheet(cover, paper, count))
            @for (index, tiles) in sheets.iter().enumerate() {
                (sheet(tiles, paper, index + 2, count))
            }
        }
    };
    html::bare(cover.title, &style, &body)
}

fn css_mm(value: f64) -> String {
    format!("{}mm", mm(value))
}

/// The tiles of each sheet.
fn sheets(drawings: &[FullSize], paper: Paper) -> Vec<Vec<Tile<'_>>> {
    let [width, height] = paper.size_mm();
    let room = [
        width - 2.0 * MARGIN_MM,
        height - 2.0 * MARGIN_MM - HEAD_MM - FOOT_MM,
    ];
    let mut sheets: Vec<Vec<Tile<'_>>> = Vec::new();
    for drawing in drawings {
        let mut left = 0.0;
        for tile in tiles(drawing, room) {
            let high = tile.size[1] + BETWEEN_MM;
            match sheets.last_mut() {
                Some(last) if left >= high - BETWEEN_MM => last.push(tile),
                _ => {
                    sheets.push(vec![tile]);
                    left = room[1];
                }
            }
            left -= high;
        }
    }
    sheets
}

fn tiles(drawing: &FullSize, room: [f64; 2]) -> Vec<Tile<'_>> {
    let count = |size: f64, room: f64| {
        let more = ((size - OVERLAP_MM) / (room - OVERLAP_MM)).ceil();
        if size <= room {
            1
        } else {
            more.max(1.0) as usize
        }
    };
    let (columns, rows) = (
        count(drawing.width_mm, room[0]),
        count(drawing.height_mm, room[1]),
    );
    let each = (0..rows).flat_map(move |row| (0..columns).map(move |column| (row, column)));
    each.map(|(row, column)| {
        let pitch = room.map(|room| room - OVERLAP_MM);
        let from = [column as f64 * pitch[0], row as f64 * pitch[1]];
        let size = [
            (drawing.width_mm - from[0]).min(room[0]),
            (drawing.height_mm - from[1]).min(room[1]),
        ];
        Tile {
            drawing,
            columns,
            rows,
            from,
            size,
            pitch,
        }
    })
    .collect()
}

/// The first sheet: what to do, and the square to measure.
fn first_sheet(cover: &Cover<'_>, paper: Paper, count: usize) -> Markup {
    let (side, words) = match cover.units {
        Units::Metric => (100.0, "This square is 100 mm wide and high."),
        Units::UsCustomary => (
            4.0 * MILLIMETRES_PER_INCH,
            "This square is 4 in wide and high.",
        ),
    };
    let mut svg = open(paper);
    let (x, y) = (MARGIN_MM, MARGIN_MM + HEAD_MM);
    svg.text(
        "text",
        &[
            ("class", "head"),
            ("x", &mm(x)),
            ("y", &mm(MARGIN_MM + 5.0)),
        ],
        &format!("{}, sheet 1 of {count}", cover.title),
    );
    svg.leaf(
        "rect",
        &[
            ("class", "line check"),
            ("x", &mm(x)),
            ("y", &mm(y)),
            ("width", &mm(side)),
            ("height", &mm(side)),
        ],
    );
    let lines = [
        words,
        "Measure it. If it is not, print again at 100 %,",
        "without \"fit to page\".",
        "",
        "Cut each sheet along its right edge line, or fold it,",
        "and lay crosses of the same name on each other.",
        "Tape them from the middle outwards.",
    ];
    for (k, line) in lines.iter().enumerate() {
        let y = mm(y + 6.0 + 6.5 * k as f64);
        svg.text(
            "text",
            &[("class", "head"), ("x", &mm(x + side + 6.0)), ("y", &y)],
            line,
        );
    }
    let mut below = y + side + 8.0;
    for sentence in cover.sentences {
        for line in folded(sentence, 100) {
            svg.text(
                "text",
                &[("class", "small"), ("x", &mm(x)), ("y", &mm(below))],
                &line,
            );
            below += 5.0;
        }
    }
    named(svg, cover.title)
}

/// Words in lines of at most so many letters.
fn folded(text: &str, letters: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines
            .last_mut()
            .filter(|line| line.chars().count() + word.chars().count() < letters);
        match last {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) => {
                line.push(' ');
                line.push_str(word);
            }
            None => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A sheet under its name.
fn named(svg: Svg, name: &str) -> Markup {
    html! { div.sheet role="group" aria-label=(name) { (PreEscaped(svg.finish())) } }
}

/// An SVG of the size of the paper.
fn open(paper: Paper) -> Svg {
    let [width, height] = paper.size_mm();
    // A hair less high than the paper, so that rounding never makes an empty sheet.
    let height = height - 0.4;
    let mut svg = Svg::default();
    svg.open(
        "svg",
        &[
            ("width", &css_mm(width)),
            ("height", &css_mm(height)),
            ("viewBox", &format!("0 0 {} {}", mm(width), mm(height))),
            ("role", "img"),
        ],
    );
    svg
}

fn sheet(tiles: &[Tile<'_>], paper: Paper, number: usize, count: usize) -> Markup {
    let mut svg = open(paper);
    let [width, height] = paper.size_mm();
    let title = tiles.first().map_or("", |tile| tile.drawing.title.as_str());
    svg.text(
        "text",
        &[
            ("class", "head"),
            ("x", &mm(MARGIN_MM)),
            ("y", &mm(MARGIN_MM + 5.0)),
        ],
        &format!("{}, sheet {number} of {count}", sanitise::short(title, 90)),
    );
    let mut y = MARGIN_MM + HEAD_MM;
    for tile in tiles {
        draw(&mut svg, tile, y);
        y += tile.size[1] + BETWEEN_MM;
    }
    scale(&mut svg, height - MARGIN_MM - 2.0, width);
    named(svg, title)
}

/// A bar of 100 mm on every sheet.
fn scale(svg: &mut Svg, y: f64, width: f64) {
    let x = width - MARGIN_MM - 100.0;
    let bar = format!(
        "M{} {y}h100M{} {}v3M{} {}v3",
        mm(x),
        mm(x),
        mm(y - 1.5),
        mm(x + 100.0),
        mm(y - 1.5),
        y = mm(y)
    );
    svg.leaf("path", &[("class", "line"), ("d", &bar)]);
    svg.text(
        "text",
        &[
            ("class", "small"),
            ("x", &mm(x - 48.0)),
            ("y", &mm(y + 1.0)),
        ],
        "check: 100 mm (3 15/16 in)",
    );
}

fn draw(svg: &mut Svg, tile: &Tile<'_>, y: f64) {
    let [x0, y0] = tile.from;
    let [width, height] = tile.size;
    svg.open(
        "svg",
        &[
            ("x", &mm(MARGIN_MM)),
            ("y", &mm(y)),
            ("width", &mm(width)),
            ("height", &mm(height)),
            (
                "viewBox",
                &format!("{} {} {} {}", mm(x0), mm(y0), mm(width), mm(height)),
            ),
        ],
    );
    svg.raw(&tile.drawing.body);
    // Crosses in the middle of each overlap, near both ends of the seam.
    let seam = |k: usize, pitch: f64| k as f64 * pitch + OVERLAP_MM / 2.0;
    let ends = |size: f64| [CROSS_MM + 0.5, size - CROSS_MM - 0.5];
    for k in 1..tile.columns {
        for (end, letter) in ends(height).into_iter().zip(["a", "b"]) {
            cross(
                svg,
                [seam(k, tile.pitch[0]), y0 + end],
                &format!("{k}{letter}"),
            );
        }
    }
    for k in 1..tile.rows {
        for (end, letter) in ends(width).into_iter().zip(["c", "d"]) {
            cross(
                svg,
                [x0 + end, seam(k, tile.pitch[1])],
                &format!("{k}{letter}"),
            );
        }
    }
    svg.close();
    let frame = [mm(MARGIN_MM), mm(y), mm(width), mm(height)];
    svg.leaf(
        "rect",
        &[
            ("class", "edge"),
            ("x", &frame[0]),
            ("y", &frame[1]),
            ("width", &frame[2]),
            ("height", &frame[3]),
        ],
    );
}

fn cross(svg: &mut Svg, [x, y]: [f64; 2], name: &str) {
    let path = format!(
        "M{} {y}h{size}M{x} {}v{size}",
        mm(x - CROSS_MM),
        mm(y - CROSS_MM),
        x = mm(x),
        y = mm(y),
        size = mm(2.0 * CROSS_MM)
    );
    svg.leaf("path", &[("class", "line cross"), ("d", &path)]);
    svg.text(
        "text",
        &[("class", "small"), ("x", &mm(x + 1.0)), ("y", &mm(y + 3.4))],
        name,
    );
}
