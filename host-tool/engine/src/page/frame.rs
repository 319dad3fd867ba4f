//! The frame alone, as a script draws it: its metal, its welds, and how it is predicted to move.

use super::moving::{self, Movement, MovementData};
use super::scene;
use crate::drawing::figure::Mark;
use crate::drawing::scene::Scene;
use crate::job::model::{Job, Point};
use crate::movement::shapes::Shapes;
use crate::sanitise;
use serde::Serialize;

/// What the script reads of a frame at rest.
#[derive(Serialize)]
pub struct FrameData {
    scene: scene::SceneData,
    marks: Vec<scene::MarkData>,
    shapes: std::collections::BTreeMap<&'static str, &'static str>,
    /// Start and end of each member.
    members: Vec<[[f64; 3]; 2]>,
}

/// What the script reads of its final shape.
#[derive(Serialize)]
pub struct MovedData {
    movement: MovementData,
    /// How many times to exaggerate the movement at first.
    times: u32,
    /// The view that shows the movement best.
    look: &'static str,
}

/// The frame of a job as it is drawn.
#[must_use]
pub fn frame_data(job: &Job) -> FrameData {
    let marks: Vec<Mark> = job
        .welds
        .iter()
        .map(|weld| Mark {
            label: weld.number.to_string(),
            class: "later",
            title: format!("Weld {}, {}", weld.number, sanitise::plain(&weld.name)),
            arrow: false,
        })
        .collect();
    FrameData {
        scene: scene::data(&Scene::of(job)),
        marks: scene::marks(&marks),
        shapes: scene::shapes(),
        members: job
            .members
            .iter()
            .map(|m| [m.from.into(), m.to.into()])
            .collect(),
    }
}

/// The final shape of the frame.
#[must_use]
pub fn moved_data(job: &Job, shapes: &Shapes) -> MovedData {
    let moved = moving::released(shapes);
    MovedData {
        times: moving::times(job, std::slice::from_ref(&moved)),
        look: look(job, &moved),
        movement: moving::data(&[moved]),
    }
}

/// Views that look at a corner, and the direction from the frame towards the reader in each, as in `geometry.js`.
const CORNERS: [(&str, [f64; 3]); 4] = [
    ("corner", [-0.508, 0.435, 0.743]),
    ("right corner", [0.508, 0.435, 0.743]),
    ("back corner", [-0.508, 0.435, -0.743]),
    ("right back corner", [0.508, 0.435, -0.743]),
];
/// A corner has to be nearer by this share of the frame to be chosen over an earlier one.
const NEARER: f64 = 0.05;

/// From the corner that is nearest to what moves most, if the frame moves more towards the reader or away than in its
/// own plane; otherwise from the front.
fn look(job: &Job, moved: &Movement) -> &'static str {
    let greatest = |part: fn(&Point) -> f64| {
        let points = moved.members.iter().flatten();
        points.map(part).fold(0.0, f64::max)
    };
    if greatest(|p| p.z.abs()) <= greatest(|p| p.x.hypot(p.y)) {
        return "front";
    }
    let Some(most) = farthest_moved(job, moved) else {
        return "corner";
    };
    let ends = || job.members.iter().flat_map(|m| [m.from, m.to]);
    let count = ends().count() as f64;
    let middle = ends().fold(Point::default(), |sum, end| sum + end) * (1.0 / count);
    let size = ends()
        .map(|end| (end - middle).length())
        .fold(0.0, f64::max);
    let near = |toward: [f64; 3]| (most - middle).dot(Point::new(toward[0], toward[1], toward[2]));
    let mut best = CORNERS[0];
    for corner in CORNERS {
        if near(corner.1) > near(best.1) + NEARER * size {
            best = corner;
        }
    }
    best.0
}

/// Where the point is that moves most.
fn farthest_moved(job: &Job, moved: &Movement) -> Option<Point> {
    let points = job
        .members
        .iter()
        .zip(&moved.members)
        .flat_map(|(member, points)| {
            let last = points.len().saturating_sub(1).max(1) as f64;
            let along = member.to - member.from;
            let at = move |(k, by): (usize, &Point)| {
                (member.from + along * (k as f64 / last), by.length())
            };
            points.iter().enumerate().map(at)
        });
    points.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(at, _)| at)
}
