//! What clamps do to the movement, and what happens when they slip or are released.

use super::*;
use crate::algebra::hypot3 as length;

#[test]
fn a_clamp_that_hardly_holds_is_no_clamp_and_one_that_holds_enough_is_firm() {
    let mut job = gate_with_bars(3);
    for (member, at) in [
        (0, p(100.0, 20.0, 0.0)),
        (0, p(1100.0, 20.0, 0.0)),
        (2, p(600.0, 880.0, 0.0)),
    ] {
        clamp(&mut job, member, at);
    }
    // Nothing yields: a weld yields against a clamp before the clamp slips.
    job.material.yield_mpa = 1e6;
    let simulated = |job: &Job| {
        let model = MovementModel::new(job).expect("it stands");
        let shrinkage = shrinkage(&model, HEAT);
        let order = [faces(job, 0), faces(job, 1)].concat();
        model.simulate(
            &model.whole_welds(&order),
            &shrinkage,
            &SimulationOptions::after_each_part(),
        )
    };
    let without = simulated(&job);
    clamp(&mut job, 1, p(1180.0, 450.0, 0.0));
    let mut with = |force: Option<f64>| {
        job.clamps[3].force = force.map(Newtons);
        simulated(&job)
    };
    let firm = with(None);
    let size = |outcome: &Outcome| length(outcome.clamp_forces_n[3]);
    let held = size(&firm);
    assert!(held > 50.0, "{held}");
    let enough = with(Some(1e6));
    assert_near(&enough.released_mm, &firm.released_mm);
    assert_eq!(enough.clamp_slips_mm, [0.0; 4]);

    let hardly = with(Some(1e-6));
    let steps = hardly.steps_mm.iter().zip(&without.steps_mm);
    for (hardly, without) in steps.chain([(&hardly.released_mm, &without.released_mm)]) {
        for (one, other) in hardly.iter().zip(without) {
            assert!((one - other).abs() < 1e-6, "{one} against {other}");
        }
    }
    // A clamp that slips without holding moves as far as the free frame.
    assert!(hardly.clamp_slips_mm[3] > 0.01);

    let half = with(Some(held / 2.0));
    assert!((size(&half) / (held / 2.0) - 1.0).abs() < 1e-6);
    assert!(half.clamp_slips_mm[3] > 0.0 && half.clamp_slips_mm[3] < hardly.clamp_slips_mm[3]);
    assert_eq!(half.clamp_slips_mm[..3], [0.0; 3]);

    // If none of them holds, the frame moves freely.
    job.clamps
        .iter_mut()
        .for_each(|clamp| clamp.force = Some(Newtons(1e-6)));
    let loose = simulated(&job);
    job.clamps.clear();
    for (loose, free) in loose.released_mm.iter().zip(&simulated(&job).released_mm) {
        assert!((loose - free).abs() < 1e-6, "{loose} against {free}");
    }
}

#[test]
fn clamps_lower_the_final_bow_and_release_gives_part_of_it_back() {
    let free = stiffened_tube(1000.0, 40.0, 40.0);
    let mut clamped = free.clone();
    for (k, x) in [20.0, 260.0, 500.0, 740.0, 980.0].into_iter().enumerate() {
        clamp(
            &mut clamped,
            0,
            p(x, if k % 2 == 0 { 20.0 } else { -20.0 }, 0.0),
        );
    }
    let order = front_of(&free);
    let model = MovementModel::new(&clamped).expect("it stands");
    let shrinkage = model
        .shrinkage(&vec![HEAT; clamped.welds.len()], &Factors::starting())
        .expect("in range");
    let outcome = model.simulate(
        &model.whole_welds(&order),
        &shrinkage,
        &SimulationOptions::default(),
    );
    let at = model
        .measures()
        .iter()
        .position(|m| m.name == "bow of tube, towards the front")
        .expect("slender");
    let (held, let_go) = (outcome.clamped_mm[at].abs(), outcome.released_mm[at].abs());
    let never_held = bow_of_tube(&free, &order, HEAT).abs();
    assert!(
        held < 0.2 * never_held,
        "clamps hold: {held} against {never_held}"
    );
    assert!(
        let_go > held,
        "release gives some back: {let_go} against {held}"
    );
    assert!(
        let_go < never_held,
        "but not all: {let_go} against {never_held}"
    );
}

