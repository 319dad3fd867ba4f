//! No weld of a job is taken for a tack.

use super::*;
use crate::matching::model::ExpectedWeld;
use crate::matching::samples::{input, weld};

#[test]
fn a_tack_is_shorter_than_a_second_and_a_half_and_than_half_of_the_shortest_run() {
    let limit = |welds: &[ExpectedWeld]| tack_limit(&input(welds, &[])).0;
    assert_eq!(limit(&[weld(1, 20.0), weld(2, 8.0)]), 1.5);
    assert_eq!(limit(&[]), 1.5);
    assert_eq!(limit(&[weld(1, 20.0), weld(2, 2.0)]), 1.0);
    // 8 s in five runs: 1.6 s each.
    let runs = |runs| ExpectedWeld {
        runs,
        ..weld(1, 8.0)
    };
    assert_eq!(limit(&[runs(5)]), 0.8);
    // A weld has one run at least.
    assert_eq!(
        limit(&[ExpectedWeld {
            runs: 0,
            ..weld(1, 2.0)
        }]),
        1.0
    );
}

#[test]
fn the_user_can_say_what_is_a_tack() {
    let welds = [weld(1, 2.0)];
    let input = MatchInput {
        tack_below: Some(Seconds(4.0)),
        ..input(&welds, &[])
    };
    assert_eq!(tack_limit(&input), Seconds(4.0));
}
