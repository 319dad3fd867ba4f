//! A prediction as JSON, for other programs and for the page that draws it. Lengths are in mm, forces in N.

use super::clamps::BuildStep;
use super::measures::MeasureKind;
use super::predict::{Prediction, numbers};
use super::shapes::{Moved, Shapes};
use super::text::Basis;
use crate::job::model::{Job, Point};
use coldsquare_core::uncertainty::Uncertain;
use serde_json::{Value, json};

/// Name and version of the format.
pub const FORMAT: &str = "coldsquare prediction 1";

/// The prediction and the shapes of the build; ends with a line break.
///
/// Every uncertain value is `{"value", "expanded"}` with k = 2. `shapes.before` has the points of each member's line;
/// `shapes.steps[k].moved_mm` and `shapes.released_mm` give how far each of them has moved, after a `weld` or after
/// `clamps_off` on the way (numbers from 1 in file order).
#[must_use]
pub fn json(job: &Job, prediction: &Prediction, shapes: &Shapes, basis: &Basis) -> String {
    let gaps: Vec<f64> = prediction.gaps_mm.iter().copied().map(rounded).collect();
    let whole = json!({
        "format": FORMAT,
        "job": job.name,
        "order": numbers(job, &prediction.order),
        "order_from": basis.order,
        "heat_from": basis.heat,
        "factors": job.factors_in_use(),
        "net_heat_j_per_mm": prediction.net_heat_j_per_mm.iter().copied().map(uncertain).collect::<Vec<_>>(),
        "measures": measures(job, prediction),
        "fits": fits(prediction),
        "clamps": clamps(job, prediction),
        "gaps_before_each_weld_mm": gaps,
        "cut_list": cuts(job, prediction),
        "shapes": drawn(job, shapes),
    });
    format!("{whole:#}\n")
}

fn measures(job: &Job, prediction: &Prediction) -> Vec<Value> {
    prediction
        .measures
        .iter()
        .map(|m| {
            json!({
                "name": m.name,
                "kind": kind(m.kind),
                "member": m.member.map(|member| job.members[member].name.as_str()),
                "before_mm": rounded(m.nominal_mm),
                "change_clamped_mm": rounded(m.clamped_mm.value),
                "change_mm": uncertain(m.released_mm),
            })
        })
        .collect()
}

fn cuts(job: &Job, prediction: &Prediction) -> Vec<Value> {
    job.members
        .iter()
        .enumerate()
        .map(|(index, m)| {
            let allowance = prediction.allowances.iter().find(|a| a.member == index);
            json!({
                "member": m.name,
                "section": m.section.designation(),
                "drawn_mm": rounded(m.cut_length.0),
                "add_mm": allowance.map(|a| uncertain(a.add_mm)),
                "cut_mm": rounded(m.cut_length.0 + allowance.map_or(0.0, |a| a.add_mm.value)),
            })
        })
        .collect()
}

fn clamps(job: &Job, prediction: &Prediction) -> Vec<Value> {
    job.clamps
        .iter()
        .zip(
            prediction
                .clamp_forces_n
                .iter()
                .zip(&prediction.clamp_slips_mm),
        )
        .map(|(clamp, (force, &slip))| {
            json!({
                "member": job.members[clamp.member].name,
                "at_mm": point(clamp.at),
                "release_after": clamp.release_after,
                "release_before": clamp.release_before,
                "force_n": uncertain(*force),
                "slips": slip > 0.0,
                "slip_mm": rounded(slip),
            })
        })
        .collect()
}

fn fits(prediction: &Prediction) -> Vec<Value> {
    prediction
        .fits
        .iter()
        .map(|fit| {
            json!({
                "direction": fit.direction,
                "opening_mm": rounded(fit.opening_mm),
                "size_mm": uncertain(fit.size_mm),
                "clearance_mm": rounded(fit.clearance_mm),
                "wanted_mm": rounded(fit.wanted_mm),
                "sure": fit.is_sure(),
            })
        })
        .collect()
}

/// The shapes alone, for a page that draws them.
#[must_use]
pub fn drawn(job: &Job, shapes: &Shapes) -> Value {
    let moved = |moved: &Moved| -> Value {
        let line = |line: &Vec<Point>| line.iter().map(|&p| point(p)).collect::<Vec<_>>();
        moved.iter().map(line).collect()
    };
    let before: Vec<Value> = shapes
        .lines
        .iter()
        .map(|line| {
            let points: Vec<_> = line.points.iter().map(|&p| point(p)).collect();
            json!({ "member": job.members[line.member].name, "points_mm": points })
        })
        .collect();
    let steps: Vec<Value> = shapes
        .steps
        .iter()
        .map(|(step, shape)| match step {
            BuildStep::Weld(weld) => {
                json!({ "weld": job.welds[*weld].number, "moved_mm": moved(shape) })
            }
            BuildStep::Release(clamps) => {
                let numbers: Vec<usize> = clamps.iter().map(|clamp| clamp + 1).collect();
                json!({ "clamps_off": numbers, "moved_mm": moved(shape) })
            }
        })
        .collect();
    json!({
        "magnification": shapes.magnification,
        "before": before,
        "steps": steps,
        "released_mm": moved(&shapes.released),
    })
}

fn kind(kind: MeasureKind) -> &'static str {
    match kind {
        MeasureKind::Size => "size",
        MeasureKind::Diagonal => "diagonal",
        MeasureKind::Racking => "racking",
        MeasureKind::Twist => "twist",
        MeasureKind::Bow => "bow",
        MeasureKind::Span => "span",
        MeasureKind::Lean => "lean",
        MeasureKind::Corner => "corner",
        MeasureKind::Standing => "standing",
        MeasureKind::Plumb => "plumb",
        MeasureKind::TopTwist => "top_twist",
    }
}

/// To a tenth of a micrometre: further digits differ from machine to machine.
fn rounded(value: f64) -> f64 {
    let rounded = (value * 1e4).round() / 1e4;
    // No negative zero.
    rounded + 0.0
}

fn uncertain(value: Uncertain) -> Value {
    json!({ "value": rounded(value.value), "expanded": rounded(value.expanded()) })
}

fn point(p: Point) -> [f64; 3] {
    [p.x, p.y, p.z].map(rounded)
}
