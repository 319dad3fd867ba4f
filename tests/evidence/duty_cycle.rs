//! Duty cycle of power sources in the ten-minute cycle of EN IEC 60974-1.

use coldsquare_core::units::Amperes;
use coldsquare_engine::formulas::duty::{CYCLE, DutyWindow, Rating};
use coldsquare_tests::{assert_close, assert_printed};
use proptest::prelude::*;

fn rated(amps: f64, duty: f64) -> Rating {
    Rating::new(Amperes(amps), duty).expect("a rating")
}

// AWS glossary (awo.aws.org): 300 A at 60 % means six minutes of welding in ten.
#[test]
fn sixty_per_cent_is_six_minutes_in_ten() {
    let seconds = rated(300.0, 0.6).duty_at(Amperes(300.0)).unwrap() * CYCLE.0;
    assert_close(seconds, 6.0 * 60.0, 0.0, 1e-12);
}

// Manual 0-2510 of a power source, 2.06, p. 21: 400 A at 25 % gives 282.8 A at 50 %. (The print has ".5" once
// where it means ".25"; the result is right.)
#[test]
fn four_hundred_amps_at_a_quarter_is_283_at_a_half() {
    let duty = rated(400.0, 0.25).duty_at(Amperes(282.8)).unwrap();
    // The printed 282.8 A is rounded to 0.1 A, 1.8e-4 of the share.
    assert_close(duty, 0.5, 2e-4, 0.0);
}

// Our own arithmetic from the same formula, kept against change.
#[test]
fn other_points_of_a_300_a_source() {
    let source = rated(300.0, 0.6);
    assert_printed(100.0 * source.duty_at(Amperes(250.0)).unwrap(), "86.40");
    assert_printed(100.0 * source.duty_at(Amperes(350.0)).unwrap(), "44.08");
    assert_close(source.duty_at(Amperes(100.0)).unwrap(), 1.0, 0.0, 0.0);
}

#[test]
fn ratings_out_of_range_are_refused() {
    let error = Rating::new(Amperes(300.0), 60.0).expect_err("per cent in place of a fraction");
    assert_eq!(
        error.to_string(),
        "duty cycle: duty cycle is 60; give 0.000001 to 1 (EN IEC 60974-1, ten-minute cycle)"
    );
    assert!(Rating::new(Amperes(0.0), 0.6).is_err());
}

// Six minutes at the rated current take the whole rating of 60 %; four minutes of rest later the first slices go.
#[test]
fn a_build_at_the_rated_point_takes_all_of_it() {
    let source = rated(300.0, 0.6);
    let mut window = DutyWindow::default();
    window.weld(360_000, Amperes(300.0)).unwrap();
    assert_close(window.share_of(source), 1.0, 0.0, 1e-12);
    assert_close(window.arc_fraction(), 0.6, 0.0, 1e-12);
    window.rest(240_000);
    assert_close(window.share_of(source), 1.0, 0.0, 1e-12);
    window.rest(20_000);
    assert_close(window.share_of(source), 340.0 / 360.0, 0.0, 1e-12);
    // Between two slices the oldest is still counted whole: 330 s where the ten minutes hold 325.
    window.rest(15_000);
    assert_close(window.share_of(source), 330.0 / 360.0, 0.0, 1e-12);
    window.rest(3_600_000);
    assert_close(window.share_of(source), 0.0, 0.0, 0.0);
    // Half the current for all of the ten minutes: 0.25 / 0.6 of what the source stands.
    window.weld(600_000, Amperes(150.0)).unwrap();
    assert_close(window.share_of(source), 0.25 / 0.6, 0.0, 1e-12);
}

proptest! {
    /// Against a plain record of every second.
    #[test]
    fn the_window_holds_the_last_ten_minutes_and_at_most_one_slice_more(
        stretches in prop::collection::vec((1..300u64, any::<bool>()), 1..60),
    ) {
        let mut window = DutyWindow::default();
        let mut seconds = Vec::new();
        for (length, lit) in stretches {
            if lit {
                window.weld(length * 1000, Amperes(100.0)).unwrap();
            } else {
                window.rest(length * 1000);
            }
            seconds.extend((0..length).map(|_| lit));
        }
        let lit = seconds.iter().rev().take(600).filter(|&&lit| lit).count();
        let exact = lit as f64 / 600.0;
        let counted = window.arc_fraction();
        prop_assert!(counted >= exact - 1e-12);
        prop_assert!(counted <= (exact + 1.0 / 60.0).min(1.0) + 1e-12);
        prop_assert!((window.share_of(rated(100.0, 1.0)).min(1.0) - counted).abs() < 1e-9);
    }
}
