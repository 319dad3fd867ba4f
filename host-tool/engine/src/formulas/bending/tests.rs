//! Laws of bending: whatever the bar, and on any input.

use super::{Bar, BarMetal, Press, Profile, Row, bearing_limit, strain_limit};
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

/// The shape that its shims are cut for is the shape that the presses make: the place in the middle is as high as the bow,
/// all are on an even bow but for the last part of it, and one bend instead of several is a kink.
#[test]
fn several_bends_make_an_even_bow_and_one_makes_a_kink() {
    let steel = BarMetal {
        hardening: 0.01,
        ..STEEL
    };
    let bar = Bar::new(Profile::tube(40.0, 40.0, 3.0, [6.0, 3.0]).unwrap(), steel).unwrap();
    let (length, bow) = (1500.0, 4.0);
    let off_even = |count: usize| {
        let press = Row::press_at(length, count, 60.0).unwrap();
        let row = Row::for_bow(&bar, press, count, bow).unwrap();
        let heights = row.heights_mm();
        assert!((heights[count / 2] - bow).abs() < 0.02, "{heights:?}");
        assert!(row.press.span_mm * count as f64 <= length);
        let ends = row.places_mm[0] - 0.5 * row.press.span_mm;
        assert!(ends >= 0.0, "{row:?}");
        let off = row.places_mm.iter().zip(heights).map(|(at, height)| {
            let part = at / length;
            (height - 4.0 * bow * part * (1.0 - part)).abs()
        });
        off.fold(0.0, f64::max)
    };
    let three = off_even(3);
    assert!(three < bow / 9.0 * 1.5, "{three}");
    assert!(off_even(5) < 0.6 * three);
    // Half-way to the end, an even bow stands at three quarters of its height and a kink at half.
    let press = Row::press_at(length, 1, 60.0).unwrap();
    let kink = Row::for_bow(&bar, press, 1, bow).unwrap();
    assert!((kink.bend_rad * length / 4.0 - bow) / bow < 0.25);
}
