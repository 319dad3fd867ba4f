//! What each step through a log costs, worked out by hand from the chances in `likelihood`.
//!
//! A bead exactly as long as its weld costs 0.45911 nats (0.051 + ln(0.6 √(2π))), and 0.030 for the weld being made.

use super::TransitionKind::{Extra, LeaveOut, Lost, Stop, Visit, Weld};
use super::*;
use crate::matching::model::{BeadTime, ExpectedWeld};
use crate::matching::samples::{Log, assert_near, bead, input, weld};
use coldsquare_core::units::Seconds;

/// A weld made by beads of just its arc time.
const MADE_EXACTLY: f64 = 0.030 + 0.45911;
/// A weld made by beads of which a part is missing, if it may be between 0.6 below and 0.6 above the expected
/// logarithm: 0.030 + 0.051 + ln 4 - ln 0.682689, the middle of a normal distribution one width to either side (value
/// from memory).
const MADE_IN_PIECES: f64 = 0.030 + 1.81901;
/// Each pause of a log with equal pauses, inside a weld: ln 3.
const USUAL_PAUSE: f64 = 1.09861;

fn node(items: usize, welds: usize) -> Node {
    Node {
        items,
        welds,
        gap: false,
    }
}

/// The same after a weld left out.
fn gap(items: usize, welds: usize) -> Node {
    Node {
        gap: true,
        ..node(items, welds)
    }
}

impl Log {
    fn steps(&self, from: Node) -> Vec<Transition> {
        let mut steps = Vec::new();
        self.trellis(|trellis| trellis.transitions(from, |step| steps.push(step)));
        steps
    }

    fn kinds(&self, from: Node) -> Vec<TransitionKind> {
        self.steps(from).iter().map(|step| step.kind).collect()
    }

    fn step(&self, from: Node, kind: TransitionKind) -> Transition {
        let found = self.steps(from).into_iter().find(|step| step.kind == kind);
        found.unwrap_or_else(|| panic!("no {kind:?} from {from:?}"))
    }

    fn cost(&self, from: Node, kind: TransitionKind) -> f64 {
        self.step(from, kind).cost
    }
}

#[test]
fn every_node_has_a_place_of_its_own_and_the_last_two_are_the_ends() {
    let log = Log::new(&[(10.0, 1), (10.0, 1)], &[(5.0, 10.0); 3]);
    log.trellis(|trellis| {
        let places: Vec<usize> = trellis.nodes().map(|node| trellis.index(node)).collect();
        // Four counts of beads, three of welds, with a gap or without.
        assert_eq!(places, (0..4 * 3 * 2).collect::<Vec<usize>>());
        assert_eq!(trellis.ends(), [node(3, 2), gap(3, 2)]);
        let last: Vec<Node> = trellis.nodes().skip(4 * 3 * 2 - 2).collect();
        assert_eq!(last, trellis.ends());
    });
}

#[test]
fn a_step_leads_to_a_later_node() {
    let mut log = Log::new(&[(10.0, 1), (20.0, 2)], &[(5.0, 10.0); 3]);
    log.happened(vec![
        Item::Bead(0),
        Item::Visit(1),
        Item::Bead(1),
        Item::Bead(2),
    ]);
    log.hole(15.5, 19.5, None);
    log.trellis(|trellis| {
        for from in trellis.nodes() {
            trellis.transitions(from, |step| {
                assert!(
                    trellis.index(step.to) > trellis.index(from),
                    "{from:?} {step:?}"
                );
                assert!(step.cost.is_finite());
            });
        }
    });
}

/// (2000 things that happened or none) times (1999 welds settled or none) times two is 8 million.
#[test]
fn eight_million_nodes_can_be_searched_and_no_more() {
    let matched = |beads: u32, welds: u16| {
        let beads: Vec<BeadTime> = (0..beads)
            .map(|k| bead(k, f64::from(k) * 20.0, 10.0))
            .collect();
        let welds: Vec<ExpectedWeld> = (0..welds).map(|k| weld(k, 10.0)).collect();
        let mut log = Log::new(&[], &[]);
        log.happened((0..beads.len()).map(Item::Bead).collect());
        let input = input(&welds, &beads);
        let trellis = Trellis::new(&input, &log.interpretation, log.durations);
        trellis.map(|_| ())
    };
    assert_eq!(matched(1999, 1999), Ok(()));
    let too_much = |beads, welds| Err(MatchError::TooMuch { beads, welds });
    assert_eq!(matched(2000, 1999), too_much(2000, 1999));
    assert_eq!(matched(1999, 2000), too_much(1999, 2000));
}

