//! Holes: their place on the frame as it is, and what to drill so that the size is right under the coating.

use super::coat::PITCH_DIAMETER_PER_COAT;
use super::model::HolePlace;
use super::panels::Sizes;
use crate::format::number;
use crate::job::finish::{Hole, HoleKind};
use crate::job::model::{Job, Point};

/// Coarse pitches of ISO metric threads by nominal diameter, mm (ISO 261:1998, table 2).
const COARSE: [(f64, f64); 10] = [
    (3.0, 0.5),
    (4.0, 0.7),
    (5.0, 0.8),
    (6.0, 1.0),
    (8.0, 1.25),
    (10.0, 1.5),
    (12.0, 1.75),
    (16.0, 2.0),
    (20.0, 2.5),
    (24.0, 3.0),
];
/// A coating of more than this in a thread must be cleared, µm: what a 6H nut leaves a 6g bolt at M6 to M10 (ISO 965-1:2013;
/// value from memory).
const THREAD_ROOM_UM: f64 = 26.0;

/// The holes, in the order of the file.
pub(super) fn holes(job: &Job, sizes: &Sizes, coat_um: [f64; 2]) -> Vec<HolePlace> {
    let [low, high] = extent(job);
    let middle = (low + high) * 0.5;
    let place = |hole: &Hole| {
        let from_middle_mm = [hole.at.x - middle.x, hole.at.y - middle.y];
        let from_edge_drawn_mm = [hole.at.x - low.x, hole.at.y - low.y];
        // Marked from the middle, a hole keeps its place; each edge has come in by half of the change.
        let from_edge_mm = [0, 1].map(|k| from_edge_drawn_mm[k] + sizes.change_mm[k].value / 2.0);
        let (drill_mm, what) = drill(hole.kind, coat_um);
        HolePlace {
            name: hole.name.clone(),
            member: job.members[hole.member].name.clone(),
            from_middle_mm,
            from_edge_drawn_mm,
            from_edge_mm,
            drill_mm,
            what,
        }
    };
    job.finish.holes.iter().map(place).collect()
}

/// The lowest and the highest corner of the frame, outside.
fn extent(job: &Job) -> [Point; 2] {
    let mut range = [[f64::INFINITY, f64::NEG_INFINITY]; 2];
    for member in &job.members {
        let reach = [Point::new(1.0, 0.0, 0.0), Point::new(0.0, 1.0, 0.0)]
            .map(|direction| member.size_along(direction) / 2.0);
        let axis = member.axis();
        for (end, sign) in [(member.from, -1.0), (member.to, 1.0)] {
            let past = member.past_ends[usize::from(sign > 0.0)].0;
            let tip = end + axis * (sign * past);
            for (k, at) in [tip.x, tip.y].into_iter().enumerate() {
                range[k] = [
                    range[k][0].min(at - reach[k]),
                    range[k][1].max(at + reach[k]),
                ];
            }
        }
    }
    let corner = |side: usize| Point::new(range[0][side], range[1][side], 0.0);
    [corner(0), corner(1)]
}

fn drill(kind: HoleKind, coat_um: [f64; 2]) -> (Vec<f64>, String) {
    let coat_mm = coat_um[1] / 1000.0;
    match kind {
        HoleKind::Plain { diameter_mm } => {
            let drill = up_to_tenth(diameter_mm + 2.0 * coat_mm);
            let what = format!("drill {} mm", number(drill, 1));
            (vec![drill], what)
        }
        HoleKind::Keyhole { screw_mm } => {
            // Head about twice the screw, and room for it. Common practice, no source.
            let slot = up_to_tenth(screw_mm + 0.5 + 2.0 * coat_mm);
            let entry = up_to_tenth(2.0 * screw_mm + 1.0 + 2.0 * coat_mm);
            let what = format!(
                "entry {} mm below, slot {} mm wide and {} mm up",
                number(entry, 1),
                number(slot, 1),
                number(2.5 * screw_mm, 0)
            );
            (vec![entry, slot], what)
        }
        HoleKind::Thread { diameter_mm } => {
            let pitch = COARSE
                .iter()
                .find(|(size, _)| (size - diameter_mm).abs() < 0.01);
            let Some((_, pitch)) = pitch else {
                return (
                    Vec::new(),
                    format!(
                        "thread {} mm: take drill and pitch from its table",
                        number(diameter_mm, 2)
                    ),
                );
            };
            let drill = diameter_mm - pitch;
            let mut what = format!(
                "drill {} mm, tap M{}",
                number(drill, 2),
                number(diameter_mm, 0)
            );
            if PITCH_DIAMETER_PER_COAT * coat_um[0] > THREAD_ROOM_UM {
                what += &format!(
                    "; plug it before coating or tap again after: the coat takes {} mm or more off the pitch diameter",
                    number(PITCH_DIAMETER_PER_COAT * coat_um[0] / 1000.0, 2)
                );
            }
            (vec![drill], what)
        }
    }
}

fn up_to_tenth(mm: f64) -> f64 {
    (mm * 10.0 - 1e-6).ceil() / 10.0
}
