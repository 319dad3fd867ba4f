//! The order of welding as a drawing that stands alone: one figure for each time the frame lies on the table, with the
//! way of the torch on every weld and their order in words.

use super::figure::{Figures, Mark};
use super::scene::Scene;
use super::sheet::Sheet;
use super::view::View;
use crate::job::model::{Job, Point};
use crate::plan::model::{Face, Plan, Work};
use crate::plan::travel::faces_up;
use crate::sanitise;

/// Numbers in a line.
const LONGEST_LINE: usize = 24;

/// What is welded before the next turn of the frame.
struct Lay {
    up: Face,
    /// Weld numbers in their order, and the line of travel of each.
    welds: Vec<(u16, [Point; 2])>,
}

fn lays(plan: &Plan) -> Vec<Lay> {
    let mut lays: Vec<Lay> = Vec::new();
    for (step, up) in plan.steps.iter().zip(faces_up(plan)) {
        let Work::Weld { weld, from, to, .. } = &step.work else {
            continue;
        };
        let [from, to] = [from, to].map(|[x, y, z]| Point::new(*x, *y, *z));
        match lays.last_mut().filter(|lay| lay.up == up) {
            Some(lay) => lay.welds.push((*weld, [from, to])),
            None => lays.push(Lay {
                up,
                welds: vec![(*weld, [from, to])],
            }),
        }
    }
    lays
}

/// The order as an SVG file.
#[must_use]
pub fn order_svg(job: &Job, plan: &Plan) -> String {
    let title = format!("Order of welding: {}", sanitise::short(&plan.title, 60));
    let mut sheet = Sheet::new(&title);
    for (k, lay) in lays(plan).iter().enumerate() {
        let (face, view) = match lay.up {
            Face::Front => ("front", View::FRONT),
            Face::Back => ("back", View::BACK),
        };
        let turn = if k == 0 { "Begin" } else { "Turn over" };
        sheet.say(&format!("{}. {turn}, {face} up. In this order:", k + 1));
        for line in lay.welds.chunks(LONGEST_LINE) {
            let numbers: Vec<String> = line.iter().map(|(weld, _)| weld.to_string()).collect();
            sheet.say(&numbers.join(", "));
        }
        figure(job, lay, &view, &mut sheet);
    }
    sheet.finish()
}

fn figure(job: &Job, lay: &Lay, view: &View, sheet: &mut Sheet<'_>) {
    let mut scene = Scene::of(job);
    let mut numbered = Vec::new();
    for (weld, [from, to]) in &lay.welds {
        let index = usize::from(*weld).wrapping_sub(1);
        let Some(seam) = scene.seams.get_mut(index) else {
            continue;
        };
        // A piece of a long weld turns the whole line to its own way.
        if (*to - *from).dot(seam.to - seam.from) < 0.0 {
            (seam.from, seam.to) = (seam.to, seam.from);
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
