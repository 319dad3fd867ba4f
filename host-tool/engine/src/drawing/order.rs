//! The welding order as a drawing that stands alone: one figure for each time the frame is flipped, with the direction
//! of travel on every weld and their order in numbers.

use super::figure::{Figures, Mark};
use super::scene::Scene;
use super::sheet::Sheet;
use super::view::View;
use crate::job::model::{Job, Point};
use crate::plan::model::{Face, Plan, StepKind};
use crate::plan::travel::{Up, faces_up};
use crate::sanitise;

/// Most numbers on a line.
const MAX_NUMBERS: usize = 24;

/// What is welded before the next flip.
struct Visit {
    up: Up,
    /// Weld numbers in their order, and the line of travel of each.
    welds: Vec<(u16, [Point; 2])>,
}

fn visits(plan: &Plan) -> Vec<Visit> {
    let mut visits: Vec<Visit> = Vec::new();
    for (step, up) in plan.steps.iter().zip(faces_up(plan)) {
        let StepKind::Weld { weld, from, to, .. } = &step.what else {
            continue;
        };
        let [from, to] = [from, to].map(|[x, y, z]| Point::new(*x, *y, *z));
        match visits.last_mut().filter(|visit| visit.up == up) {
            Some(visit) => visit.welds.push((*weld, [from, to])),
            None => visits.push(Visit {
                up,
                welds: vec![(*weld, [from, to])],
            }),
        }
    }
    visits
}

/// The order as an SVG file.
#[must_use]
pub fn order_svg(job: &Job, plan: &Plan) -> String {
    let title = format!("Welding order: {}", sanitise::short(&plan.title, 60));
    let mut sheet = Sheet::new(&title);
    for (k, visit) in visits(plan).iter().enumerate() {
        let view = match visit.up.face {
            Face::Front => View::FRONT,
            Face::Back => View::BACK,
        };
        let face = visit.up.face.name(visit.up.seen_from);
        let verb = if k == 0 { "Begin" } else { "Flip the frame" };
        sheet.line(&format!(
            "{}. {verb}, {face} up. Weld in this order:",
            k + 1
        ));
        for line in visit.welds.chunks(MAX_NUMBERS) {
            let numbers: Vec<String> = line.iter().map(|(weld, _)| weld.to_string()).collect();
            sheet.line(&numbers.join(", "));
        }
        figure(job, visit, &view, &mut sheet);
    }
    sheet.finish()
}

fn figure(job: &Job, visit: &Visit, view: &View, sheet: &mut Sheet<'_>) {
    let mut scene = Scene::of(job);
    let mut numbered = Vec::new();
    for (weld, [from, to]) in &visit.welds {
        let index = usize::from(*weld).wrapping_sub(1);
        let Some(line) = scene.weld_lines.get_mut(index) else {
            continue;
        };
        // The direction of a part of a long weld is shown on the whole weld.
        if (*to - *from).dot(line.to - line.from) < 0.0 {
            (line.from, line.to) = (line.to, line.from);
        }
        if !numbered.contains(&index) {
            numbered.push(index);
        }
    }
    let marks: Vec<Mark> = job
        .welds
        .iter()
        .enumerate()
        .map(|(k, weld)| Mark {
            label: weld.number.to_string(),
            class: if numbered.contains(&k) {
                "done"
            } else {
                "later"
            },
            title: format!("Weld {}, {}", weld.number, sanitise::plain(&weld.name)),
            arrow: numbered.contains(&k),
        })
        .collect();
    numbered.sort_unstable();
    sheet.figure(&Figures::new(&scene, &marks), view, &numbered);
}
