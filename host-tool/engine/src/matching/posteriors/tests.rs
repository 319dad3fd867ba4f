//! The chance of a match is the share of all ways to read the log that have it.

use super::*;
use crate::matching::interpretation::Item;
use crate::matching::samples::Log;
use coldsquare_core::units::Seconds;

fn chances(log: &Log) -> Posteriors {
    log.trellis(forward_backward)
}

fn assert_chance(found: f32, expected: f64) {
    assert!(
        (f64::from(found) - expected).abs() < 1e-5,
        "{found} in place of {expected}"
    );
}

#[test]
fn a_bead_that_is_odd_for_its_weld_may_be_none() {
    // Made, with a length that tells nothing: 0.030 + 4.382 = 4.412. Extra, and the weld not made yet: 5.298 + 2.303 =
    // 7.601; or left out: 5.298 + 3.507 = 8.805.
    let (made, not_yet, left_out) = (f64::exp(-4.412), f64::exp(-7.601), f64::exp(-8.805));
    let all = made + not_yet + left_out;
    let found = chances(&Log::new(&[(10.0, 1)], &[(5.0, 200.0)]));
    assert_eq!((found.len(), found[0].len()), (1, 2));
    assert_chance(found[0][0], made / all);
    assert_chance(found[0][1], (not_yet + left_out) / all);
    // That is 95 % and 5 %.
    assert!((0.949..0.950).contains(&found[0][0]), "{}", found[0][0]);
}

#[test]
fn two_beads_of_one_weld_share_it() {
    // One of them, 0.48911, and the other extra, 5.298; or both with a stop, a pause of ln 3, and twice the arc time,
    // (ln 2/0.6)²/2 = 0.66730; or both extra.
    let one = f64::exp(-(0.48911 + 5.298));
    let both = f64::exp(-(0.48911 + 0.66730 + 2.303 + 1.09861));
    let none = f64::exp(-(2.0 * 5.298 + 2.303)) + f64::exp(-(2.0 * 5.298 + 3.507));
    let all = 2.0 * one + both + none;
    let found = chances(&Log::new(&[(10.0, 1)], &[(5.0, 10.0), (5.0, 10.0)]));
    for bead in &found {
        assert_chance(bead[0], (one + both) / all);
        assert_chance(bead[1], (one + none) / all);
    }
}

#[test]
fn every_bead_is_one_weld_or_none_whatever_happened() {
    let mut log = Log::new(
        &[(10.0, 1), (20.0, 2), (15.0, 1), (10.0, 1)],
        &[
            (5.0, 9.0),
            (5.0, 11.0),
            (30.0, 8.0),
            (5.0, 15.0),
            (5.0, 10.0),
        ],
    );
    log.hole(31.0, 59.0, None);
    log.beads[1].may_be_missing = Seconds(20.0);
    log.beads[2].may_be_missing = Seconds(20.0);
    log.happened(vec![
        Item::Bead(0),
        Item::Bead(1),
        Item::Bead(2),
        Item::Redo(None),
        Item::Bead(3),
        Item::Visit(3),
        Item::Bead(4),
    ]);
    for (found, item) in chances(&log).iter().zip(&log.interpretation.items) {
        let sum: f64 = found.iter().map(|&chance| f64::from(chance)).sum();
        let expected = if matches!(item, Item::Bead(_)) {
            1.0
        } else {
            0.0
        };
        assert!((sum - expected).abs() < 1e-5, "{item:?}: {sum}");
    }
}

#[test]
fn chances_add_up_as_logarithms() {
    let sum = |a: f64, b: f64| add_logs(a.ln(), b.ln()).exp();
    assert!((sum(0.2, 0.3) - 0.5).abs() < 1e-12);
    assert!((sum(0.3, 0.2) - 0.5).abs() < 1e-12);
    assert!((sum(0.25, 0.25) - 0.5).abs() < 1e-12);
    assert!((sum(1e-9, 1.0) - (1.0 + 1e-9)).abs() < 1e-15);
}

#[test]
fn what_has_no_chance_adds_nothing() {
    let never = f64::NEG_INFINITY;
    assert_eq!(add_logs(never, -3.0), -3.0);
    assert_eq!(add_logs(-3.0, never), -3.0);
    assert_eq!(add_logs(never, never), never);
}

#[test]
fn what_is_negligible_is_left_out_of_a_sum() {
    // e^-40 = 4.248e-18 (value from memory); beyond it nothing is added.
    assert!((add_logs(0.0, -40.0) - 4.248e-18).abs() < 1e-20);
    assert_eq!(add_logs(0.0, -40.1), 0.0);
    assert_eq!(add_logs(-50.0, 0.0), 0.0);
}
