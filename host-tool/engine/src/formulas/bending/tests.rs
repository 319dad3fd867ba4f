//! Laws of bending: whatever the bar, and on any input.

use super::{Bar, BarMetal, Press, Profile, bearing_limit, strain_limit};
use proptest::num::f64::ANY;
use proptest::prelude::*;

const STEEL: BarMetal = BarMetal {
    modulus_mpa: 210_000.0,
    yield_mpa: 235.0,
    hardening: 0.0,
};

proptest! {
    #[test]
    fn moment_rises_with_curvature_up_to_the_plastic_moment(
        depth in 10.0..100.0f64, width in 10.0..100.0f64, times in 0.1..50.0f64, more in 1.001..2.0f64,
    ) {
        let wall = 0.08 * depth.min(width);
        let tube = Profile::tube(depth, width, wall, [2.0 * wall, wall]).unwrap();
        let bar = Bar::new(tube, STEEL).unwrap();
        let curvature = times * bar.yield_curvature_per_mm();
        let (one, two) = (bar.moment_n_mm(curvature), bar.moment_n_mm(curvature * more));
        prop_assert!(two > one * (1.0 - 1e-12), "{one} {two}");
        prop_assert!(two <= bar.plastic_moment_n_mm() * (1.0 + 1e-9));
        let kept = curvature - one / bar.stiffness_n_mm2();
        if times > 1.05 {
            prop_assert!(kept > 0.0 && kept < curvature);
        } else if times < 1.0 {
            prop_assert!(kept.abs() < 1e-12 * curvature);
        }
    }

    #[test]
    fn pressing_to_keep_a_bow_keeps_it(
        depth in 20.0..80.0f64, length in 800.0..3000.0f64, part in 0.3..1.0f64, apart in 0.1..0.6f64,
        bow in 0.0003..0.004f64,
    ) {
        let wall = 0.07 * depth;
        let bar = Bar::new(Profile::tube(depth, depth, wall, [2.0 * wall, wall]).unwrap(), STEEL).unwrap();
        // A span of a few depths kinks rather than bends; no press gets a bow of the whole bar out of it.
        let span_mm = (part * length).max(8.0 * depth);
        let press = Press { span_mm, apart_mm: apart * span_mm, length_mm: length }.checked().unwrap();
        let pressed = press.for_kept(&bar, bow * length);
        prop_assert!((pressed.kept_over_length_mm / (bow * length) - 1.0).abs() < 1e-3, "{pressed:?}");
        let again = press.for_travel(&bar, pressed.travel_mm);
        prop_assert!((again.kept_over_length_mm / pressed.kept_over_length_mm - 1.0).abs() < 1e-3);
        prop_assert!(pressed.travel_mm > pressed.kept_over_span_mm);
    }

    #[test]
    fn any_input_gives_a_number_or_an_error(a in ANY, b in ANY, c in ANY, d in ANY, e in ANY) {
        let profiles = [
            Profile::bar(a, b), Profile::round_bar(a), Profile::tube(a, b, c, [d, e]), Profile::round_tube(a, b),
            Profile::bar(20.0, 5.0),
        ];
        let metal = BarMetal { modulus_mpa: c, yield_mpa: d, hardening: e };
        for profile in profiles.into_iter().flatten() {
            prop_assert!(profile.plastic_modulus_mm3().is_finite());
            let _ = bearing_limit(&profile, metal, a);
            for bar in [Bar::new(profile, metal), Bar::new(profile, STEEL)].into_iter().flatten() {
                let press = Press { span_mm: a, apart_mm: b, length_mm: c };
                if let Ok(press) = press.checked() {
                    let _ = press.for_kept(&bar, d);
                }
                prop_assert!(bar.moment_n_mm(1.0).is_finite());
                let _ = strain_limit(&profile, metal);
            }
        }
    }
}

#[test]
fn a_step_goes_on_where_the_last_one_ended() {
    let bar = Bar::new(Profile::tube(40.0, 40.0, 3.0, [6.0, 3.0]).unwrap(), STEEL).unwrap();
    // Pushed along one line a bar that does not harden only kinks; packing spreads the push.
    let press = Press {
        span_mm: 800.0,
        apart_mm: 60.0,
        length_mm: 1160.0,
    };
    let first = press.step(&bar, 4.0, 4.0, 1.0);
    let second = press.step(&bar, 4.0, 1.0, 0.0);
    let at_once = press.step(&bar, 4.0, 4.0, 0.0);
    assert!(
        (first.left_mm - 1.0).abs() < 1e-3 && second.left_mm.abs() < 1e-3,
        "{first:?} {second:?} {at_once:?}"
    );
    assert!(second.travel_mm < at_once.travel_mm && at_once.past_straight_mm > 0.0);
    assert!((second.force_n - at_once.force_n).abs() < 1e-6 * at_once.force_n);
    // The yield is found again from what stayed.
    let pressed = press.for_kept(&bar, 3.0);
    let off = Bar::new(
        *bar.profile(),
        BarMetal {
            yield_mpa: 260.0,
            ..STEEL
        },
    )
    .unwrap();
    let learned = press.yield_learned(&off, pressed.travel_mm, 3.0).unwrap();
    assert!(
        (learned.expect("in range") - 235.0).abs() < 0.5,
        "{learned:?}"
    );
}
