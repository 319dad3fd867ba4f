//! Beads of a weld are its runs, in order of time.

use super::*;
use crate::matching::model::{Basis, ExpectedWeld};
use crate::matching::samples::{bead, input, weld};

#[test]
fn stopped_runs_are_told_apart_so_that_runs_are_as_even_as_possible() {
    // 5 | 5 + 10 has squares of 25 + 225 = 250, 5 + 5 | 10 has 100 + 100 = 200.
    assert_eq!(alike(&[5.0, 5.0, 10.0], 2), [1, 1, 2]);
    // 10 | 5 + 5 is 200, 10 + 5 | 5 is 250.
    assert_eq!(alike(&[10.0, 5.0, 5.0], 2), [1, 2, 2]);
    // 6 | 2 + 4 | 6 is 108; no other division in three has less.
    assert_eq!(alike(&[6.0, 2.0, 4.0, 6.0], 3), [1, 2, 2, 3]);
    assert_eq!(alike(&[6.0, 2.0, 4.0, 6.0], 1), [1, 1, 1, 1]);
}

#[test]
fn with_no_more_beads_than_runs_each_is_a_run() {
    assert_eq!(alike(&[3.0, 9.0], 2), [1, 2]);
    assert_eq!(alike(&[3.0, 9.0], 4), [1, 2]);
    assert_eq!(alike(&[3.0], 3), [1]);
    assert_eq!(alike(&[], 3), Vec::<u8>::new());
}

/// 5 | 5 + 5 and 5 + 5 | 5 are equally even: a log read twice must say the same.
#[test]
fn of_two_divisions_that_are_equally_even_the_one_with_the_shorter_first_run_counts() {
    assert_eq!(alike(&[5.0, 5.0, 5.0], 2), [1, 2, 2]);
}

fn on(weld: u16, run: u8) -> BeadMatch {
    BeadMatch {
        role: Role::Weld { weld, run },
        basis: Basis::Alignment,
        confidence: 1.0,
        or_else: None,
    }
}

#[test]
fn each_weld_of_several_runs_is_divided_by_itself() {
    let welds = [
        weld(1, 10.0),
        ExpectedWeld {
            runs: 2,
            ..weld(2, 20.0)
        },
        ExpectedWeld {
            runs: 2,
            ..weld(3, 20.0)
        },
        ExpectedWeld {
            runs: 2,
            ..weld(4, 20.0)
        },
    ];
    let beads = [
        bead(1, 0.0, 5.0),
        bead(2, 10.0, 5.0),
        bead(3, 20.0, 6.0),
        bead(4, 30.0, 4.0),
        bead(5, 40.0, 10.0),
        bead(6, 60.0, 10.0),
        bead(7, 80.0, 10.0),
    ];
    let mut extra = on(2, 1);
    extra.role = Role::Extra;
    // Weld 4 has no bead.
    let mut matches = [
        on(1, 1),
        on(1, 1),
        on(2, 1),
        on(2, 1),
        on(2, 1),
        on(3, 1),
        extra,
    ];
    divide(&input(&welds, &beads), &mut matches);
    assert_eq!(
        matches.map(|found| found.role),
        [
            on(1, 1).role,
            on(1, 1).role,
            on(2, 1).role,
            on(2, 1).role,
            on(2, 2).role,
            on(3, 1).role,
            Role::Extra
        ]
    );
}