/// The gate with three bars and this many firm clamps on its rails and uprights.
fn clamped_gate(clamps: usize) -> Job {
    let mut job = gate_with_bars(3);
    let places = [
        (0, p(100.0, 20.0, 0.0)),
        (0, p(1100.0, 20.0, 0.0)),
        (2, p(600.0, 880.0, 0.0)),
        (1, p(1180.0, 450.0, 0.0)),
    ];
    for (member, at) in places.into_iter().take(clamps) {
        clamp(&mut job, member, at);
    }
    job
}

/// All fronts, then all backs.
fn fronts_then_backs(job: &Job) -> Vec<usize> {
    [faces(job, 0), faces(job, 1)].concat()
}

fn numbers(welds: &[usize]) -> Vec<u16> {
    let number = |&weld: &usize| u16::try_from(weld + 1).expect("few welds");
    welds.iter().map(number).collect()
}

#[test]
fn clamps_released_after_the_last_weld_are_released_at_the_end() {
    let usual = clamped_gate(4);
    let order = fronts_then_backs(&usual);
    let at_the_end = simulated(&usual, &order);
    // One waits for the last weld, one for all welds; the other two have no time of release.
    let mut timed = usual.clone();
    timed.clamps[0].release_after = numbers(&order[order.len() - 1..]);
    timed.clamps[2].release_after = numbers(&order);
    let on_the_way = simulated(&timed, &order);
    assert_near(&on_the_way.released_mm, &at_the_end.released_mm);
    for clamp in [0, 2] {
        assert_near(
            &on_the_way.clamp_forces_n[clamp],
            &at_the_end.clamp_forces_n[clamp],
        );
    }
}

#[test]
fn a_clamp_that_is_off_for_every_weld_is_no_clamp() {
    // Of four clamps three still hold the frame; of three, two and the table.
    for clamps in [4, 3] {
        let mut timed = clamped_gate(clamps);
        let order = fronts_then_backs(&timed);
        timed.clamps[clamps - 1].release_before = numbers(&order);
        let (without, off) = (
            simulated(&clamped_gate(clamps - 1), &order),
            simulated(&timed, &order),
        );
        assert_near(&off.steps_mm.concat(), &without.steps_mm.concat());
        assert_near(&off.released_mm, &without.released_mm);
        assert_near(&off.clamp_forces_n[clamps - 1], &[0.0; 3]);
    }
}

#[test]
fn the_sooner_the_clamps_are_released_the_more_it_bows() {
    let mut job = stiffened_tube(1000.0, 40.0, 40.0);
    let order = front_of(&job);
    let never_held = bow_of_tube(&job, &order, HEAT).abs();
    for (k, x) in [20.0, 260.0, 500.0, 740.0, 980.0].into_iter().enumerate() {
        let beside = if k % 2 == 0 { 20.0 } else { -20.0 };
        clamp(&mut job, 0, p(x, beside, 0.0));
    }
    let mut off_after = |welds: usize| {
        for clamp in &mut job.clamps {
            clamp.release_after = numbers(&order[..welds]);
        }
        bow_of_tube(&job, &order, HEAT).abs()
    };
    let bows = [10, 15, 20, 25].map(&mut off_after);
    assert!(bows[3] < never_held, "{bows:?} against {never_held}");
    assert!(
        bows.is_sorted_by(|sooner, later| sooner > later),
        "{bows:?}"
    );
}

#[test]
fn the_force_of_a_clamp_is_that_just_before_its_release() {
    let mut job = clamped_gate(4);
    let order = fronts_then_backs(&job);
    let half = order.len() / 2;
    let shorter = simulated(&job, &order[..half]);
    job.clamps[3].release_after = numbers(&order[..half]);
    let whole = simulated(&job, &order);
    assert_near(&whole.clamp_forces_n[3], &shorter.clamp_forces_n[3]);
    assert!(length(whole.clamp_forces_n[3]) > 50.0);
}
