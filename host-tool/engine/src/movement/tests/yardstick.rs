//! The fast simulation beside slower ways to the same result.

use super::resolve::simulate_by_resolving;
use super::*;
use proptest::collection::vec;
use proptest::prelude::*;

/// Random builds that are compared.
const CASES: u32 = 24;

#[test]
fn the_shape_kept_for_drawing_gives_the_measures_of_the_simulation() {
    let mut job = gate_with_bars(3);
    for (member, at) in [
        (0, p(100.0, 20.0, 0.0)),
        (0, p(1100.0, 20.0, 0.0)),
        (2, p(600.0, 880.0, 0.0)),
    ] {
        clamp(&mut job, member, at);
    }
    job.clamps[1].force = Some(Newtons(100.0));
    let model = MovementModel::new(&job).expect("it stands");
    let shrinkage = model
        .shrinkage(&vec![172.0; job.welds.len()], &Factors::starting())
        .expect("in range");
    let order: Vec<usize> = (0..job.welds.len()).rev().collect();
    let (fast, history) = (
        model.simulate(
            &model.whole_welds(&order),
            &shrinkage,
            &SimulationOptions::after_each_part(),
        ),
        model.history(&order, &shrinkage).expect("it stands"),
    );
    let steps = fast.steps_mm.iter().chain([&fast.released_mm]).zip(
        history
            .steps
            .iter()
            .map(|(_, shape)| shape)
            .chain([&history.released]),
    );
    for (step, (measured, nodes)) in steps.enumerate() {
        // Drawings have no turns of nodes.
        let shown = model.measures().iter().zip(measured);
        for (measure, fast) in shown.filter(|(measure, _)| measure.turns.is_empty()) {
            let drawn: f64 = measure
                .terms
                .iter()
                .map(|term| term.direction.dot(nodes[term.node]))
                .sum();
            assert!(
                (drawn - fast).abs() < 1e-9,
                "step {step}, {}: {drawn} against {fast}",
                measure.name
            );
        }
    }
}

#[test]
fn the_reduced_model_moves_as_the_whole_frame_solved_again_after_each_weld() {
    let mut gate = gate_with_bars(2);
    for (member, at) in [
        (0, p(100.0, 20.0, 0.0)),
        (0, p(1100.0, 20.0, 0.0)),
        (2, p(600.0, 880.0, 0.0)),
    ] {
        clamp(&mut gate, member, at);
    }
    for job in [gate_with_bars(2), gate, stiffened_tube(400.0, 40.0, 80.0)] {
        let model = MovementModel::new(&job).expect("it stands");
        // Very different heats, so that some welds reach yield and others do not.
        let heat: Vec<f64> = (0..job.welds.len())
            .map(|w| 40.0 + 60.0 * (w % 7) as f64)
            .collect();
        let shrinkage = model
            .shrinkage(&heat, &Factors::starting())
            .expect("in range");
        let order: Vec<usize> = (0..job.welds.len())
            .map(|k| (k * 7 + 3) % job.welds.len())
            .collect();
        assert!(
            crate::order::check(&order, job.welds.len()).is_ok(),
            "7 and the number of welds share no factor"
        );
        let fast = model.simulate(
            &model.whole_welds(&order),
            &shrinkage,
            &SimulationOptions::after_each_part(),
        );
        let slow = simulate_by_resolving(&job, &model, &model.whole_welds(&order), &shrinkage)
            .expect("it stands throughout");
        let pairs = fast
            .steps_mm
            .iter()
            .zip(&slow.steps_mm)
            .chain([(&fast.released_mm, &slow.released_mm)]);
        let scale = slow
            .released_mm
            .iter()
            .fold(0.0f64, |most, mm| most.max(mm.abs()));
        for (fast, slow) in pairs.flat_map(|(f, s)| f.iter().zip(s)) {
            assert!((fast - slow).abs() <= 1e-9 * scale, "{fast} against {slow}");
        }
        for (fast, slow) in fast
            .clamp_forces_n
            .iter()
            .flatten()
            .zip(slow.clamp_forces_n.iter().flatten())
        {
            assert!(
                (fast - slow).abs() <= 1e-3,
                "clamp: {fast} N against {slow} N"
            );
        }
    }
}

