//! What a hole may have swallowed is a chance: all that can have been add up to one, and a weld that does not fit is none.

use super::*;
use crate::matching::model::{BeadTime, ExpectedWeld, Hole};
use coldsquare_core::units::Seconds;

fn hole(seconds: f64, beads: Option<u32>, expected: f64) -> Between {
    Between {
        seconds,
        beads,
        expected,
    }
}

fn chance(between: &Between, runs: usize) -> f64 {
    between.cost(runs, 0.0).map_or(0.0, |nats| (-nats).exp())
}

#[test]
fn where_numbers_tell_how_many_beads_are_lost_as_many_welds_are_likely_and_more_impossible() {
    for most in [1, 2, 7] {
        let between = hole(100.0, Some(most), 3.0);
        let chances: Vec<f64> = (0..=most as usize)
            .map(|runs| chance(&between, runs))
            .collect();
        assert!(
            (chances.iter().sum::<f64>() - 1.0).abs() < 1e-12,
            "{chances:?}"
        );
        assert!((chances[most as usize] - 0.85).abs() < 1e-12);
        assert!(
            chances[1..most as usize]
                .iter()
                .all(|chance| (chance - chances[0]).abs() < 1e-12)
        );
        assert_eq!(between.cost(most as usize + 1, 0.0), None);
    }
}

/// Poisson, S. D., 1837: mean and sum of the distribution, from its definition.
#[test]
fn where_nothing_tells_beads_are_lost_at_the_pace_of_the_rest() {
    for expected in [0.3, 2.5, 9.0] {
        let between = hole(100.0, None, expected);
        let chances: Vec<f64> = (0..60).map(|runs| chance(&between, runs)).collect();
        assert!(
            (chances.iter().sum::<f64>() - 1.0).abs() < 1e-9,
            "{expected}"
        );
        let mean: f64 = (0..60)
            .map(|runs| f64::from(runs) * chances[runs as usize])
            .sum();
        assert!((mean - expected).abs() < 1e-9, "{mean} for {expected}");
        assert!((between.none_lost() - expected).abs() < 1e-12);
    }
}

#[test]
fn a_weld_is_lost_only_in_a_hole_that_is_long_enough_for_it() {
    for beads in [Some(2), None] {
        let between = hole(6.0, beads, 1.0);
        assert_eq!(between.cost(1, 9.9), between.cost(1, 0.0), "a quick welder");
        assert!(between.cost(1, 10.0).is_some());
        assert_eq!(between.cost(1, 10.1), None);
    }
}

#[test]
fn no_more_welds_are_tried_than_numbers_allow_and_forty_at_most() {
    for (beads, most) in [
        (Some(0), 0),
        (Some(3), 3),
        (Some(39), 39),
        (Some(40), 40),
        (Some(41), 40),
        (None, 40),
    ] {
        assert_eq!(hole(1.0, beads, 1.0).max_welds(), most, "{beads:?}");
    }
}

/// Beads of 10 s that begin so many seconds from the start, for welds of 10 s.
struct Log {
    beads: Vec<BeadTime>,
    welds: Vec<ExpectedWeld>,
}

impl Log {
    fn of(starts: &[f64]) -> Self {
        let bead = |(number, start): (u32, &f64)| BeadTime {
            number,
            start: Seconds(*start),
            end: Seconds(start + 10.0),
            arc_time: Seconds(10.0),
            may_be_missing: Seconds(0.0),
        };
        let weld = |number| ExpectedWeld {
            number,
            arc_time: Seconds(10.0),
            runs: 1,
        };
        Self {
            beads: (1..).zip(starts).map(bead).collect(),
            welds: (1..=8).map(weld).collect(),
        }
    }

