//! How hot a joint is and how long it takes to cool, at the limits of the formula.

use super::neighbours::Nearby;
use super::*;
use proptest::num::f64::ANY;
use proptest::prelude::*;
use std::string::ToString;
use std::vec::Vec;

#[test]
fn both_series_agree_where_they_meet() {
    for share in [0.01, 0.25, 0.5, 0.9, 1.0] {
        let early = hot_share_of_girth(share, 0.05 - 1e-12);
        let late = hot_share_of_girth(share, 0.05);
        assert!((early - late).abs() < 1e-9, "{share}: {early} {late}");
    }
}

const GATE_CORNER: TubeJoint = TubeJoint {
    metal: Conduction::MILD_STEEL,
    wall: Millimetres(2.0),
    girth: Millimetres(160.0),
    walls: 2,
    start: Celsius(20.0),
    loss_w_m2k: STILL_AIR_W_M2K,
};

/// At first the middle of the weld knows nothing of its ends; in the end the heat is spread over the whole girth.
#[test]
fn the_weld_line_is_all_of_the_heat_at_first_and_its_share_of_the_girth_at_last() {
    for share in [0.1, 0.25, 0.5, 0.9] {
        assert!((hot_share_of_girth(share, 1e-5) - 1.0).abs() < 1e-12);
        assert!((hot_share_of_girth(share, 2.0) - share).abs() < 1e-12);
    }
}

fn weld(heat: f64, ended: f64) -> HeatPulse {
    HeatPulse {
        heat_input: JoulesPerMillimetre(heat),
        length: Millimetres(40.0),
        ended: Seconds(ended),
    }
}

#[test]
fn each_quantity_is_accepted_up_to_its_limits_and_not_beyond() {
    type Set = fn(&mut TubeJoint, &mut HeatPulse, f64);
    // Quantity, least, greatest, and the next values outside.
    let ranges: [(&str, Set, [f64; 2], [f64; 2]); 8] = [
        (
            "thermal conductivity is",
            |joint, _, x| joint.metal.conductivity_w_mk = x,
            [1.0, 500.0],
            [0.999, 500.1],
        ),
        (
            "heat capacity per volume is",
            |joint, _, x| joint.metal.volumetric_heat_j_mm3k = x,
            [0.0005, 0.01],
            [0.000_499, 0.010_01],
        ),
        (
            "wall thickness is",
            |joint, _, x| joint.wall.0 = x,
            [0.5, 20.0],
            [0.499, 20.01],
        ),
        (
            "girth is",
            |joint, _, x| joint.girth.0 = x,
            [10.0, 2000.0],
            [9.99, 2000.1],
        ),
        (
            "number of walls is",
            |joint, _, x| joint.walls = x as u8,
            [1.0, 4.0],
            [0.0, 5.0],
        ),
        (
            "temperature before welding is",
            |joint, _, x| joint.start.0 = x,
            [-20.0, 300.0],
            [-20.1, 300.1],
        ),
        (
            "heat loss to air is",
            |joint, _, x| joint.loss_w_m2k = x,
            [0.0, 1000.0],
            [-0.1, 1000.1],
        ),
        (
            "heat input is",
            |_, pulse, x| pulse.heat_input.0 = x,
            [1.0, 10_000.0],
            [0.99, 10_000.1],
        ),
    ];
    for (quantity, set, limits, beyond) in ranges {
        let judge = |value| {
            let (mut joint, mut pulse) = (GATE_CORNER, weld(200.0, 0.0));
            set(&mut joint, &mut pulse, value);
            joint.temperature(&[pulse], Seconds(10_000.0))
        };
        for value in limits {
            assert!(
                judge(value).is_ok(),
                "{quantity} {value}: {:?}",
                judge(value)
            );
        }
        for value in beyond {
            let error = judge(value).expect_err(quantity).to_string();
            assert!(error.contains(quantity), "{value}: {error}");
        }
    }
}

#[test]
fn the_heat_needs_the_wall_squared_over_the_diffusivity_to_go_through() {
    // Diffusivity of steel 8 mm²/s, wall 3 mm: 9/8 s.
    let joint = TubeJoint {
        wall: Millimetres(3.0),
        ..GATE_CORNER
    };
    let welds = [weld(200.0, 50.0), weld(200.0, 100.0)];
    assert!(joint.temperature(&welds, Seconds(101.125)).is_ok());
    let error = joint.temperature(&welds, Seconds(101.124)).unwrap_err();
    assert!(
        error.to_string().contains("give 101.125 s or more"),
        "{error}"
    );
}

