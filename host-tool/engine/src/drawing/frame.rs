//! The frame as drawn, before anything is welded: from its front, its back where welds are there, and from the corner.

use super::characters::{face, plain_marks};
use super::figure::Figures;
use super::scene::Scene;
use super::sheet::Sheet;
use crate::format::{Precision, count};
use crate::job::model::Job;
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
    sheet.line(&format!(
        "{} x {} x {} {} over all (across, up, through); {}, {}",
        length(size.x),
        length(size.y),
        length(size.z),
        job.units.length_symbol(),
        count(job.members.len(), "member"),
        count(job.welds.len(), "weld"),
    ));
    let figures = Figures::new(&scene, &marks);
    for (caption, view, numbered) in figures.views() {
        sheet.line(&face(caption));
        sheet.figure(&figures, &view, &numbered);
    }
    sheet.finish()
}
