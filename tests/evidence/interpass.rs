//! How hot a joint of thin tube stays, and the wait between runs: against the standard's thin plate, an energy balance and
//! finite differences. No measured temperature of a tube joint with all its inputs was found in print.

use coldsquare_core::interpass::neighbours::Nearby;
use coldsquare_core::interpass::{Conduction, HeatPulse, TubeJoint};
use coldsquare_core::units::{Celsius, JoulesPerMillimetre, Millimetres, Seconds};
use coldsquare_engine::formulas::cooling::{Cooling, ShapeFactors};
use coldsquare_tests::assert_close;

const CORNER: TubeJoint = TubeJoint {
    metal: Conduction::MILD_STEEL,
    wall: Millimetres(2.0),
    girth: Millimetres(160.0),
    walls: 2,
    start: Celsius(20.0),
    loss_w_m2k: 0.0,
};

fn pulse(heat: f64, length: f64, ended: f64) -> HeatPulse {
    HeatPulse {
        heat_input: JoulesPerMillimetre(heat),
        length: Millimetres(length),
        ended: Seconds(ended),
    }
}

// Rosenthal 1941, thin plate, instantaneous line source: T − T0 = Q/(d·√(4π·λ·ρc·t)). From memory (Grong,
// Metallurgical Modelling of Welding, 2nd ed. 1997, ch. 1). Its t8/5 is the two-dimensional formula of EN
// 1011-2, whose constants are λρc fitted to practice; so with that λρc both must agree.
#[test]
fn a_weld_all_round_the_tube_is_the_thin_plate_of_the_standard() {
    let (heat, thickness) = (200.0, 3.0);
    // (4300 − 4.3·T0)·10⁵ in the standard's units is 1/(4π·λ·ρc), with Q in kJ/mm and lengths in mm.
    let lambda_rho_c = 1e6 / (4.0 * std::f64::consts::PI * (4300.0 - 4.3 * 20.0) * 1e5);
    let metal = Conduction {
        volumetric_heat_j_mm3k: 5.0e-3,
        conductivity_w_mk: lambda_rho_c / 5.0e-3 * 1e3,
    };
    let joint = TubeJoint {
        metal,
        wall: Millimetres(thickness),
        ..CORNER
    };
    let weld = [pulse(heat, 160.0, 0.0)];
    let to = |limit| joint.wait_until_below(Celsius(limit), &weld).unwrap().0;
    let bead_on_plate = ShapeFactors {
        thin: 1.0,
        thick: 1.0,
    };
    let standard = Cooling::new(Celsius(20.0), bead_on_plate)
        .unwrap()
        .thin_plate_time(JoulesPerMillimetre(heat), Millimetres(thickness))
        .unwrap();
    assert_close(to(500.0) - to(800.0), standard.0, 0.0, 1e-5);
}

// With three walls in place of two the heat of each falls to two thirds, and the time by its square, 0.44. SEW 088
// Beiblatt 2 has 0.45 as the least F2 of a T joint, for the same reason.
#[test]
fn a_tee_cools_as_its_shape_factor_says() {
    let weld = [pulse(200.0, 160.0, 0.0)];
    let butt = CORNER.wait_until_below(Celsius(300.0), &weld).unwrap();
    let tee = TubeJoint { walls: 3, ..CORNER }
        .wait_until_below(Celsius(300.0), &weld)
        .unwrap();
    assert_close(tee / butt, 0.45, 0.01, 0.0);
}

// The energy balance: long after the weld a short weld and a weld all round of the same energy look alike.
#[test]
fn what_counts_in_the_end_is_the_energy() {
    let long_after = Seconds(2000.0);
    let short = CORNER
        .temperature(&[pulse(400.0, 40.0, 0.0)], long_after)
        .unwrap();
    let round = CORNER
        .temperature(&[pulse(100.0, 160.0, 0.0)], long_after)
        .unwrap();
    assert_close(short.0 - 20.0, round.0 - 20.0, 0.0, 0.01);
    // A weld cannot run round more than once, so no more than the girth counts.
    let longer = CORNER
        .temperature(&[pulse(100.0, 300.0, 0.0)], long_after)
        .unwrap();
    assert_close(longer.0, round.0, 0.0, 1e-12);
}

/// Heat conduction round and along the wall by explicit finite differences: a second opinion on the closed form.
fn finite_differences(joint: TubeJoint, heat: f64, length: f64, seconds: f64) -> f64 {
    let cell = 2.0;
    let around = (joint.girth.0 / cell) as usize;
    let along = 250;
    let per_area = joint.metal.volumetric_heat_j_mm3k * joint.wall.0;
    let diffusivity = joint.metal.conductivity_w_mk * 1e-3 / joint.metal.volumetric_heat_j_mm3k;
    let step = 0.2 * cell * cell / diffusivity;
    let mut rise = vec![vec![0.0f64; around]; along];
    let hot = (length / cell) as usize;
    // Half of the heat goes to each side of the line: one half-space, with the line at its closed edge.
    rise[0][..hot].fill(0.5 * heat / (per_area * cell));
    let loss = joint.loss_w_m2k * 1e-6 / per_area;
    for _ in 0..(seconds / step) as usize {
        let old = rise.clone();
        for x in 0..along {
            for y in 0..around {
                let left = old[x.saturating_sub(1)][y];
                let right = old[(x + 1).min(along - 1)][y];
                let (up, down) = (old[x][(y + 1) % around], old[x][(y + around - 1) % around]);
                rise[x][y] += step
                    * (diffusivity * (left + right + up + down - 4.0 * old[x][y]) / (cell * cell)
                        - loss * old[x][y]);
            }
        }
    }
    joint.start.0 + rise[0][hot / 2 - 1]
}

