//! A cost is minus the natural logarithm of a chance: what is likelier costs less.
//!
//! Areas of the normal distribution: Φ(0) = 0.5, Φ(1) = 0.841345, Φ(2) = 0.977250, Φ(3) = 0.998650; values from memory,
//! they stand in every table of it.

use super::*;
use crate::matching::samples::assert_near;

/// Half of the welds take 1.5 times what was expected or more; logarithms spread by 1.4826 × 0.2 = 0.29652.
fn slow_welder() -> DurationModel {
    let logs = [0.2, -0.4, 0.0, 0.4, -0.2];
    DurationModel::from_ratios(logs.into_iter().map(|log| 1.5 * f64::exp(log)))
}

/// ln 10: a weld that is expected to take 10 s.
const TEN: f64 = std::f64::consts::LN_10;

#[test]
fn each_cost_is_minus_the_logarithm_of_its_chance() {
    for (cost, chance) in [
        (LEFT_OUT, 0.03),
        (UNFINISHED, 0.1),
        (MADE, 0.97),
        (OPENED_AND_LEFT_OUT, 0.002),
        (SKIPPED_AND_LEFT_OUT, 0.95),
        (SKIPPED_AND_MADE, 0.05),
        (EXTRA, 0.02 / 4.0),
        (STOPPED, 0.1),
        (RUN_LEFT_OUT, 0.05),
        (PIECE_OF_A_TACK, 0.35 / 4.0),
        (SAME_HOLE, 0.5),
        (RUN_IN_A_HOLE, 0.5),
        (MARKER_WRONG, 0.02),
        (ODD, 0.05 / 4.0),
    ] {
        let exact = -f64::ln(chance);
        assert!((cost - exact).abs() < 6e-4, "{cost} in place of {exact}");
    }
}

#[test]
fn an_unknown_welder_is_expected_to_take_as_long_as_calculated() {
    let unknown = DurationModel::unknown();
    assert_near(unknown.ratio(), 1.0);
    // 95 % of a normal distribution of width 0.6: 0.051 + ln(0.6 √(2π)) = 0.051 - 0.51083 + 0.91894.
    assert_near(unknown.cost(TEN, TEN), 0.45911);
    // One width off, on either side, costs 1/2 more; two cost 4/2.
    assert_near(unknown.cost(TEN + 0.6, TEN), 0.95911);
    assert_near(unknown.cost(TEN - 0.6, TEN), 0.95911);
    assert_near(unknown.cost(TEN + 1.2, TEN), 2.45911);
}

#[test]
fn a_length_that_tells_nothing_costs_no_more_however_odd_it_is() {
    let unknown = DurationModel::unknown();
    // 2.7 widths: 0.45911 + 7.29/2 = 4.10411; 2.9 would be 4.66411.
    assert_near(unknown.cost(TEN + 2.7 * 0.6, TEN), 4.10411);
    assert_near(unknown.cost(TEN + 2.9 * 0.6, TEN), 4.382);
    assert_near(unknown.cost(TEN - 9.0, TEN), 4.382);
}

#[test]
fn five_welds_tell_how_slow_and_how_even_a_welder_is_and_four_do_not() {
    let welder = slow_welder();
    assert_near(welder.ratio(), 1.5);
    // 0.051 + ln(0.29652 √(2π)) = 0.051 - 1.21564 + 0.91894 = -0.24570, at 15 s where 10 s are expected.
    let fifteen = f64::ln(15.0);
    assert_near(welder.cost(fifteen, TEN), -0.24570);
    assert_near(welder.cost(fifteen + 0.29652, TEN), 0.25430);
    assert_near(welder.cost(fifteen - 2.0 * 0.29652, TEN), 1.75430);

    let four = DurationModel::from_ratios([1.4, 1.5, 1.5, 1.6].into_iter());
    assert_near(four.ratio(), 1.0);
    assert_near(four.cost(TEN, TEN), 0.45911);
    // A weld without any arc time has no ratio.
    let with_none = DurationModel::from_ratios([1.4, 1.5, 0.0, 1.5, 1.6].into_iter());
    assert_near(with_none.ratio(), 1.0);
}