#[test]
fn a_build_made_weld_by_weld_is_the_order_simulated_at_once() {
    let held = |clamps: usize| {
        let mut job = gate_with_bars(3);
        let places = [
            (0, p(100.0, 20.0, 0.0)),
            (0, p(1100.0, 20.0, 0.0)),
            (2, p(600.0, 880.0, 0.0)),
        ];
        for (member, at) in places.into_iter().take(clamps) {
            clamp(&mut job, member, at);
        }
        job.clamps
            .iter_mut()
            .for_each(|clamp| clamp.force = Some(Newtons(150.0)));
        job
    };
    for job in (0..=3).map(held) {
        let model = MovementModel::new(&job).expect("it stands");
        let shrinkage = model
            .shrinkage(&vec![172.0; job.welds.len()], &Factors::starting())
            .expect("in range");
        let order: Vec<usize> = (0..job.welds.len()).rev().collect();
        let whole = model.simulate(
            &model.whole_welds(&order),
            &shrinkage,
            &SimulationOptions::after_each_part(),
        );
        let slipped = whole.clamp_slips_mm.iter().any(|&slip| slip > 0.0);
        assert!(
            slipped || job.clamps.len() < 3,
            "three hold each other back"
        );
        let faces = [faces(&job, 0), faces(&job, 1)].concat();
        // The order that was expected must not matter.
        for expected in [&[][..], &order, &faces] {
            let mut build = model.start(&shrinkage, &model.whole_welds(expected));
            order
                .iter()
                .for_each(|&weld| build.apply_part(&model.whole_weld(weld)));
            assert_near(&build.release().released_mm, &whole.released_mm);
        }
        let mut build = model.start(&shrinkage, &model.whole_welds(&order));
        let mut halfway = build.clone();
        for (place, (&weld, step)) in order.iter().zip(&whole.steps_mm).enumerate() {
            build.apply_part(&model.whole_weld(weld));
            if place < order.len() / 2 {
                halfway.apply_part(&model.whole_weld(weld));
            }
            assert_near(&build.measures_mm(), step);
        }
        let released = build.release();
        assert_near(&released.clamped_mm, &whole.clamped_mm);
        assert_near(&released.released_mm, &whole.released_mm);
        assert_near(&released.gaps_mm, &whole.gaps_mm);
        assert_near(
            released.clamp_forces_n.as_flattened(),
            whole.clamp_forces_n.as_flattened(),
        );
        // Another order that parts from this one halfway goes on from a copy.
        let other = [&order[..order.len() / 2], &faces].concat();
        let mut welded = vec![false; order.len()];
        let other: Vec<usize> = other
            .into_iter()
            .filter(|&weld| !std::mem::replace(&mut welded[weld], true))
            .collect();
        other[order.len() / 2..]
            .iter()
            .for_each(|&weld| halfway.apply_part(&model.whole_weld(weld)));
        let whole = model.simulate(
            &model.whole_welds(&other),
            &shrinkage,
            &SimulationOptions::default(),
        );
        assert_near(&halfway.release().released_mm, &whole.released_mm);
    }
}

/// A gate with bars, clamps that may slip and may be released on the way, heats and an order.
#[derive(Clone, Debug)]
struct Build {
    job: Job,
    heat: Vec<f64>,
    order: Vec<usize>,
}

/// Where a clamp holds: member and tenths of its length; its limit, N; welds after and before which it is released.
type Restraints = (usize, u8, Option<f64>, Vec<u16>, Vec<u16>);

fn held(welds: usize) -> impl Strategy<Value = Restraints> {
    let number = move || 1..=u16::try_from(welds).expect("few welds");
    let some = move || prop_oneof![Just(Vec::new()), vec(number(), 1..4)];
    (
        0..4_usize,
        1..10_u8,
        prop_oneof![Just(None), (5.0..500.0_f64).prop_map(Some)],
        some(),
        some(),
    )
}