#[test]
fn arc_time_is_that_of_the_beads_and_a_marker_has_none() {
    let mut log = Log::new(&[(10.0, 1)], &[(5.0, 10.0), (5.0, 4.0), (5.0, 2.5)]);
    log.happened(vec![
        Item::Bead(0),
        Item::Visit(0),
        Item::Bead(1),
        Item::Bead(2),
    ]);
    log.trellis(|trellis| {
        assert_eq!(trellis.arc_time(&(0..4)), 16.5);
        assert_eq!(trellis.arc_time(&(2..4)), 6.5);
        assert_eq!(trellis.arc_time(&(1..2)), 0.0);
    });
}

#[test]
fn a_bead_can_be_the_next_weld_or_none_and_the_weld_can_be_left_out() {
    let log = Log::new(&[(10.0, 1), (20.0, 1)], &[(5.0, 10.0), (5.0, 20.0)]);
    assert_eq!(
        log.kinds(node(0, 0)),
        [LeaveOut, Weld(1), Weld(2), Extra],
        "two beads can be two pieces"
    );
    let left_out = log.step(node(0, 0), LeaveOut);
    assert_near(left_out.cost, 3.507);
    assert_eq!(
        (left_out.to, left_out.weld, left_out.beads),
        (gap(0, 1), None, 0..0)
    );
    let made = log.step(node(0, 0), Weld(1));
    assert_near(made.cost, MADE_EXACTLY);
    assert_eq!(
        (made.to, made.weld, made.beads),
        (node(1, 1), Some(0), 0..1)
    );
    let extra = log.step(node(0, 0), Extra);
    assert_near(extra.cost, 5.298);
    assert_eq!(
        (extra.to, extra.weld, extra.beads),
        (node(1, 0), None, 0..1)
    );
    // The second bead as the second weld, after one bead and after two beads left.
    assert_near(log.cost(node(1, 1), Weld(1)), MADE_EXACTLY);
    assert_eq!(log.step(node(1, 1), Weld(1)).weld, Some(1));
}

/// A weld is left out right before the next that is made: other ways of the same sense would be counted twice.
#[test]
fn after_a_weld_left_out_comes_a_weld_or_another_left_out() {
    let log = Log::new(&[(10.0, 1), (10.0, 1)], &[(5.0, 10.0)]);
    assert_eq!(log.kinds(gap(0, 1)), [LeaveOut, Weld(1)]);
    assert_eq!(log.kinds(gap(1, 1)), [LeaveOut]);
    assert_eq!(log.kinds(gap(0, 2)), []);
}

#[test]
fn a_log_can_end_before_the_build_does() {
    let log = Log::new(&[(10.0, 1), (10.0, 1)], &[(5.0, 10.0)]);
    let stop = log.step(node(1, 1), Stop(1));
    assert_near(stop.cost, 2.303);
    assert_eq!((stop.to, stop.weld, stop.beads), (node(1, 2), None, 1..1));
    assert_eq!(log.kinds(node(1, 1)), [LeaveOut, Stop(1)]);
    assert_eq!(log.kinds(node(1, 2)), [], "all is settled");
    assert_eq!(
        log.kinds(node(0, 2)),
        [Extra],
        "no weld is left for the bead"
    );
}

#[test]
fn a_weld_has_as_many_beads_as_runs_and_five_stops_at_most() {
    let log = Log::new(&[(10.0, 1), (10.0, 2)], &[(5.0, 2.0); 9]);
    let most = |welds| log.steps(node(0, welds)).len() - 2;
    assert_eq!((most(0), most(1)), (1 + 5, 2 + 5));
    // No more than there are.
    assert_eq!(log.kinds(node(7, 1)), [LeaveOut, Weld(1), Weld(2), Extra]);
    // In a job of single runs too.
    let log = Log::new(&[(10.0, 1)], &[(5.0, 2.0); 9]);
    assert_eq!(log.steps(node(0, 0)).len() - 2, 6);
}

#[test]
fn two_pieces_cost_more_than_one_bead_of_the_same_length() {
    let log = Log::new(&[(10.0, 1)], &[(5.0, 4.0), (8.0, 6.0)]);
    // One stop, and a pause that is the usual one of this log.
    assert_near(
        log.cost(node(0, 0), Weld(2)),
        MADE_EXACTLY + 2.303 + USUAL_PAUSE,
    );
}

