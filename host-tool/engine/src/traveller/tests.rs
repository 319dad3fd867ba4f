//! Promises of a traveller.

use super::model::{TimeBasis, Traveller};
use super::{Basis, STEPS, before, traveller};
use crate::cost::cost;
use crate::example::GARDEN_GATE;
use crate::finish::finishing;
use crate::fixture::fixture;
use crate::job::from_text;
use crate::job::model::Job;
use crate::movement::measures::MeasureKind;
use crate::movement::model::MovementModel;
use crate::movement::predict::{planned_net_heat, predict_for};
use crate::shop::hours::Hours;
use coldsquare_core::units::Seconds;

fn with<T>(more: &str, hours: &[Hours], of: impl Fn(&Basis<'_>) -> T) -> T {
    let job: Job = from_text("gate.toml", &format!("{GARDEN_GATE}\n{more}\n")).expect("a good job");
    let model = MovementModel::new(&job).expect("a model");
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let prediction =
        predict_for(&job, &model, &order, &planned_net_heat(&job)).expect("a prediction");
    let fixture = fixture(&job, &order).expect("a fixture");
    let finishing = finishing(&job, &model, &prediction, None);
    let cost = cost(&job, None, Seconds(15.0)).expect("a cost");
    of(&Basis {
        job: &job,
        file: "gate.toml",
        order: "file order",
        prediction: &prediction,
        fixture: &fixture,
        finishing: &finishing,
        cost: &cost,
        hours,
    })
}

fn whole(more: &str, hours: &[Hours]) -> Traveller {
    with(more, hours, traveller)
}

#[test]
fn steps_come_in_the_order_of_the_job_and_those_it_has_not_are_left_out() {
    let plain = whole("", &[]);
    let ids: Vec<&str> = plain.steps.iter().map(|step| step.id).collect();
    assert_eq!(
        ids,
        [
            "opening", "cut", "clean", "fixture", "tack", "weld", "measure", "finish", "hang"
        ]
    );
    let all = whole(
        "[finish]\nflush = [\"front\"]\n[[hole]]\nat = \"top rail at 100\"\ndiameter = 8\n[[ripped]]\nwidth = 20\nlength = 900",
        &[],
    );
    let ids: Vec<&str> = all.steps.iter().map(|step| step.id).collect();
    assert_eq!(ids, STEPS);
    let sum: f64 = all.times.iter().map(|time| time.minutes).sum();
    assert!((sum - all.total_min).abs() < 1e-9);
}

#[test]
fn readings_after_welding_have_the_names_that_measure_takes() {
    with("", &[], |basis| {
        let step = traveller(basis)
            .steps
            .into_iter()
            .find(|step| step.id == "measure")
            .expect("it");
        assert!(step.readings.len() > 8);
        for reading in step.readings {
            let known = |name: &str| basis.prediction.measures.iter().any(|m| m.name == name);
            assert!(known(&reading.name), "{}", reading.name);
        }
    });
}

/// What is left of the tolerance for the dry fit and what the welds may do together stay within it.
#[test]
fn a_dry_fit_within_its_limit_ends_within_the_tolerance_whatever_the_welds_do() {
    with("", &[], |basis| {
        let [target, limit] = before::dry_fit_mm(basis).expect("diagonals");
        let racking = basis
            .prediction
            .measures
            .iter()
            .find(|m| m.kind == MeasureKind::Racking)
            .expect("it")
            .released_mm;
        for sign in [-1.0, 1.0] {
            let cold = target + sign * limit + racking.value + sign * racking.expanded();
            // EN ISO 13920:1996, table 1, class A, 1000 to 2000 mm: 3 mm. Value from memory.
            assert!(cold.abs() <= 3.0 + 1e-9, "{cold}");
        }
    });
}

#[test]
fn noted_hours_correct_the_estimate_of_their_step_alone() {
    let before = whole("", &[]);
    let table = before
        .times
        .iter()
        .find(|time| time.id == "fixture")
        .expect("it")
        .table_min;
    let notes: Vec<Hours> = (0..6)
        .map(|_| Hours {
            on: "2026-11-28".into(),
            job: "gate.toml".into(),
            step: "fixture".into(),
            estimated_min: table,
            spent_min: 2.0 * table,
            note: String::new(),
        })
        .collect();
    let after = whole("", &notes);
    for (before, after) in before.times.iter().zip(&after.times) {
        if before.id == "fixture" {
            assert!(after.minutes > 1.8 * before.minutes && after.minutes < 2.0 * before.minutes);
            assert!(matches!(after.basis, TimeBasis::Noted { count: 6, .. }));
        } else {
            assert_eq!(before, after);
        }
    }
}

/// A strip with a stress that changes by 0.4 · 235 MPa across 20 mm, 1 m long: 94 · 1e6 / (8 · 210000 · 20) = 2.8 mm.
#[test]
fn a_ripped_strip_may_bow_by_what_its_locked_in_stress_does() {
    with(
        "[[ripped]]\nfrom = \"RHS 60x40x3\"\nwidth = 20\nlength = 1000\ncount = 3",
        &[],
        |basis| {
            let bow = super::ripped::bow_mm(basis.job, &basis.job.ripped[0]);
            let by_hand = 0.4 * basis.job.material.yield_mpa * 1e6 / (8.0 * 210_000.0 * 20.0);
            assert!((bow - by_hand).abs() < 1e-9, "{bow}");
            let said = super::ripped::sentences(basis.job);
            assert!(
                said[0].contains("Rip 3 strips") && said[0].contains("common practice, no source"),
                "{said:?}"
            );
        },
    );
}

#[test]
fn cautions_stand_in_the_step_they_belong_to() {
    let all = whole(
        "[finish]\nstock = \"galvanised\"\nflush = [1]\ncoating = \"paint\"",
        &[],
    );
    let of = |id: &str| {
        all.steps
            .iter()
            .find(|step| step.id == id)
            .expect("a step")
            .cautions
            .join(" ")
    };
    assert!(of("weld").contains("zinc") && of("clean").contains("zinc"));
    assert!(of("dress").contains("sparks"));
    assert!(of("finish").contains("phosgene"));
    assert!(!of("hang").contains("zinc"));
}