    /// What is between the items, when these are the holes.
    fn between(&self, items: Vec<Item>, holes: &[(f64, f64, Option<u32>)]) -> Vec<Option<Between>> {
        let hole = |&(from, until, beads): &(f64, f64, _)| Hole {
            from: Seconds(from),
            until: Seconds(until),
            beads,
        };
        let holes: Vec<Hole> = holes.iter().map(hole).collect();
        let input = MatchInput {
            welds: &self.welds,
            beads: &self.beads,
            markers: &[],
            holes: &holes,
            by_hand: &[],
            tack_below: None,
        };
        let interpretation = Interpretation {
            slots: Vec::new(),
            markers_before: vec![0; items.len()],
            after_marker: vec![false; items.len()],
            items,
            named: Vec::new(),
        };
        between(&input, &interpretation)
    }
}

fn beads(count: usize) -> Vec<Item> {
    (0..count).map(Item::Bead).collect()
}

#[test]
fn a_hole_lies_between_the_beads_around_it_and_right_after_the_one_before() {
    let log = Log::of(&[0.0, 40.0, 100.0, 140.0, 180.0]);
    // A bead every 40 s, in the middle: 55 s are 55/40 beads.
    let expected = |seconds: f64| seconds / 40.0;
    let found = log.between(beads(5), &[(51.0, 99.0, Some(1))]);
    assert_eq!(
        found,
        [
            None,
            None,
            Some(hole(48.0, Some(1), expected(48.0))),
            None,
            None,
            None
        ]
    );
    // With a marker in between it stays with the bead before.
    let items = vec![
        Item::Bead(0),
        Item::Bead(1),
        Item::Visit(3),
        Item::Bead(2),
        Item::Bead(3),
        Item::Bead(4),
    ];
    let found = log.between(items, &[(51.0, 99.0, None)]);
    assert_eq!(found[2], Some(hole(48.0, None, expected(48.0))));
    assert_eq!(found.iter().flatten().count(), 1);
    // Before all, and after all.
    let found = log.between(beads(5), &[(-30.0, 0.0, None), (191.0, 231.0, None)]);
    assert_eq!(
        (found[0], found[5]),
        (Some(hole(30.0, None, 0.75)), Some(hole(40.0, None, 1.0)))
    );
    // Exactly in the middle of a bead: not before it.
    let found = log.between(beads(5), &[(40.0, 50.0, None)]);
    assert_eq!(found[1], Some(hole(10.0, None, 0.25)));
}

#[test]
fn two_holes_between_the_same_beads_are_one_and_share_their_numbers() {
    let log = Log::of(&[0.0, 40.0, 100.0, 140.0, 180.0]);
    let two =
        |first, second| log.between(beads(5), &[(51.0, 61.0, first), (71.0, 91.0, second)])[2];
    let both = |beads| Some(hole(30.0, beads, 0.25 + 0.5));
    assert_eq!(two(Some(1), Some(3)), both(Some(3)));
    assert_eq!(two(Some(1), None), both(None));
    // Numbers that tell of nothing lost.
    assert_eq!(two(Some(0), None), Some(hole(20.0, None, 0.5)));
    assert_eq!(log.between(beads(5), &[(51.0, 61.0, Some(0))]), [None; 6]);
}

#[test]
fn with_too_few_beads_for_a_pace_a_weld_is_expected_in_twice_its_arc_time() {
    let log = Log::of(&[0.0, 40.0, 80.0]);
    let found = log.between(beads(3), &[(51.0, 71.0, None)]);
    assert_eq!(found[2], Some(hole(20.0, None, 20.0 / (2.0 * 10.0))));
    // Four beads have a pace.
    let log = Log::of(&[0.0, 40.0, 80.0, 120.0]);
    let found = log.between(beads(4), &[(51.0, 71.0, None)]);
    assert_eq!(found[2], Some(hole(20.0, None, 0.5)));
}

/// However short, a hole is not without any chance of a bead: its logarithm is taken.
#[test]
fn the_shortest_hole_has_a_finite_cost() {
    let log = Log::of(&[0.0, 40.0, 80.0, 120.0]);
    let found = log.between(beads(4), &[(51.0, 51.0, None)])[2].expect("a hole");
    assert_eq!(found, hole(0.0, None, 1e-3));
    assert!(found.cost(1, 0.0).is_some_and(f64::is_finite));
}