fn build() -> impl Strategy<Value = Build> {
    let job = gate_with_bars(1);
    let welds = job.welds.len();
    let clamps = vec(held(welds), 0..6);
    let heat = vec(40.0..450.0_f64, welds);
    let order = Just((0..welds).collect::<Vec<_>>()).prop_shuffle();
    (clamps, heat, order).prop_map(move |(clamps, heat, order)| {
        let mut job = job.clone();
        for (member, tenths, force, mut after, before) in clamps {
            let (from, to) = (job.members[member].from, job.members[member].to);
            after.sort_unstable();
            after.dedup();
            after.retain(|weld| !before.contains(weld));
            job.clamps.push(Clamp {
                force: force.map(Newtons),
                release_after: after,
                release_before: before,
                ..Clamp::firm(member, from + (to - from) * (f64::from(tenths) / 10.0))
            });
        }
        Build { job, heat, order }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(CASES))]

    #[test]
    fn clamps_that_slip_and_are_released_on_the_way_move_the_frame_as_when_it_is_solved_again(
        Build { job, heat, order } in build()
    ) {
        let model = MovementModel::new(&job).expect("it stands");
        let shrinkage = model.shrinkage(&heat, &Factors::starting()).expect("in range");
        let fast = model.simulate(&model.whole_welds(&order), &shrinkage, &SimulationOptions::after_each_part());
        let slow = simulate_by_resolving(&job, &model, &model.whole_welds(&order), &shrinkage).expect("it stands throughout");
        let steps = slow.steps_mm.iter().chain([&slow.clamped_mm, &slow.released_mm]);
        let scale = steps.flatten().fold(0.0_f64, |most, mm| most.max(mm.abs()));
        let both = |outcome: &Outcome| -> Vec<f64> {
            let mm = outcome.steps_mm.iter().chain([&outcome.clamped_mm, &outcome.released_mm, &outcome.gaps_mm]);
            mm.chain([&outcome.clamp_slips_mm]).flatten().copied().collect()
        };
        for (fast, slow) in both(&fast).into_iter().zip(both(&slow)) {
            prop_assert!((fast - slow).abs() <= 1e-9 * scale, "{fast} mm against {slow} mm of {scale}");
        }
        let forces = fast.clamp_forces_n.iter().flatten().zip(slow.clamp_forces_n.iter().flatten());
        for (fast, slow) in forces {
            prop_assert!((fast - slow).abs() <= 1e-4, "clamp: {fast} N against {slow} N");
        }
    }
}

/// Printed for docs/decisions/0006: `cargo test --release -p coldsquare-engine solved_again -- --ignored --nocapture`.
#[test]
#[ignore = "takes minutes and prints times"]
fn how_many_times_faster_than_the_frame_solved_again_after_each_weld() {
    println!("| welds | one order | solved again | times faster |");
    println!("|--:|--:|--:|--:|");
    for bars in [1, 11, 46] {
        let job = gate_with_bars(bars);
        let model = MovementModel::new(&job).expect("it stands");
        let shrinkage = shrinkage(&model, HEAT);
        let sequence = model.whole_welds(&faces(&job, 0));
        let fast = fastest_ms(20, || {
            model.simulate(&sequence, &shrinkage, &SimulationOptions::default())
        });
        let slow = fastest_ms(2, || {
            simulate_by_resolving(&job, &model, &sequence, &shrinkage).expect("it stands")
        });
        let (welds, times) = (sequence.len(), slow / fast);
        println!("| {welds} | {fast:.3} ms | {slow:.1} ms | {times:.0} |");
        assert!(times > 10.0, "{times}");
    }
}

/// The fastest of some runs, ms.
fn fastest_ms(runs: usize, run: impl Fn() -> Outcome) -> f64 {
    let one = |_| {
        let start = std::time::Instant::now();
        std::hint::black_box(run());
        start.elapsed().as_secs_f64() * 1e3
    };
    (0..runs).map(one).fold(f64::INFINITY, f64::min)
}
