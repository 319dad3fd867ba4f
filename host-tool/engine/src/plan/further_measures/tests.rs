use super::candidates::Spot;
use super::*;
use crate::job::from_text;
use crate::job::model::Structural;
use crate::movement::measures::MeasureKind;
use crate::movement::model::MovementModel;
use crate::movement::predict::factors_for;
use crate::movement::simulate::SimulationOptions;
use crate::plan::model::{Gain, GainKind};
use crate::plan::planned_heat;

const GATE: &str = crate::example::GARDEN_GATE;

fn gate(more: &str) -> Job {
    from_text("gate.toml", &format!("{GATE}{more}")).unwrap_or_else(|wrong| panic!("{wrong}"))
}

/// An order that bows: all welds of the front, then all of the back.
fn one_face_first(job: &Job) -> Vec<usize> {
    let (front, back): (Vec<usize>, Vec<usize>) =
        (0..job.welds.len()).partition(|&weld| job.welds[weld].outward.z > 0.0);
    [front, back].concat()
}

fn moved(job: &Job, order: &[usize]) -> f64 {
    let model = MovementModel::new(job).expect("it stands");
    let heat = planned_heat(job);
    let shrinkage = model
        .shrinkage_each(&heat, &factors_for(job).0.each)
        .expect("in range");
    let outcome = model.simulate(
        &model.whole_welds(order),
        &shrinkage,
        &SimulationOptions::default(),
    );
    MovementWeights::default().of_shape(model.measures(), &outcome.released_mm)
}

#[test]
fn a_clamp_saves_what_the_frame_with_it_moves_less_than_without() {
    let job = gate("\n[[clamp]]\nat = \"bottom rail at 300\"\nrelease_after = [9]\n");
    let order = one_face_first(&job);
    let cost = MovementWeights::default();
    let trial = Trial::new(&job, &order, &cost).expect("it stands");
    let before = moved(&job, &order);
    assert!((trial.cost(&trial.expected_mm) - before).abs() < 1e-9);
    assert_eq!(trial.candidates.corners.len(), 4);
    let with = |spots: &[&Spot]| {
        let mut job = job.clone();
        for spot in spots {
            job.clamps
                .push(trial.candidates.job.clamps[spot.clamp].clone());
        }
        before - moved(&job, &order)
    };
    let corners: Vec<&Spot> = trial.candidates.corners.iter().collect();
    for spots in [vec![&trial.candidates.middles[0]], corners] {
        let gain = trial.with(&spots);
        assert!((gain.saves_mm - with(&spots)).abs() < 1e-9, "{gain:?}");
    }
    let without = Job {
        clamps: Vec::new(),
        ..job.clone()
    };
    let mut kept = job.clone();
    kept.clamps[0].release_after.clear();
    for (advice, other) in [("leave out clamp 1", without), ("keep clamp 1", kept)] {
        let gains = trial.clamps_otherwise();
        let gain = gains.iter().find(|gain| gain.advice.starts_with(advice));
        let saves = gain.expect("tried").saves_mm;
        assert!(
            (saves - (before - moved(&other, &order))).abs() < 1e-9,
            "{advice}"
        );
    }
}

#[test]
fn what_saves_most_comes_first_and_nothing_that_would_not_be_noticed() {
    let job = gate("");
    let found =
        try_all(&job, &one_face_first(&job), &MovementWeights::default()).expect("it stands");
    assert!(!found.gains.is_empty(), "an order that bows can be helped");
    assert!(found.gains.is_sorted_by(|a, b| a.saves_mm >= b.saves_mm));
    for gain in &found.gains {
        assert!(gain.saves_mm >= WORTH_MM && gain.saves_mm <= found.left_mm + 1e-9);
        assert!(
            gain.plus_minus_mm > 0.0,
            "all of it is worked out: {gain:?}"
        );
    }
}

#[test]
fn members_that_mirror_each_other_are_bent_and_clamped_together() {
    let job = gate("");
    let cost = MovementWeights::default();
    let order = one_face_first(&job);
    let trial = Trial::new(&job, &order, &cost).expect("it stands");
    let found: Vec<Gain> = [trial.starting_shapes(), trial.more_clamps()].concat();
    for gain in found.iter().filter(|gain| gain.saves_mm >= WORTH_MM) {
        assert_eq!(
            gain.advice.contains("top rail"),
            gain.advice.contains("bottom rail"),
            "{gain:?}"
        );
    }
}

#[test]
fn an_uncertainty_is_weighed_like_the_gain() {
    let job = gate("");
    let order = one_face_first(&job);
    let cost = MovementWeights {
        size: 0.2,
        parallel: 0.0,
        ..MovementWeights::default()
    };
    let trial = Trial::new(&job, &order, &cost).expect("it stands");
    let found = trial.starting_shapes();
    let cut = found.iter().find(|gain| gain.kind == GainKind::CutLength);
    let cut = cut.expect("sizes change by more than their uncertainty");
    let sizes = trial.measures().iter().zip(&trial.uncertainty_mm);
    let sizes = sizes.filter(|(measure, _)| measure.kind == MeasureKind::Size);
    let most = sizes.map(|(_, mm)| *mm).fold(0.0, f64::max);
    assert!(cut.plus_minus_mm > 0.0 && cut.plus_minus_mm <= 0.2 * most + 1e-12);
}

#[test]
fn nobody_is_told_to_bend_a_structural_frame() {
    let job = gate("");
    // With one face only there is a bow that is more than its uncertainty.
    let mut order = one_face_first(&job);
    order.truncate(order.len() / 2);
    let bends = |job: &Job| {
        let found = try_all(job, &order, &MovementWeights::default()).expect("it stands");
        found
            .gains
            .iter()
            .any(|gain| gain.advice.starts_with("bow "))
    };
    assert!(bends(&job));
    let structural = Job {
        structural: Structural::Everything,
        ..job
    };
    assert!(!bends(&structural));
}
