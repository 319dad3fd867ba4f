//! One view of the frame with its welds marked, as SVG.

use super::label::{self, Anchor};
use super::palette;
use super::scene::{Scene, Solid};
use super::svg::{Svg, number, path};
use super::view::{self, Between, View};
use crate::job::model::{Point, SeenFrom};

/// How a weld is marked.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Text in the mark: the number of the weld.
    pub label: String,
    /// Shape and colour, see `palette::outline` and `drawing.css`.
    pub class: &'static str,
    /// Text for a pointer or a screen reader.
    pub title: String,
    /// Whether the direction of travel is shown.
    pub arrow: bool,
}

/// A letter on a place of the frame, with what it stands for.
#[derive(Clone, Debug)]
pub struct Flag {
    /// Where.
    pub at: Point,
    /// The letter.
    pub label: String,
    /// Text for a pointer or a screen reader.
    pub title: String,
}

/// A scene ready to be drawn from any side.
pub struct Figures<'a> {
    scene: &'a Scene,
    flags: &'a [Flag],
    planes: Vec<Between>,
    marks: &'a [Mark],
}

/// Where a mark is drawn, in units of the page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Index of the weld.
    pub weld: usize,
    /// The point of the weld that its leader goes to.
    pub of: [f64; 2],
    /// Its middle.
    pub at: [f64; 2],
    /// Half its width and height.
    pub half: [f64; 2],
}

/// Room for labels around the metal, in units of the page.
const MARGIN: f64 = 62.0;
/// Largest size of the metal in a view, in units of the page.
const MAX_WIDTH: f64 = 860.0;
const MAX_HEIGHT: f64 = 640.0;

/// A frame deeper than this share of its width and height is not flat.
const DEEP: f64 = 0.25;

/// Where a view lies on the page.
struct Sheet<'v> {
    view: &'v View,
    scale: f64,
    shift: [f64; 2],
}

impl Sheet<'_> {
    fn at(&self, point: Point) -> [f64; 2] {
        let [x, y] = self.view.project(point);
        [
            x * self.scale + self.shift[0],
            y * self.scale + self.shift[1],
        ]
    }
}

impl<'a> Figures<'a> {
    /// Prepares a scene; `marks[k]` belongs to `scene.weld_lines[k]`.
    #[must_use]
    pub fn new(scene: &'a Scene, marks: &'a [Mark]) -> Self {
        Self {
            scene,
            flags: &[],
            planes: view::between(&scene.solids),
            marks,
        }
    }

    /// Where the drawing is seen from.
    #[must_use]
    pub(crate) const fn seen_from(&self) -> SeenFrom {
        self.scene.seen_from
    }

    /// The same with letters on the frame, in every view.
    #[must_use]
    pub fn with_flags(self, flags: &'a [Flag]) -> Self {
        Self { flags, ..self }
    }

    /// The views that together show every weld, each with the indices of the welds numbered in it: the front, and the
    /// back if some welds can only be seen there. Every weld is numbered exactly once. A deep frame is also shown from
    /// the corner, without numbers, so that its shape can be seen.
    #[must_use]
    pub fn views(&self) -> Vec<(&'static str, View, Vec<usize>)> {
        let all = 0..self.scene.weld_lines.len();
        let sees = |weld: usize, view: &View| view::sees(self.scene, weld, view);
        let back: Vec<usize> = all
            .clone()
            .filter(|weld| !sees(*weld, &View::FRONT) && sees(*weld, &View::BACK))
            .collect();
        let front = all.filter(|weld| !back.contains(weld)).collect();
        let [front_caption, back_caption] = match self.scene.seen_from {
            SeenFrom::Front => ["front", "back, flipped"],
            SeenFrom::Above => ["from above", "from below, flipped"],
        };
        let mut views = vec![(front_caption, View::FRONT, front)];
        if !back.is_empty() {
            views.push((back_caption, View::BACK, back));
        }
        let [low, high] = self.scene.bounds();
        let size = high - low;
        // Which way the legs of an angle point can only be seen from there, too.
        if size.z > DEEP * size.x.max(size.y) || self.scene.has_open_sections {
            let corner = match self.scene.seen_from {
                SeenFrom::Front => View::CORNER,
                SeenFrom::Above => View::STANDING,
            };
            views.push(("from the corner", corner, Vec::new()));
        }
        views
    }

    /// Draws one view with its upper left corner at `origin` and returns its size.
    pub(crate) fn draw(
        &self,
        svg: &mut Svg,
        view: &View,
        numbered: &[usize],
        origin: [f64; 2],
    ) -> [f64; 2] {
        let (sheet, size) = self.sheet(view, origin);
        svg.open("g", &[("class", "metal")]);
        for solid in view::back_to_front(self.scene, &self.planes, view) {
            metal(svg, &self.scene.solids[solid], &sheet);
        }
        svg.close();
        self.clamps(svg, &sheet);
        svg.open("g", &[("class", "weld-lines")]);
        for (weld, mark) in self.marks.iter().enumerate() {
            let hidden = !numbered.contains(&weld);
            // A weld that is numbered in another view is drawn only if it can be seen.
            if hidden && !view::sees(self.scene, weld, view) {
                continue;
            }
            self.weld_line(svg, weld, mark, &sheet);
        }
        svg.close();
        self.labels(svg, numbered, &sheet);
        self.draw_flags(svg, &sheet);
        size
    }

