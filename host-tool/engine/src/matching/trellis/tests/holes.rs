//! Steps at holes of the log: lost welds, pieces of beads, what is left of tacks.

use super::*;

/// Two beads of a weld of 10 s with 10 s between them, each a piece. Together they are between 0.6 below and 0.6 above
/// the logarithm of what was expected. An ordinary bead of 10 s follows.
fn two_pieces() -> Log {
    let seen = 10.0 * f64::exp(-0.6);
    let mut log = Log::new(
        &[(10.0, 1), (10.0, 1)],
        &[(5.0, seen / 2.0), (10.0, seen / 2.0), (10.0, 10.0)],
    );
    let missing = 10.0 * (f64::exp(0.6) - f64::exp(-0.6));
    log.beads[0].may_be_missing = Seconds(missing / 2.0);
    log.beads[1].may_be_missing = Seconds(missing / 2.0);
    log
}

/// A hole that begins and ends so many seconds after the first piece ends and the second begins.
fn with_a_hole(mut log: Log, from_s: f64, until_s: f64) -> Log {
    let (from, until) = (log.beads[0].end.0 + from_s, log.beads[1].start.0 + until_s);
    log.hole(from, until, None);
    log
}

#[test]
fn a_bead_that_begins_where_the_last_one_ended_continues_its_weld() {
    let cost =
        |from_s, until_s| with_a_hole(two_pieces(), from_s, until_s).cost(node(0, 0), Weld(2));
    // One bead or two, 50 %: cheaper than a stop.
    let continued = MADE_IN_PIECES + 0.693 + USUAL_PAUSE;
    let stopped = MADE_IN_PIECES + 2.303 + USUAL_PAUSE;
    assert_near(cost(0.0, 0.0), continued);
    // A hole well inside the pause is that in which both were cut.
    assert_near(cost(3.0, -3.0), continued);
    // Times are rounded.
    assert_near(cost(-0.5e-6, 0.5e-6), continued);
    // The second bead began before the hole was over, or the hole began before the first had ended.
    assert_near(cost(0.0, 0.1), stopped);
    assert_near(cost(-0.1, 0.0), stopped);
}

#[test]
fn a_whole_bead_beside_a_hole_does_not_continue_another() {
    let mut log = with_a_hole(two_pieces(), 0.0, 0.0);
    let both = log.beads[0].may_be_missing.0 * 2.0;
    for missing in [[both, 0.0], [0.0, both]] {
        for (bead, missing) in log.beads.iter_mut().zip(missing) {
            bead.may_be_missing = Seconds(missing);
        }
        assert_near(
            log.cost(node(0, 0), Weld(2)),
            MADE_IN_PIECES + 2.303 + USUAL_PAUSE,
        );
    }
}

/// A weld of 10 s whose second stop is a hole: three beads, one pair of them across the hole.
#[test]
fn a_stop_is_a_stop_also_beside_a_hole() {
    let seen = 10.0 * f64::exp(-0.6) / 3.0;
    let mut log = Log::new(&[(10.0, 1)], &[(5.0, seen), (10.0, seen), (10.0, seen)]);
    let missing = 10.0 * (f64::exp(0.6) - f64::exp(-0.6));
    log.beads[1].may_be_missing = Seconds(missing / 2.0);
    log.beads[2].may_be_missing = Seconds(missing / 2.0);
    let (from, until) = (log.beads[1].end.0, log.beads[2].start.0);
    log.hole(from, until, None);
    assert_near(
        log.cost(node(0, 0), Weld(3)),
        MADE_IN_PIECES + 0.693 + 2.303 + 2.0 * USUAL_PAUSE,
    );
}

#[test]
fn what_was_cut_before_a_weld_is_not_counted_in_it() {
    let log = with_a_hole(two_pieces(), 0.0, 0.0);
    // The third bead is whole.
    assert_near(log.cost(node(2, 1), Weld(1)), MADE_EXACTLY);
    // The second piece as a weld of its own: the first is in another. Nothing was lost in the 10 s hole: one weld is
    // expected in 20 s, so 0.5.
    let mut log = log;
    log.beads[1].arc_time = Seconds(10.0 * f64::exp(-0.6));
    log.beads[1].may_be_missing = Seconds(10.0 * (f64::exp(0.6) - f64::exp(-0.6)));
    assert_near(log.cost(node(1, 1), Weld(1)), MADE_IN_PIECES + 0.5);
}

#[test]
fn a_run_is_likely_missing_beside_a_hole_and_not_elsewhere() {
    let mut log = Log::new(&[(20.0, 2)], &[(5.0, 10.0); 4]);
    // Between the second bead and the third.
    log.hole(31.0, 34.0, None);
    // Four beads come every 15 s; 3 s of that: 0.2 for nothing lost, where a step begins at the hole.
    for (first, cost) in [(0, 2.996), (1, 0.693), (2, 0.693 + 0.2), (3, 2.996)] {
        assert_near(log.cost(node(first, 0), Weld(1)), MADE_EXACTLY + cost);
    }
}