#[test]
fn each_stop_costs_and_a_short_pause_makes_it_likelier() {
    // Pauses of 3, 9 and 2 s; the usual one is the middle one, 3 s. The one before all beads is none.
    let log = Log::new(
        &[(10.0, 1), (5.0, 1)],
        &[(50.0, 2.0), (3.0, 3.0), (9.0, 5.0), (2.0, 5.0)],
    );
    // ln(3 × 3/3); ln(3 × 9/3) would be 2.197, but no pause counts for more than 1.5.
    assert_near(
        log.cost(node(0, 0), Weld(3)),
        MADE_EXACTLY + 2.0 * 2.303 + USUAL_PAUSE + 1.5,
    );
    // From the third bead on: 5 s and 5 s, and ln(3 × 2/3) between.
    assert_near(
        log.cost(node(2, 0), Weld(2)),
        MADE_EXACTLY + 2.303 + std::f64::consts::LN_2,
    );
    // A weld of one bead has no pause inside, whatever came before.
    assert_near(log.cost(node(2, 1), Weld(1)), MADE_EXACTLY);
    assert_near(log.cost(node(3, 1), Weld(1)), MADE_EXACTLY);
}

/// Clocks of two channels can differ a little.
#[test]
fn beads_that_overlap_have_no_pause_between_them() {
    let mut log = Log::new(
        &[(10.0, 1)],
        &[(5.0, 4.0), (3.0, 6.0), (3.0, 5.0), (3.0, 5.0)],
    );
    log.beads[1].start = Seconds(8.0);
    // ln(3 × 0.001/3) is far below the least that a pause counts for, -1.5.
    assert_near(log.cost(node(0, 0), Weld(2)), MADE_EXACTLY + 2.303 - 1.5);
}

#[test]
fn each_run_left_out_costs_and_what_is_there_is_its_share() {
    let log = Log::new(
        &[(30.0, 3)],
        &[(5.0, 10.0), (50.0, 10.0), (2.0, 4.0), (2.0, 6.0)],
    );
    // One run of three has a third of the arc time.
    assert_near(log.cost(node(0, 0), Weld(1)), MADE_EXACTLY + 2.0 * 2.996);
    assert_near(log.cost(node(0, 0), Weld(2)), MADE_EXACTLY + 2.996);
    // Four beads are three runs, one of them with a stop; pauses between runs tell nothing.
    assert_near(log.cost(node(0, 0), Weld(4)), MADE_EXACTLY + 2.303);
}

#[test]
fn a_bead_off_the_expected_arc_time_costs_more() {
    let twice = 10.0 * f64::exp(0.6);
    let log = Log::new(&[(10.0, 1)], &[(5.0, twice), (5.0, 10.0)]);
    // One width of what an unknown welder spreads: 1/2.
    assert_near(log.cost(node(0, 0), Weld(1)), MADE_EXACTLY + 0.5);
    // Once the welder is known to be that slow, the same bead is as expected, and the even one is not: 8 % wide,
    // 0.051 + ln(0.08 √(2π)) = -1.55579, and 4.382 for a length that tells nothing.
    let slow = DurationModel::from_ratios([f64::exp(0.6); 5].into_iter());
    let input = log.input();
    let trellis = Trellis::new(&input, &log.interpretation, log.durations)
        .expect("a small job")
        .with_durations(slow);
    let cost = |from| {
        let mut cost = f64::NAN;
        trellis.transitions(from, |step| {
            if step.kind == Weld(1) {
                cost = step.cost;
            }
        });
        cost
    };
    assert_near(cost(node(0, 0)), 0.030 - 1.55579);
    assert_near(cost(node(1, 0)), 0.030 + 4.382);
}

#[test]
fn a_marker_between_two_beads_says_that_they_are_two_welds() {
    let mut log = Log::new(
        &[(10.0, 4)],
        &[(5.0, 2.5), (5.0, 2.5), (5.0, 2.5), (5.0, 2.5)],
    );
    log.interpretation.after_marker = vec![true, true, false, true];
    // Before the first bead a marker is no contradiction.
    assert_near(log.cost(node(0, 0), Weld(1)), MADE_EXACTLY + 3.0 * 2.996);
    assert_near(log.cost(node(0, 0), Weld(3)), MADE_EXACTLY + 2.996 + 3.912);
    assert_near(log.cost(node(0, 0), Weld(4)), MADE_EXACTLY + 2.0 * 3.912);
    assert_near(log.cost(node(1, 0), Weld(2)), MADE_EXACTLY + 2.0 * 2.996);
    assert_near(log.cost(node(1, 0), Weld(3)), MADE_EXACTLY + 2.996 + 3.912);
}