    fn draw_flags(&self, svg: &mut Svg, sheet: &Sheet<'_>) {
        let anchor = |flag: &Flag| Anchor {
            at: sheet.at(flag.at),
            towards: [0.0, 1.0],
            half: half_size("out-of-limits"),
        };
        let anchors: Vec<Anchor> = self.flags.iter().map(anchor).collect();
        let places = label::place(&anchors);
        for ((flag, anchor), place) in self.flags.iter().zip(&anchors).zip(places) {
            let place = place.unwrap_or(anchor.at);
            svg.open("g", &[("class", "mark out-of-limits")]);
            svg.text("title", &[], &flag.title);
            svg.leaf(
                "path",
                &[
                    ("class", "leader"),
                    ("d", &path(&[anchor.at, place], false)),
                ],
            );
            let [x, y] = place.map(number);
            let transform = format!("translate({x} {y})");
            let shape = palette::outline("out-of-limits");
            svg.leaf("path", &[("d", shape), ("transform", &transform)]);
            svg.text("text", &[("x", &x), ("y", &y)], &flag.label);
            svg.close();
        }
    }

    /// Where a point is on the page in a view whose upper left corner is the origin.
    pub(super) fn place_on_page(&self, view: &View, point: Point) -> [f64; 2] {
        self.sheet(view, [0.0, 0.0]).0.at(point)
    }

    /// Size of a view on the page.
    pub(super) fn size(&self, view: &View) -> [f64; 2] {
        self.sheet(view, [0.0, 0.0]).1
    }

    fn sheet<'v>(&self, view: &'v View, origin: [f64; 2]) -> (Sheet<'v>, [f64; 2]) {
        let (low, high) = flat_bounds(self.scene, view);
        let (width, height) = ((high[0] - low[0]).max(1.0), (high[1] - low[1]).max(1.0));
        let scale = (MAX_WIDTH / width).min(MAX_HEIGHT / height);
        let size = [width * scale + 2.0 * MARGIN, height * scale + 2.0 * MARGIN];
        let shift = [
            origin[0] + MARGIN - low[0] * scale,
            origin[1] + MARGIN - low[1] * scale,
        ];
        (Sheet { view, scale, shift }, size)
    }

    fn clamps(&self, svg: &mut Svg, sheet: &Sheet<'_>) {
        for clamp in &self.scene.clamps {
            let [x, y] = sheet.at(*clamp).map(number);
            let jaws = "M-13,-9H-7M-13,-9V9H-7M13,-9H7M13,-9V9H7";
            let place = format!("translate({x} {y})");
            svg.leaf(
                "path",
                &[("class", "clamp"), ("d", jaws), ("transform", &place)],
            );
        }
    }

    fn weld_line(&self, svg: &mut Svg, weld: usize, mark: &Mark, sheet: &Sheet<'_>) {
        let Some(line) = self.scene.weld_lines.get(weld) else {
            return;
        };
        let [from, to] = [sheet.at(line.from), sheet.at(line.to)];
        let class = format!("weld-line {}", mark.class);
        svg.leaf(
            "path",
            &[("class", &class), ("d", &path(&[from, to], false))],
        );
        if mark.arrow {
            let head = arrow(from, to);
            svg.leaf("path", &[("class", "direction"), ("d", &path(&head, true))]);
        }
    }

    /// Places of the marks in a view whose upper left corner is the origin; no two overlap.
    #[must_use]
    pub fn placed(&self, view: &View, numbered: &[usize]) -> Vec<Placed> {
        self.placed_on(numbered, &self.sheet(view, [0.0, 0.0]).0)
    }

    fn placed_on(&self, numbered: &[usize], sheet: &Sheet<'_>) -> Vec<Placed> {
        let anchors: Vec<Anchor> = numbered
            .iter()
            .map(|weld| self.anchor(*weld, sheet))
            .collect();
        let places = label::place(&anchors);
        let found = numbered.iter().zip(&anchors).zip(places);
        found
            .filter_map(|((weld, anchor), at)| {
                Some(Placed {
                    weld: *weld,
                    of: anchor.at,
                    at: at?,
                    half: anchor.half,
                })
            })
            .collect()
    }

    fn labels(&self, svg: &mut Svg, numbered: &[usize], sheet: &Sheet<'_>) {
        for placed in self.placed_on(numbered, sheet) {
            let Some(mark) = self.marks.get(placed.weld) else {
                continue;
            };
            let number_of_weld = (placed.weld + 1).to_string();
            let class = match mark.label.chars().count() {
                0..3 => format!("mark {}", mark.class),
                _ => format!("mark three {}", mark.class),
            };
            svg.open("g", &[("class", &class), ("data-weld", &number_of_weld)]);
            svg.text("title", &[], &mark.title);
            let leader = path(&[placed.of, placed.at], false);
            svg.leaf("path", &[("class", "leader"), ("d", &leader)]);
            let [x, y] = placed.at.map(number);
            let transform = format!("translate({x} {y})");
            let shape = palette::outline(mark.class);
            svg.leaf("path", &[("d", shape), ("transform", &transform)]);
            svg.text("text", &[("x", &x), ("y", &y)], &mark.label);
            svg.close();
        }
    }

    fn anchor(&self, weld: usize, sheet: &Sheet<'_>) -> Anchor {
        let line = &self.scene.weld_lines[weld];
        let [low, high] = self.scene.bounds();
        let from_middle = line.middle() - (low + high) * 0.5;
        let mut towards = sheet.view.project(line.outward);
        if towards[0].hypot(towards[1]) < 0.2 {
            towards = sheet.view.project(from_middle);
        }
        Anchor {
            at: sheet.at(line.middle()),
            towards,
            half: half_size(self.marks.get(weld).map_or("", |mark| mark.class)),
        }
    }
}