#[test]
fn a_joint_exactly_at_its_limit_needs_no_wait() {
    let welds = [weld(172.0, 0.0)];
    let soaked = GATE_CORNER.temperature(&welds, Seconds(0.5)).unwrap();
    let wait = GATE_CORNER.wait_until_below(soaked, &welds);
    assert_eq!(wait, Ok(Seconds(0.0)));
    let wait = GATE_CORNER.wait_until_below(soaked + Celsius(-0.01), &welds);
    assert!(wait.unwrap().0 > 0.5);

    let nearby = welds.map(|pulse| Nearby {
        pulse,
        away: Millimetres(0.0),
    });
    let wait = |limit| GATE_CORNER.wait_with_neighbours(limit, &nearby, Seconds(0.5));
    assert_eq!(wait(soaked), Ok(Seconds(0.0)));
    assert!(wait(soaked + Celsius(-0.01)).unwrap().0 > 0.0);
}

/// A thin wall that the air takes nothing from: after a day it is still warm.
const KEEPS_WARM: TubeJoint = TubeJoint {
    wall: Millimetres(0.5),
    walls: 1,
    loss_w_m2k: 0.0,
    ..GATE_CORNER
};

#[test]
fn a_limit_that_a_day_does_not_reach_is_refused_with_what_it_reaches() {
    let welds = [weld(10_000.0, 500.0)];
    let day = Seconds(500.0) + MAX_WAIT;
    let reached = KEEPS_WARM.temperature(&welds, day).unwrap();
    assert!(reached.0 > 100.0, "{reached:?}");
    for limit in [Celsius(100.0), reached + Celsius(-1e-6)] {
        let error = KEEPS_WARM.wait_until_below(limit, &welds).unwrap_err();
        assert_eq!(error.quantity, "interpass limit");
        assert_eq!(error.allowed, Allowed::AtLeast(reached.0));
    }
    let wait = KEEPS_WARM.wait_until_below(reached + Celsius(1e-3), &welds);
    assert!(wait.is_ok_and(|wait| wait.0 < MAX_WAIT.0));
    assert_eq!(MAX_WAIT, Seconds(86_400.0));
}

fn beside(welds: &[HeatPulse], away: f64) -> Vec<Nearby> {
    let nearby = |pulse: &HeatPulse| Nearby {
        pulse: *pulse,
        away: Millimetres(away),
    };
    welds.iter().map(nearby).collect()
}

#[test]
fn a_neighbour_that_keeps_the_joint_hot_for_a_day_is_refused() {
    let hot = beside(&[weld(10_000.0, 0.0)], 0.0);
    let day = |limit| KEEPS_WARM.wait_with_neighbours(limit, &hot, Seconds(0.0));
    let reached = KEEPS_WARM
        .temperature(&[weld(10_000.0, 0.0)], MAX_WAIT)
        .unwrap();
    for limit in [Celsius(100.0), reached + Celsius(-1e-6)] {
        let error = day(limit).unwrap_err();
        assert_eq!(error.quantity, "interpass limit");
        assert_eq!(error.allowed, Allowed::AtLeast(reached.0));
    }
    let wait = day(reached + Celsius(1e-3));
    assert!(wait.is_ok_and(|wait| wait.0 < MAX_WAIT.0), "{wait:?}");
}

#[test]
fn a_neighbour_is_accepted_from_the_joint_itself_to_a_hundred_metres_at_any_time_of_the_clock() {
    let judge = |away, now| {
        GATE_CORNER.wait_with_neighbours(
            Celsius(100.0),
            &beside(&[weld(172.0, 0.0)], away),
            Seconds(now),
        )
    };
    for (away, now) in [(0.0, 0.0), (1e5, 0.0), (50.0, -1e9), (50.0, 1e9)] {
        assert!(judge(away, now).is_ok(), "{away} mm, {now} s");
    }
    for (away, now, quantity) in [
        (-0.1, 0.0, "distance along the tube"),
        (100_000.1, 0.0, "distance along the tube"),
        (0.0, -1.1e9, "time"),
        (0.0, 1.1e9, "time"),
    ] {
        assert_eq!(judge(away, now).unwrap_err().quantity, quantity);
    }
    let limit = GATE_CORNER.start;
    let at_start = GATE_CORNER.wait_with_neighbours(limit, &[], Seconds(0.0));
    assert_eq!(at_start.unwrap_err().quantity, "interpass limit");
}

