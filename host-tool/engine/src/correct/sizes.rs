//! The sizes of the frame with longer cuts and with pre-camber of the members that bow.

use super::model::{SizeForecast, pair};
use crate::formulas::joint_shrinkage::JointCoefficients;
use crate::job::model::{Job, Point};
use crate::movement::measures::{Measure, MeasureKind};
use crate::movement::model::MovementModel;
use crate::movement::model::beam_model::BeamModel;
use crate::movement::predict::Prediction;
use coldsquare_core::uncertainty::Uncertain;

/// Every size as drawn and corrected. What is added before welding adds to what welding does; the uncertainty stays.
pub(super) fn sizes(
    job: &Job,
    engine: &MovementModel,
    prediction: &Prediction,
) -> Vec<SizeForecast> {
    let model = BeamModel::new(job, &JointCoefficients::FITTED);
    let sizes = engine
        .measures()
        .iter()
        .filter(|m| m.kind == MeasureKind::Size);
    let one = |measure: &Measure| {
        let change = change_of(prediction, &measure.name)?;
        let direction = measure.terms.first()?.direction;
        let nodes: Vec<usize> = measure.terms.iter().map(|term| term.node).collect();
        let added = allowance(job, &model, prediction, direction, &nodes);
        let bow: f64 = measure
            .terms
            .iter()
            .map(|term| {
                bow_at(
                    engine.measures(),
                    &model,
                    prediction,
                    term.node,
                    term.direction,
                )
            })
            .sum();
        let size = |value: f64| Uncertain {
            value: measure.nominal_mm + value,
            ..change
        };
        Some(SizeForecast {
            name: measure.name.clone(),
            target_mm: measure.nominal_mm,
            as_drawn_mm: pair(size(change.value)),
            longer_mm: added,
            pre_camber_mm: -bow,
            corrected_mm: pair(size(change.value + added - bow)),
        })
    };
    sizes.filter_map(one).collect()
}

fn change_of(prediction: &Prediction, name: &str) -> Option<Uncertain> {
    let found = prediction.measures.iter().find(|p| p.name == name)?;
    Some(found.released_mm)
}

/// What longer cuts add to a size: those of the nearest members parallel to it, one on each side, weighted by their
/// distance.
fn allowance(
    job: &Job,
    model: &BeamModel,
    prediction: &Prediction,
    direction: Point,
    nodes: &[usize],
) -> f64 {
    let across = if direction.x.abs() > 0.5 {
        Point::new(0.0, 1.0, 0.0)
    } else {
        Point::new(1.0, 0.0, 0.0)
    };
    let at = nodes
        .iter()
        .map(|&node| model.nodes[node].dot(across))
        .sum::<f64>()
        / nodes.len().max(1) as f64;
    let span = nodes
        .iter()
        .map(|&n| model.nodes[n].dot(direction))
        .fold(0.0, |a: f64, b| a.max(b))
        - nodes
            .iter()
            .map(|&n| model.nodes[n].dot(direction))
            .fold(f64::MAX, f64::min);
    let along: Vec<(f64, f64)> = prediction
        .allowances
        .iter()
        .filter_map(|allowance| {
            let member = &job.members[allowance.member];
            let line = member.to - member.from;
            let runs = line.unit()?.dot(direction).abs() > 0.9 && line.length() > 0.8 * span;
            runs.then(|| (member.from.dot(across) - at, allowance.add_mm.value))
        })
        .collect();
    at_zero(&along)
}

/// The value at zero, from the nearest values on each side of it: of pairs of place and value.
fn at_zero(along: &[(f64, f64)]) -> f64 {
    let below = along
        .iter()
        .filter(|one| one.0 <= 1.0)
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let above = along
        .iter()
        .filter(|one| one.0 >= -1.0)
        .min_by(|a, b| a.0.total_cmp(&b.0));
    match (below, above) {
        (Some(low), Some(high)) if high.0 - low.0 > 1.0 => {
            (low.1 * high.0 - high.1 * low.0) / (high.0 - low.0)
        }
        (Some(one), _) | (_, Some(one)) => one.1,
        (None, None) => 0.0,
    }
}

/// How far a node that is the middle of a member moves in a direction by the bow of that member.
fn bow_at(
    measures: &[Measure],
    model: &BeamModel,
    prediction: &Prediction,
    node: usize,
    direction: Point,
) -> f64 {
    let bows = measures
        .iter()
        .filter(|m| m.kind == MeasureKind::Bow && m.member == Some(model.member_of(node)));
    bows.filter(|bow| bow.terms[0].node == node)
        .filter_map(|bow| Some((bow, change_of(prediction, &bow.name)?)))
        .map(|(bow, change)| change.value * bow.terms[0].direction.dot(direction))
        .sum()
}