/// Half the width and height of a mark, with its line.
#[must_use]
pub(crate) fn half_size(class: &str) -> [f64; 2] {
    match class {
        "marginal" => [20.5, 16.0],
        "next" => [21.0, 16.0],
        _ => [15.0, 15.0],
    }
}

fn metal(svg: &mut Svg, solid: &Solid, sheet: &Sheet<'_>) {
    let seen = |face: usize| {
        let face = &solid.faces[face];
        face.drawn && face.normal.dot(sheet.view.toward) > 1e-6
    };
    let corner = |vertex: &usize| sheet.at(solid.vertices[*vertex]);
    for (k, face) in solid.faces.iter().enumerate().filter(|(k, _)| seen(*k)) {
        let corners: Vec<[f64; 2]> = face.corners.iter().map(corner).collect();
        let class = format!("m{}", shade(face.normal, sheet.view));
        svg.leaf("path", &[("class", &class), ("d", &path(&corners, true))]);
        for (_, hollow) in solid.hollows.iter().filter(|(on, _)| *on == k) {
            let corners: Vec<[f64; 2]> = hollow.iter().map(|p| sheet.at(*p)).collect();
            svg.leaf("path", &[("class", "hollow"), ("d", &path(&corners, true))]);
        }
    }
    let outline: String = solid
        .edges
        .iter()
        .filter(|edge| {
            let [a, b] = edge.faces.map(seen);
            if edge.smooth { a != b } else { a || b }
        })
        .map(|edge| path(&[corner(&edge.from), corner(&edge.to)], false))
        .collect();
    svg.leaf("path", &[("class", "outline"), ("d", &outline)]);
}

/// From 1 for a face in full light to 5 for one in shade; the light comes over the reader's left shoulder.
fn shade(normal: Point, view: &View) -> usize {
    let light = view.right * -0.4 + view.up * 0.6 + view.toward * 0.7;
    let lit = normal.dot(light) / light.length();
    ((1.0 - lit) * 4.0).clamp(0.0, 4.0).round() as usize + 1
}

/// A head at the end of a line of travel.
fn arrow(from: [f64; 2], to: [f64; 2]) -> [[f64; 2]; 3] {
    let length = (to[0] - from[0]).hypot(to[1] - from[1]).max(1e-9);
    let along = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
    let across = [-along[1], along[0]];
    let tip = [to[0] + 9.0 * along[0], to[1] + 9.0 * along[1]];
    let base = [to[0] - 5.0 * along[0], to[1] - 5.0 * along[1]];
    [
        tip,
        [base[0] + 8.0 * across[0], base[1] + 8.0 * across[1]],
        [base[0] - 8.0 * across[0], base[1] - 8.0 * across[1]],
    ]
}

fn flat_bounds(scene: &Scene, view: &View) -> ([f64; 2], [f64; 2]) {
    let corners = scene.solids.iter().flat_map(|solid| solid.vertices.iter());
    let weld_lines = scene
        .weld_lines
        .iter()
        .flat_map(|line| [&line.from, &line.to]);
    let start = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    let (low, high) = corners.chain(weld_lines).fold(start, |(low, high), point| {
        let [x, y] = view.project(*point);
        (
            [low[0].min(x), low[1].min(y)],
            [high[0].max(x), high[1].max(y)],
        )
    });
    if low[0].is_finite() {
        (low, high)
    } else {
        ([0.0; 2], [0.0; 2])
    }
}
