//! The path found is the cheapest, and says which beads make which weld.
//!
//! A weld made by beads of just its arc time costs 0.48911: 0.030 for being made, 0.051 + ln(0.6 √(2π)) for its length.

use super::*;
use crate::matching::likelihood::{LEFT_OUT, SKIPPED_AND_LEFT_OUT};
use crate::matching::samples::{Log, assert_near};

const MADE_EXACTLY: f64 = 0.48911;
/// Each pause of a log with equal pauses, inside a weld: ln 3.
const USUAL_PAUSE: f64 = 1.09861;

type Group = (Option<usize>, bool, Range<usize>);

/// Beads that make a weld, by index.
fn on(weld: usize, beads: Range<usize>) -> Group {
    (Some(weld), false, beads)
}

/// Cost of the cheapest way from a node to an end, by going all ways.
fn cheapest(trellis: &Trellis<'_>, from: Node) -> f64 {
    let mut steps = Vec::new();
    trellis.transitions(from, |step| steps.push((step.cost, step.to)));
    let here = if trellis.ends().contains(&from) {
        0.0
    } else {
        f64::INFINITY
    };
    steps.into_iter().fold(here, |least, (cost, to)| {
        least.min(cost + cheapest(trellis, to))
    })
}

fn assert_found(log: &Log, cost: f64, groups: &[Group]) {
    log.trellis(|trellis| {
        let path = viterbi(trellis);
        let found = path.groups.into_iter();
        let found: Vec<Group> = found
            .map(|group| (group.weld, group.redo, group.beads))
            .collect();
        assert_eq!(found, groups);
        assert_near(path.cost, cost);
        assert_near(cheapest(trellis, Node::default()), cost);
    });
}

#[test]
fn a_build_as_planned_is_read_as_planned() {
    let log = Log::new(&[(10.0, 1), (40.0, 1)], &[(5.0, 10.0), (5.0, 40.0)]);
    assert_found(&log, 2.0 * MADE_EXACTLY, &[on(0, 0..1), on(1, 1..2)]);
}

#[test]
fn a_log_without_beads_is_a_build_that_did_not_begin() {
    assert_found(&Log::new(&[(10.0, 1), (40.0, 1)], &[]), 2.303, &[]);
    assert_found(&Log::new(&[], &[]), 0.0, &[]);
}

#[test]
fn a_weld_without_a_bead_is_left_out_and_the_others_stay() {
    let log = Log::new(
        &[(10.0, 1), (40.0, 1), (10.0, 1)],
        &[(5.0, 10.0), (5.0, 10.0)],
    );
    assert_found(
        &log,
        2.0 * MADE_EXACTLY + 3.507,
        &[on(0, 0..1), on(2, 1..2)],
    );
}

#[test]
fn two_welds_in_a_row_are_left_out() {
    let mut log = Log::new(
        &[(10.0, 1), (90.0, 1), (80.0, 1), (10.0, 1)],
        &[(5.0, 10.0), (5.0, 10.0)],
    );
    // Markers say that nothing else came between.
    for (slot, markers) in log.interpretation.slots.iter_mut().zip([0, 0, 2, 2]) {
        slot.markers_before = markers;
    }
    log.interpretation.markers_before = vec![0, 2];
    assert_found(
        &log,
        2.0 * MADE_EXACTLY + 2.0 * LEFT_OUT,
        &[on(0, 0..1), on(3, 1..2)],
    );
}

#[test]
fn a_bead_that_fits_no_weld_is_extra() {
    let log = Log::new(
        &[(10.0, 1), (40.0, 1)],
        &[(5.0, 10.0), (5.0, 150.0), (5.0, 40.0)],
    );
    assert_found(
        &log,
        2.0 * MADE_EXACTLY + 5.298,
        &[on(0, 0..1), (None, false, 1..2), on(1, 2..3)],
    );
}

#[test]
fn two_short_beads_are_one_weld() {
    let log = Log::new(
        &[(10.0, 1), (40.0, 1)],
        &[(5.0, 4.0), (5.0, 6.0), (5.0, 40.0)],
    );
    assert_found(
        &log,
        2.0 * MADE_EXACTLY + 2.303 + USUAL_PAUSE,
        &[on(0, 0..2), on(1, 2..3)],
    );
}

