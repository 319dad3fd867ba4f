//! The scene as data for the script that draws and turns it.

use crate::drawing::figure::{self, Mark};
use crate::drawing::scene::Scene;
use crate::drawing::{palette, view};
use crate::job::model::Point;
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Serialize)]
pub(super) struct SceneData {
    solids: Vec<SolidData>,
    weld_lines: Vec<[f64; 9]>,
    /// Member that each weld moves with.
    on: Vec<usize>,
    /// Width of each weld seen from its face, mm.
    widths: Vec<f64>,
    clamps: Vec<f64>,
    /// Directions of the planes between solids.
    planes: Vec<[f64; 3]>,
    /// First solid, second solid, plane.
    between: Vec<[usize; 3]>,
}

#[derive(Serialize)]
struct SolidData {
    member: usize,
    vertices: Vec<f64>,
    faces: Vec<FaceData>,
    /// From, to, face, face, smooth.
    edges: Vec<[usize; 5]>,
    openings: Vec<(usize, Vec<f64>)>,
}

#[derive(Serialize)]
struct FaceData {
    corners: Vec<usize>,
    normal: [f64; 3],
    drawn: bool,
}

#[derive(Serialize)]
pub(super) struct MarkData {
    pub label: String,
    pub class: &'static str,
    pub title: String,
    half: [f64; 2],
    arrow: bool,
}

pub(super) fn marks(marks: &[Mark]) -> Vec<MarkData> {
    marks
        .iter()
        .map(|mark| MarkData {
            label: mark.label.clone(),
            class: mark.class,
            title: mark.title.clone(),
            half: figure::half_size(mark.class),
            arrow: mark.arrow,
        })
        .collect()
}

pub(super) fn shapes() -> BTreeMap<&'static str, &'static str> {
    [
        "within-limits",
        "marginal",
        "out-of-limits",
        "not-measured",
        "no-limit",
        "next",
        "done",
        "later",
    ]
    .map(|class| (class, palette::outline(class)))
    .into()
}

pub(super) fn data(scene: &Scene) -> SceneData {
    let flat = |points: &[Point]| points.iter().flat_map(|p| short(*p)).collect::<Vec<f64>>();
    let solids = scene.solids.iter().map(|solid| SolidData {
        member: solid.member,
        vertices: flat(&solid.vertices),
        faces: solid
            .faces
            .iter()
            .map(|face| FaceData {
                corners: face.corners.clone(),
                normal: direction(face.normal),
                drawn: face.drawn,
            })
            .collect(),
        edges: solid
            .edges
            .iter()
            .map(|e| [e.from, e.to, e.faces[0], e.faces[1], usize::from(e.smooth)])
            .collect(),
        openings: solid
            .hollows
            .iter()
            .map(|(on, corners)| (*on, flat(corners)))
            .collect(),
    });
    let weld_lines = scene.weld_lines.iter().map(|line| {
        let ([a, b, c], [d, e, f]) = (short(line.from), short(line.to));
        let [g, h, i] = direction(line.outward);
        [a, b, c, d, e, f, g, h, i]
    });
    let mut planes: Vec<[f64; 3]> = Vec::new();
    let between = view::between(&scene.solids).into_iter().map(|plane| {
        let normal = direction(plane.normal);
        let known = planes.iter().position(|known| *known == normal);
        let index = known.unwrap_or_else(|| {
            planes.push(normal);
            planes.len() - 1
        });
        [plane.first, plane.second, index]
    });
    let between = between.collect();
    SceneData {
        solids: solids.collect(),
        weld_lines: weld_lines.collect(),
        on: scene.weld_lines.iter().map(|line| line.member).collect(),
        widths: scene
            .weld_lines
            .iter()
            .map(|line| round(line.width_mm, 10.0))
            .collect(),
        clamps: flat(&scene.clamps),
        planes,
        between,
    }
}

/// To a hundredth of a millimetre.
fn short(point: Point) -> [f64; 3] {
    [point.x, point.y, point.z].map(|x| round(x, 100.0))
}

fn direction(point: Point) -> [f64; 3] {
    [point.x, point.y, point.z].map(|x| round(x, 10_000.0))
}

pub(super) fn round(value: f64, per_unit: f64) -> f64 {
    // Adding zero turns a negative zero into an ordinary one.
    (value * per_unit).round() / per_unit + 0.0
}
