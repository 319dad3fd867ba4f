//! The frame as drawn, before anything is welded: from its front, its back where welds are there, and from the corner.

use super::characters::{face, plain_marks};
use super::figure::Figures;
use super::scene::Scene;
use super::sheet::Sheet;
use super::view::View;
use crate::format::{Precision, count};
use crate::job::model::{Job, SeenFrom};
use crate::sanitise;

/// The frame as an SVG file.
#[must_use]
pub fn frame_svg(job: &Job) -> String {
    let title = sanitise::short(&job.name, 60);
    let mut sheet = Sheet::new(&title);
    let (scene, marks) = (Scene::of(job), plain_marks(job));
    let [low, high] = scene.bounds();
    let size = high - low;
    let length = |mm: f64| job.units.length(mm, Precision::Drawn);
    let counts = format!(
        "{}, {}",
        count(job.members.len(), "member"),
        count(job.welds.len(), "weld")
    );
    // Solids go to the long points of their cuts, which says too much of a leg that is cut level.
    let is_deep = size.z > size.x.min(size.y) / 4.0;
    sheet.line(&if View::stands(job) && is_deep {
        counts
    } else {
        let across = match job.seen_from {
            SeenFrom::Front => "high",
            SeenFrom::Above => "deep",
        };
        let unit = job.units.length_symbol();
        let (width, height) = (length(size.x), length(size.y));
        format!("{width} {unit} wide, {height} {unit} {across}; {counts}")
    });
    let figures = Figures::new(&scene, &marks);
    for (caption, view, numbered) in figures.views() {
        sheet.line(&face(caption));
        sheet.figure(&figures, &view.of_standing(job), &numbered);
    }
    sheet.finish()
}