#[test]
fn a_build_that_is_not_finished_ends_early() {
    let log = Log::new(
        &[(10.0, 1), (40.0, 1), (7.0, 1), (25.0, 1)],
        &[(5.0, 10.0), (5.0, 40.0)],
    );
    assert_found(
        &log,
        2.0 * MADE_EXACTLY + 2.303,
        &[on(0, 0..1), on(1, 1..2)],
    );
}

#[test]
fn a_last_weld_that_was_passed_over_is_left_out() {
    let mut log = Log::new(&[(10.0, 1), (40.0, 1)], &[(5.0, 10.0)]);
    log.interpretation.slots[1].left_out = SKIPPED_AND_LEFT_OUT;
    assert_found(&log, MADE_EXACTLY + 0.051, &[on(0, 0..1)]);
}

#[test]
fn a_visited_weld_is_made_at_its_marker() {
    let mut log = Log::new(
        &[(10.0, 1), (40.0, 1), (7.0, 1)],
        &[(5.0, 10.0), (5.0, 3.0), (5.0, 4.0), (5.0, 40.0)],
    );
    log.interpretation.slots.truncate(2);
    log.happened(vec![
        Item::Bead(0),
        Item::Visit(2),
        Item::Bead(1),
        Item::Bead(2),
        Item::Bead(3),
    ]);
    assert_found(
        &log,
        3.0 * MADE_EXACTLY + 2.303 + USUAL_PAUSE,
        &[on(0, 0..1), on(2, 2..4), on(1, 4..5)],
    );
}

#[test]
fn a_marker_of_a_visit_that_no_bead_follows_is_passed() {
    let mut log = Log::new(&[(10.0, 1), (7.0, 1)], &[(5.0, 10.0)]);
    log.interpretation.slots.truncate(1);
    log.happened(vec![Item::Bead(0), Item::Visit(1)]);
    assert_found(&log, MADE_EXACTLY + 6.215, &[on(0, 0..1)]);
}

#[test]
fn a_weld_done_again_has_both_beads_and_the_second_says_so() {
    let mut log = Log::new(
        &[(10.0, 1), (40.0, 1)],
        &[(5.0, 10.0), (5.0, 10.0), (5.0, 40.0)],
    );
    log.happened(vec![
        Item::Bead(0),
        Item::Redo(None),
        Item::Bead(1),
        Item::Bead(2),
    ]);
    assert_found(
        &log,
        3.0 * MADE_EXACTLY,
        &[on(0, 0..1), (Some(0), true, 2..3), on(1, 3..4)],
    );
}

#[test]
fn welds_lost_in_a_hole_are_passed_and_the_order_goes_on_after_them() {
    let mut log = Log::new(
        &[(10.0, 1), (20.0, 1), (7.0, 1), (40.0, 1), (25.0, 1)],
        &[(5.0, 10.0), (60.0, 40.0), (5.0, 25.0)],
    );
    // Numbers tell of two beads; 60 % of 27 s fit into 50 s. As many as they tell: 85 %.
    log.hole(20.0, 70.0, Some(2));
    assert_found(
        &log,
        3.0 * MADE_EXACTLY + 0.16252,
        &[on(0, 0..1), on(3, 1..2), on(4, 2..3)],
    );
    // Three made before it.
    let mut log = Log::new(
        &[
            (10.0, 1),
            (25.0, 1),
            (60.0, 1),
            (20.0, 1),
            (7.0, 1),
            (40.0, 1),
        ],
        &[(5.0, 10.0), (5.0, 25.0), (5.0, 60.0), (60.0, 40.0)],
    );
    log.hole(120.0, 165.0, Some(2));
    assert_found(
        &log,
        4.0 * MADE_EXACTLY + 0.16252,
        &[on(0, 0..1), on(1, 1..2), on(2, 2..3), on(5, 3..4)],
    );
    // All in front of the first bead.
    let mut log = Log::new(
        &[(20.0, 1), (7.0, 1), (40.0, 1), (25.0, 1)],
        &[(60.0, 40.0), (5.0, 25.0)],
    );
    log.hole(2.0, 52.0, Some(2));
    assert_found(
        &log,
        2.0 * MADE_EXACTLY + 0.16252,
        &[on(2, 0..1), on(3, 1..2)],
    );
}