/// The joint is cool for a while before the heat of a large weld 200 mm away arrives, and can be welded then.
#[test]
fn heat_that_arrives_later_need_not_be_waited_for() {
    let own = weld(172.0, 0.0);
    let large = HeatPulse {
        length: Millimetres(160.0),
        ..weld(10_000.0, 0.0)
    };
    let mut both = beside(&[own], 0.0);
    both.extend(beside(&[large], 200.0));
    let wait = |welds: &[Nearby], now| {
        GATE_CORNER
            .wait_with_neighbours(Celsius(60.0), welds, Seconds(now))
            .unwrap()
            .0
    };
    let alone = wait(&both[..1], 0.0);
    let among = wait(&both, 0.0);
    assert!(alone > 60.0 && among >= alone, "{alone} {among}");
    assert!(among < 1.1 * alone, "{alone} {among}");
    assert!(wait(&both, 450.0) > 1000.0);
}

/// Two ways to the same answer: welds on the joint itself, and neighbours no distance away.
#[test]
fn a_neighbour_no_distance_away_is_a_weld_on_the_joint() {
    let welds = [weld(172.0, 0.0), weld(150.0, 60.0)];
    for limit in [60.0, 100.0, 180.0, 250.0] {
        let alone = GATE_CORNER
            .wait_until_below(Celsius(limit), &welds)
            .unwrap();
        let among = GATE_CORNER
            .wait_with_neighbours(Celsius(limit), &beside(&welds, 0.0), Seconds(60.0))
            .unwrap();
        assert!(
            (alone / among - 1.0).abs() < 1e-5,
            "{limit} °C: {alone:?} {among:?}"
        );
    }
}

proptest! {
    #[test]
    fn any_input_gives_a_sound_result_or_an_error(
        value in prop::array::uniform9(ANY), walls in any::<u8>(), field in 0..10usize,
    ) {
        let [conductivity, heat, wall, girth, start, loss, input, length, ended] = value;
        let mut joint = GATE_CORNER;
        let mut pulse = HeatPulse {
            heat_input: JoulesPerMillimetre(200.0), length: Millimetres(40.0), ended: Seconds(0.0),
        };
        // One wild field at a time, so that the others let it through to the arithmetic.
        match field {
            0 => joint.metal.conductivity_w_mk = conductivity,
            1 => joint.metal.volumetric_heat_j_mm3k = heat,
            2 => joint.wall.0 = wall,
            3 => joint.girth.0 = girth,
            4 => joint.start.0 = start,
            5 => joint.loss_w_m2k = loss,
            6 => pulse.heat_input.0 = input,
            7 => pulse.length.0 = length,
            8 => pulse.ended.0 = ended,
            _ => joint.walls = walls,
        }
        if let Ok(hot) = joint.temperature(&[pulse], Seconds(100.0)) {
            prop_assert!(hot.is_finite() && hot.0 >= joint.start.0);
        }
        if let Ok(wait) = joint.wait_until_below(Celsius(100.0), &[pulse]) {
            prop_assert!(wait.0 >= 0.0 && wait.0 <= MAX_WAIT.0);
        }
        let _ = GATE_CORNER.temperature(&[pulse], Seconds(ended));
        let _ = GATE_CORNER.wait_until_below(Celsius(start), &[pulse]);
    }

    #[test]
    fn after_the_wait_the_joint_is_at_the_limit(
        heat in 50.0..600.0f64, length in 5.0..160.0f64, limit in 60.0..250.0f64, walls in 2..4u8,
    ) {
        let joint = TubeJoint { walls, ..GATE_CORNER };
        let pulses = [0.0, 30.0].map(|ended| HeatPulse {
            heat_input: JoulesPerMillimetre(heat), length: Millimetres(length), ended: Seconds(ended),
        });
        let wait = joint.wait_until_below(Celsius(limit), &pulses).unwrap();
        prop_assume!(wait.0 > 0.0);
        let reached = joint.temperature(&pulses, Seconds(30.0) + wait).unwrap();
        prop_assert!((reached.0 - limit).abs() < 0.01, "{reached:?}");
    }
}