#[test]
fn welds_are_lost_in_a_hole_one_after_another_as_far_as_it_reaches() {
    let mut log = Log::new(&[(9.0, 1), (10.0, 2), (10.0, 1), (10.0, 1)], &[(5.0, 9.0)]);
    // From the middle of the bead at 9.5 s it is after it. 12.1 s: 60 % of 20 s fit, of 30 s not. A weld is expected in
    // twice the mean of 9.75 s.
    log.hole(15.0, 27.1, None);
    let expected = 12.1 / 19.5_f64;
    assert_eq!(log.kinds(node(1, 1)), [Lost(1), Lost(2), LeaveOut, Stop(1)]);
    let one = log.step(node(1, 1), Lost(1));
    assert_eq!((one.to, one.weld, one.beads), (gap(1, 2), None, 1..1));
    // The first has two runs: m - 2 ln m + ln 2!. With the next there are three: m - 3 ln m + ln 3!.
    assert_near(one.cost, expected - 2.0 * expected.ln() + 2_f64.ln());
    let two = log.step(node(1, 1), Lost(2));
    assert_eq!((two.to, two.weld, two.beads), (gap(1, 3), None, 1..1));
    assert_near(two.cost, expected - 3.0 * expected.ln() + 6_f64.ln());
    // The last weld too, and no more than there are.
    assert_eq!(log.kinds(node(1, 3)), [Lost(1), LeaveOut, Stop(3)]);
}

#[test]
fn where_nothing_was_lost_every_other_step_costs_that() {
    let mut log = Log::new(&[(9.0, 1), (10.0, 1)], &[(5.0, 9.0)]);
    log.hole(15.0, 34.0, None);
    // 19 s in twice the mean of 9.5 s: one is expected, and e^-1 is the chance of none.
    assert_near(log.cost(node(1, 1), LeaveOut), 3.507 + 1.0);
    assert_near(log.cost(node(1, 1), Stop(1)), 2.303 + 1.0);
    // After a weld left out or lost the hole is settled.
    assert_eq!(log.kinds(gap(1, 1)), [LeaveOut]);
    assert_near(log.cost(gap(1, 1), LeaveOut), 3.507);
    // Before the bead there is no hole.
    assert_near(log.cost(node(0, 0), LeaveOut), 3.507);
}

#[test]
fn numbers_of_beads_tell_how_many_runs_were_lost() {
    let mut log = Log::new(&[(9.0, 1), (10.0, 2), (10.0, 1), (10.0, 1)], &[(5.0, 9.0)]);
    log.hole(15.0, 100.0, Some(3));
    assert_eq!(log.kinds(node(1, 1)), [Lost(1), Lost(2), LeaveOut, Stop(1)]);
    // Fewer than the numbers tell: 15 % shared by none, one and two. As many: 85 %.
    assert_near(log.cost(node(1, 1), Lost(1)), 2.99573);
    assert_near(log.cost(node(1, 1), Lost(2)), 0.16252);
    assert_near(log.cost(node(1, 1), LeaveOut), 3.507 + 2.99573);
}

#[test]
fn a_slow_welder_loses_fewer_welds_in_the_same_hole() {
    let mut log = Log::new(&[(9.0, 1), (10.0, 1), (10.0, 1)], &[(5.0, 9.0)]);
    log.hole(15.0, 27.1, None);
    log.durations = DurationModel::from_ratios([2.0; 5].into_iter());
    // 60 % of 20 s fit into 12.1 s.
    assert_eq!(log.kinds(node(1, 1)), [Lost(1), LeaveOut, Stop(1)]);
    log.durations = DurationModel::from_ratios([2.1; 5].into_iter());
    assert_eq!(log.kinds(node(1, 1)), [LeaveOut, Stop(1)]);
}

#[test]
fn a_short_piece_is_likely_what_is_left_of_a_tack() {
    // Tacks are below 1.5 s here, because the shortest run is longer than 3 s.
    for (arc_time, missing, cost) in [
        (1.4, 2.0, 2.436),
        (1.5, 2.0, 5.298),
        (1.6, 2.0, 5.298),
        (1.4, 0.0, 5.298),
    ] {
        let mut log = Log::new(&[(10.0, 1)], &[(5.0, arc_time)]);
        log.beads[0].may_be_missing = Seconds(missing);
        assert_near(log.cost(node(0, 0), Extra), cost);
    }
    // Where welds are short, tacks are shorter: half of 2 s.
    let mut log = Log::new(&[(2.0, 1)], &[(5.0, 1.2)]);
    log.beads[0].may_be_missing = Seconds(2.0);
    assert_near(log.cost(node(0, 0), Extra), 5.298);
}