#[test]
fn beads_on_the_wrong_side_of_markers_cost_by_how_many_and_two_at_most() {
    let mut log = Log::new(&[(10.0, 2); 4], &[(5.0, 5.0), (5.0, 5.0)]);
    log.interpretation.markers_before = vec![1, 2];
    for (slot, markers) in log.interpretation.slots.iter_mut().zip([0, 1, 2, 5]) {
        slot.markers_before = markers;
    }
    // One bead of two runs; both; the farther of the two counts.
    let one = |welds| log.cost(node(0, welds), Weld(1)) - MADE_EXACTLY - 2.996;
    let both = |welds| log.cost(node(0, welds), Weld(2)) - MADE_EXACTLY;
    for (welds, for_one, for_both) in [
        (0, 3.912, 2.0 * 3.912),
        (1, 0.0, 3.912),
        (2, 3.912, 3.912),
        (3, 2.0 * 3.912, 2.0 * 3.912),
    ] {
        assert_near(one(welds), for_one);
        assert_near(both(welds), for_both);
    }
}

#[test]
fn a_visited_weld_takes_the_beads_after_its_marker_and_keeps_the_place_in_the_order() {
    let mut log = Log::new(
        &[(7.0, 1), (10.0, 1)],
        &[(5.0, 7.0), (5.0, 10.0), (5.0, 3.0)],
    );
    log.happened(vec![Item::Visit(1), Item::Bead(1), Item::Visit(0)]);
    assert_eq!(log.kinds(node(0, 1)), [LeaveOut, Visit(0), Visit(1)]);
    let made = log.step(node(0, 1), Visit(1));
    assert_near(made.cost, MADE_EXACTLY);
    assert_eq!(
        (made.to, made.weld, made.beads),
        (node(2, 1), Some(1), 1..2)
    );
    // A bead follows: leaving it to another weld contradicts the marker.
    let unused = log.step(node(0, 1), Visit(0));
    assert_near(unused.cost, 6.215 + 3.912);
    assert_eq!(
        (unused.to, unused.weld, unused.beads),
        (node(1, 1), None, 1..1)
    );
    // None follows.
    assert_eq!(log.kinds(node(2, 1)), [LeaveOut, Visit(0)]);
    assert_near(log.cost(node(2, 1), Visit(0)), 6.215);
}

#[test]
fn done_again_without_a_number_is_the_weld_before() {
    let mut log = Log::new(&[(7.0, 1), (10.0, 1), (12.0, 1)], &[(5.0, 10.0)]);
    log.interpretation.slots.swap(0, 1);
    log.happened(vec![Item::Redo(None), Item::Bead(0)]);
    // The second in the order is the first weld of the job.
    assert_eq!(log.step(node(0, 2), Visit(1)).weld, Some(0));
    let first_made = log.step(node(0, 1), Visit(1));
    assert_eq!((first_made.weld, first_made.beads), (Some(1), 1..2));
    assert_near(first_made.cost, MADE_EXACTLY);
    // Before the first weld there is none, and a bead follows.
    assert_eq!(log.kinds(node(0, 0)), [LeaveOut, Visit(0)]);
    assert_near(log.cost(node(0, 0), Visit(0)), 6.215 + 3.912);
    // With a number it is that weld.
    log.happened(vec![Item::Redo(Some(2)), Item::Bead(0)]);
    assert_eq!(log.step(node(0, 1), Visit(1)).weld, Some(2));
}

#[test]
fn beads_across_a_marker_that_opens_a_weld_are_not_one_weld() {
    let mut log = Log::new(&[(10.0, 1)], &[(5.0, 5.0), (5.0, 5.0), (9.0, 5.0)]);
    log.happened(vec![
        Item::Bead(0),
        Item::Visit(0),
        Item::Bead(1),
        Item::Bead(2),
    ]);
    assert_eq!(log.kinds(node(0, 0)), [LeaveOut, Weld(1), Extra]);
    assert_eq!(log.kinds(node(2, 0)), [LeaveOut, Weld(1), Weld(2), Extra]);
    // Only the pause between beads in a row is one.
    assert_near(
        log.cost(node(2, 0), Weld(2)),
        MADE_EXACTLY + 2.303 + USUAL_PAUSE,
    );
}

mod holes;
