//! The frame alone, as a script draws it: its metal, its welds, and how it is predicted to move.

use super::moving::{self, MovementData};
use super::scene;
use crate::drawing::figure::Mark;
use crate::drawing::scene::Scene;
use crate::job::model::Job;
use crate::movement::shapes::Shapes;
use crate::sanitise;
use serde::Serialize;

/// What the script reads.
#[derive(Serialize)]
pub struct FrameData {
    scene: scene::SceneData,
    marks: Vec<scene::MarkData>,
    shapes: std::collections::BTreeMap<&'static str, &'static str>,
    /// Start and end of each member.
    members: Vec<[[f64; 3]; 2]>,
    /// Null without a prediction.
    movement: Option<MovementData>,
    /// How many times to exaggerate the movement at first.
    times: u32,
    /// The view that shows the movement best.
    look: &'static str,
}

/// The frame of a job, and its final shape if it could be predicted.
#[must_use]
pub fn frame_data(job: &Job, shapes: Option<&Shapes>) -> FrameData {
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
    let movement = shapes.map(moving::released);
    let movement = movement.as_slice();
    FrameData {
        scene: scene::data(&Scene::of(job)),
        marks: scene::marks(&marks),
        shapes: scene::shapes(),
        members: job
            .members
            .iter()
            .map(|m| [m.from.into(), m.to.into()])
            .collect(),
        times: moving::times(job, movement),
        look: movement.first().map_or("front", look),
        movement: (!movement.is_empty()).then(|| moving::data(movement)),
    }
}

/// From the corner if the frame moves more towards the reader or away than in its own plane.
fn look(moved: &moving::Movement) -> &'static str {
    let greatest = |part: fn(&crate::job::model::Point) -> f64| {
        let points = moved.members.iter().flatten();
        points.map(part).fold(0.0, f64::max)
    };
    if greatest(|p| p.z.abs()) > greatest(|p| p.x.hypot(p.y)) {
        "corner"
    } else {
        "front"
    }
}