#[test]
fn the_closed_form_agrees_with_finite_differences() {
    let joint = TubeJoint {
        loss_w_m2k: 15.0,
        ..CORNER
    };
    for seconds in [20.0, 120.0, 600.0] {
        let closed = joint
            .temperature(&[pulse(172.0, 40.0, 0.0)], Seconds(seconds))
            .unwrap();
        let stepped = finite_differences(joint, 172.0, 40.0, seconds);
        assert_close(closed.0 - 20.0, stepped - 20.0, 0.0, 0.01);
    }
}

#[test]
fn an_earlier_weld_nearby_lengthens_the_wait() {
    let limit = Celsius(150.0);
    let alone = CORNER
        .wait_until_below(limit, &[pulse(172.0, 40.0, 60.0)])
        .unwrap();
    let warmed = CORNER
        .wait_until_below(limit, &[pulse(172.0, 40.0, 0.0), pulse(172.0, 40.0, 60.0)])
        .unwrap();
    assert!(
        warmed.0 > 1.5 * alone.0 && alone.0 > 10.0,
        "{alone:?} {warmed:?}"
    );
    assert_close(
        CORNER.wait_until_below(limit, &[]).unwrap().0,
        0.0,
        0.0,
        0.0,
    );
    let error = CORNER
        .wait_until_below(Celsius(15.0), &[pulse(172.0, 40.0, 0.0)])
        .unwrap_err();
    assert!(
        error
            .to_string()
            .contains("interpass limit is 15 °C; give more than 20 °C"),
        "{error}"
    );
}

// Before the heat has run through the wall there is no one temperature to give.
#[test]
fn too_soon_after_a_weld_is_refused() {
    let weld = [pulse(172.0, 40.0, 100.0)];
    // 2 mm of steel take 4 mm² / 8 mm²/s = half a second.
    assert!(CORNER.temperature(&weld, Seconds(100.6)).is_ok());
    let error = CORNER.temperature(&weld, Seconds(100.2)).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("time is 100.2 s; give 100.5 s or more"),
        "{error}"
    );
}

/// How far these welds have warmed the joint, K: the joint is no hotter than a limit that needs no wait.
fn rise_beside(welds: &[Nearby], at: f64) -> f64 {
    let (mut hotter, mut cooler) = (0.0, 4000.0);
    for _ in 0..60 {
        let middle = 0.5 * (hotter + cooler);
        let limit = Celsius(20.0 + middle);
        let wait = CORNER.wait_with_neighbours(limit, welds, Seconds(at));
        if wait == Ok(Seconds(0.0)) {
            cooler = middle;
        } else {
            hotter = middle;
        }
    }
    cooler
}

// Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, 10.3 (from memory): an instantaneous plane source warms a
// point at x most at t = x²/(2a), and to Q/(ρc·x·√(2πe)), Q per area. Q here is the heat per length over the walls that
// take it away, two walls' thickness for a butt.
#[test]
fn a_weld_on_a_neighbour_warms_the_joint_most_when_the_plane_source_does_and_as_much() {
    let (heat, away) = (200.0, 60.0);
    let weld = [Nearby {
        pulse: pulse(heat, 160.0, 0.0),
        away: Millimetres(away),
    }];
    let rise = |at: f64| rise_beside(&weld, at);
    let a = CORNER.metal.conductivity_w_mk * 1e-3 / CORNER.metal.volumetric_heat_j_mm3k;
    let warmest = away * away / (2.0 * a);
    assert!(rise(warmest) > rise(0.98 * warmest) && rise(warmest) > rise(1.02 * warmest));
    let per_area = 2.0 * heat / (2.0 * CORNER.wall.0);
    let two_pi_e = 2.0 * std::f64::consts::PI * std::f64::consts::E;
    let expected = per_area / (CORNER.metal.volumetric_heat_j_mm3k * away * two_pi_e.sqrt());
    assert_close(rise(warmest), expected, 0.0, 1e-6);
}

// What comes along the tube in both directions is all that was put in: nothing is lost where the air takes nothing.
#[test]
fn the_heat_along_the_tube_sums_to_what_was_put_in() {
    let (heat, at) = (200.0, 300.0);
    let rise = |away: f64| {
        let weld = [Nearby {
            pulse: pulse(heat, 160.0, 0.0),
            away: Millimetres(away),
        }];
        rise_beside(&weld, at)
    };
    // J per millimetre of girth, out along each of the two walls.
    let per_degree = CORNER.metal.volumetric_heat_j_mm3k * CORNER.wall.0;
    let one_wall: f64 = (0..2000)
        .map(|mm| rise(f64::from(mm) + 0.5) * per_degree)
        .sum();
    assert_close(2.0 * one_wall, heat, 0.0, 1e-3);
}
