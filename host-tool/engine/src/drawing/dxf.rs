//! The frame as a line drawing to hand on: centre lines on layers named after their sections, outlines and welds.

use super::scene::Scene;
use crate::job::model::Job;
use crate::line_drawing::{Dxf, layer_of};
use crate::movement::shapes::Shapes;

/// The frame as drawn.
#[must_use]
pub fn frame_dxf(job: &Job) -> Dxf {
    let mut drawing = Dxf::default();
    for member in &job.members {
        let layer = layer_of(member.section.designation());
        drawing.line(&layer, member.from, member.to);
    }
    let scene = Scene::of(job);
    for solid in &scene.solids {
        for edge in solid.edges.iter().filter(|edge| !edge.smooth) {
            let ends = [edge.from, edge.to].map(|vertex| solid.vertices[vertex]);
            drawing.line("OUTLINES", ends[0], ends[1]);
        }
    }
    for weld in &job.welds {
        drawing.line("WELDS", weld.from, weld.to);
    }
    drawing
}

/// Adds the centre lines as they are predicted to be when the frame is cold, their movement so many times as large.
pub fn draw_moved(drawing: &mut Dxf, shapes: &Shapes, times: f64) {
    for (line, moved) in shapes.lines.iter().zip(&shapes.released) {
        let points = line.points.iter().zip(moved);
        let points: Vec<_> = points
            .map(|(point, moved)| *point + *moved * times)
            .collect();
        drawing.polyline("MOVED", &points, false);
    }
}
