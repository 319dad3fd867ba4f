//! Pre-camber tried on a prediction: the members that bow most are bent the other way before welding.

use super::can_be_pre_cambered;
use crate::format::Precision;
use crate::job::model::{Job, Point};
use crate::movement::measures::{Measure, MeasureKind};
use crate::movement::model::MovementModel;
use crate::movement::predict::Prediction;
use crate::movement::shapes::Shapes;

/// A bow below this is not worth bending for, mm: it takes a press and a straightedge to put in less. Common practice, no
/// source.
const WORTH_MM: f64 = 0.5;
/// Most members that are bent.
const MAX_MEMBERS: usize = 4;

/// A member bent before welding.
struct Camber<'a> {
    member: usize,
    measure: &'a Measure,
    /// What is bent in, along the direction of the measure, mm.
    bow_mm: f64,
}

impl Camber<'_> {
    fn along(&self) -> Point {
        self.measure.terms[0].direction
    }
}

/// Bends the members that bow most by their predicted bow the other way, in the prediction and in its final shape.
/// Gives each in words: "bow top rail 0.8 mm upwards before welding". The uncertainty of every measure stays.
///
/// Only bows that are larger than their uncertainty count, and only members that may be bent: see
/// [`can_be_pre_cambered`].
#[must_use]
pub fn pre_camber(
    job: &Job,
    model: &MovementModel,
    prediction: &mut Prediction,
    shapes: &mut Shapes,
) -> Vec<String> {
    let cambers = advised(job, model, prediction);
    let mut before = Vec::new();
    for (index, predicted) in prediction.measures.iter().enumerate() {
        let of = |measure: &&Measure| measure.name == predicted.name;
        if let Some(measure) = model.measures().iter().find(of) {
            let mm: f64 = cambers.iter().map(|camber| adds(camber, measure)).sum();
            before.push((index, mm));
        }
    }
    prediction.start_at(&before, job.opening.as_ref());
    for camber in &cambers {
        shapes.bow(camber.member, camber.along() * camber.bow_mm);
    }
    cambers.iter().map(|camber| describe(job, camber)).collect()
}

/// The members that are bent the other way before welding, by index, each with the movement of its middle, mm.
pub(crate) fn advised_bows(
    job: &Job,
    model: &MovementModel,
    prediction: &Prediction,
) -> Vec<(usize, Point)> {
    let cambers = advised(job, model, prediction).into_iter();
    cambers
        .map(|camber| (camber.member, camber.along() * camber.bow_mm))
        .collect()
}

fn advised<'a>(job: &Job, model: &'a MovementModel, prediction: &Prediction) -> Vec<Camber<'a>> {
    let bows = prediction.measures.iter().filter(|predicted| {
        let change = predicted.released_mm;
        predicted.kind == MeasureKind::Bow && change.value.abs() > change.expanded().max(WORTH_MM)
    });
    let mut cambers: Vec<Camber<'_>> = bows
        .filter_map(|predicted| {
            let of = |measure: &&Measure| measure.name == predicted.name;
            let measure = model.measures().iter().find(of)?;
            let bent = can_be_pre_cambered(job, measure, predicted.released_mm);
            bent.then_some(Camber {
                member: predicted.member?,
                measure,
                bow_mm: -predicted.released_mm.value,
            })
        })
        .collect();
    cambers.sort_by(|a, b| b.bow_mm.abs().total_cmp(&a.bow_mm.abs()));
    cambers.truncate(MAX_MEMBERS);
    cambers
}

/// What a camber adds to a measure, mm: to its own bow, and to a size that is taken at the middle of the member.
fn adds(camber: &Camber<'_>, measure: &Measure) -> f64 {
    if measure.name == camber.measure.name {
        return camber.bow_mm;
    }
    let middle = camber.measure.terms[0].node;
    let at_middle = measure
        .terms
        .iter()
        .filter(|term| measure.kind == MeasureKind::Size && term.node == middle);
    at_middle
        .map(|term| camber.bow_mm * camber.along().dot(term.direction))
        .sum()
}

fn describe(job: &Job, camber: &Camber<'_>) -> String {
    let mm = job
        .units
        .length_with_unit(camber.bow_mm.abs(), Precision::Drawn);
    let side = job
        .seen_from
        .towards(camber.along() * camber.bow_mm.signum());
    let name = &job.members[camber.member].name;
    format!("bow {name} {mm} {side} before welding")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::start::{Shape, Wanted, write};
    use crate::movement::predict::{planned_net_heat, predict_for};

    #[test]
    fn a_flat_bent_the_other_way_first_ends_straight_and_no_surer_than_before() {
        let flat = write(&Wanted::of(Shape::Tee));
        let job = crate::job::from_text("job.toml", &flat).expect("a job");
        let model = MovementModel::new(&job).expect("a model");
        let order: Vec<usize> = (0..job.welds.len()).collect();
        let heat = planned_net_heat(&job);
        let before = predict_for(&job, &model, &order, &heat).expect("a prediction");
        let shrinkage = model
            .shrinkage_each(
                &heat.iter().map(|heat| heat.value).collect::<Vec<_>>(),
                &job.shrinkage_factors(),
            )
            .expect("within the rules");
        let (mut shapes, _) =
            Shapes::final_only(&job, &model, &order, &shrinkage).expect("a shape");
        let mut after = before.clone();
        let words = pre_camber(&job, &model, &mut after, &mut shapes);
        assert!(!words.is_empty());
        let bows = |prediction: &Prediction| -> f64 {
            let bows = prediction
                .measures
                .iter()
                .filter(|m| m.kind == MeasureKind::Bow);
            bows.map(|bow| bow.released_mm.value.abs())
                .fold(0.0, f64::max)
        };
        assert!(
            bows(&after) < 0.3 * bows(&before),
            "{} of {}",
            bows(&after),
            bows(&before)
        );
        for (after, before) in after.measures.iter().zip(&before.measures) {
            assert_eq!(after.released_mm.standard, before.released_mm.standard);
        }
    }
}