#[test]
fn nobody_welds_more_evenly_than_eight_percent_and_the_widest_spread_is_half() {
    let even = DurationModel::from_ratios([2.0; 6].into_iter());
    assert_near(even.ratio(), 2.0);
    // 0.051 + ln(0.08 √(2π)) = 0.051 - 2.52573 + 0.91894.
    assert_near(even.cost(f64::ln(20.0), TEN), -1.55579);
    let uneven = DurationModel::from_ratios([0.1, 0.3, 1.0, 3.0, 10.0].into_iter());
    assert_near(uneven.ratio(), 1.0);
    // 0.051 + ln(0.5 √(2π)) = 0.051 - 0.69315 + 0.91894.
    assert_near(uneven.cost(TEN, TEN), 0.27679);
}

/// Cost of a piece of this chance: 95 % of welds, spread over a width of 4: 0.051 + ln 4 - ln chance.
fn piece(chance: f64) -> f64 {
    0.051 + 1.386_294 - chance.ln()
}

#[test]
fn a_piece_costs_the_chance_of_the_whole_being_between_what_was_seen_and_what_may_be_missing() {
    let welder = slow_welder();
    // 15 s are expected of this welder.
    let widths = |count: f64| f64::ln(15.0) + count * 0.29652;
    let cost = |seen: f64, at_most: f64| welder.cost_of_piece(widths(seen), widths(at_most), TEN);
    // One width up to two: 0.135905. By hand: 1.437294 + 1.995800 = 3.433094.
    assert_near(piece(0.135_905), 3.43309);
    assert_near(cost(1.0, 2.0), 3.43309);
    assert_near(cost(0.0, 1.0), piece(0.341_345));
    assert_near(cost(-2.0, 0.0), piece(0.477_250));
    assert_near(cost(-1.0, 2.0), piece(0.818_595));
    // A hole that is long enough for any weld, and next to nothing seen.
    assert_near(cost(-20.0, 20.0), 1.43729);
    // The same with what nobody knows yet: 10 s, e^0.6 less and more.
    let unknown = DurationModel::unknown();
    assert_near(
        unknown.cost_of_piece(TEN - 0.6, TEN + 0.6, TEN),
        piece(0.682_689),
    );
}

#[test]
fn a_piece_of_a_weld_that_does_not_fit_is_odd() {
    let unknown = DurationModel::unknown();
    // Two widths up to three: 0.0214, which would cost 5.28.
    assert_near(unknown.cost_of_piece(TEN + 1.2, TEN + 1.8, TEN), 4.382);
    // Nothing may be missing after all.
    assert_near(unknown.cost_of_piece(TEN, TEN, TEN), 4.382);
}

#[test]
fn a_short_pause_is_likely_inside_a_weld_and_a_long_one_is_not() {
    // A stop inside a weld takes a third of the usual pause: 4 s of 12 s.
    assert_near(pause(4.0, 12.0), 0.0);
    assert_near(pause(2.0, 12.0), -std::f64::consts::LN_2);
    // ln 3.
    assert_near(pause(12.0, 12.0), 1.09861);
}

#[test]
fn a_pause_proves_little() {
    assert_near(pause(0.1, 12.0), -1.5);
    assert_near(pause(100.0, 12.0), 1.5);
    // No pause at all counts as a thousandth of a second: 3 × 0.001 / 0.006.
    assert_near(pause(0.0, 0.006), -std::f64::consts::LN_2);
    // A log without pauses says nothing of them.
    assert_eq!(pause(5.0, 0.0), 0.0);
}

#[test]
fn the_median_is_the_value_in_the_middle() {
    assert_eq!(median(&mut []), 0.0);
    assert_eq!(median(&mut [7.0]), 7.0);
    assert_eq!(median(&mut [9.0, 1.0, 4.0]), 4.0);
    assert_eq!(median(&mut [9.0, 1.0, 4.0, 2.0]), 3.0);
    assert_eq!(median(&mut [5.0, 1.0]), 3.0);
}
