//! What the likeliest way through a log makes of its beads, of welds done again and of the welder.

use super::*;
use crate::matching::likelihood::DurationModel;
use crate::matching::samples::{Log, assert_near};

/// The log as it was understood, and what each bead became.
fn assigned(log: &Log) -> (Alignment, Vec<BeadMatch>) {
    let input = log.input();
    let alignment = align(&input, log.interpretation.clone()).expect("a small job");
    let mut matches = vec![None; log.beads.len()];
    assign(&input, &alignment, &mut matches).expect("a small job");
    let matches = matches.into_iter().map(|found| found.expect("every bead"));
    (alignment, matches.collect())
}

fn roles(log: &Log) -> Vec<Role> {
    assigned(log).1.iter().map(|found| found.role).collect()
}

fn on(weld: u16) -> Role {
    Role::Weld { weld, run: 1 }
}

/// Each bead is the weld of the same place and takes 1.5 times what was expected, as evenly as anybody welds: 0.051 +
/// ln(0.08 √(2π)) is -1.55579.
fn assert_half_as_slow_again(durations: &DurationModel) {
    assert_near(durations.ratio(), 1.5);
    assert_near(
        durations.cost(f64::ln(15.0), std::f64::consts::LN_10),
        -1.55579,
    );
}

#[test]
fn the_welder_is_known_from_the_welds_that_were_found() {
    let expected = [10.0, 40.0, 8.0, 50.0, 12.0];
    let log = Log::new(
        &expected.map(|arc_time| (arc_time, 1)),
        &expected.map(|arc_time| (5.0, 1.5 * arc_time)),
    );
    assert_eq!(roles(&log), [1, 2, 3, 4, 5].map(on));
    assert_half_as_slow_again(&assigned(&log).0.durations);
}

#[test]
fn a_weld_with_a_run_left_out_is_compared_with_the_runs_that_it_has() {
    let expected = [20.0, 80.0, 16.0, 100.0, 24.0];
    let mut log = Log::new(
        &expected.map(|arc_time| (arc_time, 2)),
        &expected.map(|arc_time| (5.0, 1.5 * arc_time / 2.0)),
    );
    // A marker before each bead that says which weld it is.
    log.interpretation.after_marker = vec![true; 5];
    log.interpretation.markers_before = vec![1, 2, 3, 4, 5];
    for (slot, markers) in log.interpretation.slots.iter_mut().zip(1..) {
        slot.markers_before = markers;
    }
    assert_eq!(roles(&log), [1, 2, 3, 4, 5].map(on));
    assert_half_as_slow_again(&assigned(&log).0.durations);
}

#[test]
fn a_weld_that_was_stopped_is_compared_as_a_whole() {
    let expected = [10.0, 40.0, 8.0, 50.0, 12.0];
    let beads: Vec<(f64, f64)> = expected
        .iter()
        .flat_map(|arc_time| [(30.0, 0.75 * arc_time), (1.0, 0.75 * arc_time)])
        .collect();
    let log = Log::new(&expected.map(|arc_time| (arc_time, 1)), &beads);
    assert_eq!(roles(&log), [1, 1, 2, 2, 3, 3, 4, 4, 5, 5].map(on));
    assert_half_as_slow_again(&assigned(&log).0.durations);
}

#[test]
fn a_match_rests_on_a_marker_if_one_names_the_weld() {
    let mut log = Log::new(
        &[(10.0, 1), (40.0, 1)],
        &[(5.0, 10.0), (5.0, 150.0), (5.0, 40.0)],
    );
    log.interpretation.named = vec![1];
    let (_, found) = assigned(&log);
    let found: Vec<(Role, Basis)> = found.iter().map(|one| (one.role, one.basis)).collect();
    assert_eq!(
        found,
        [
            (on(1), Basis::Alignment),
            (Role::Extra, Basis::Alignment),
            (on(2), Basis::Marker)
        ]
    );
}

#[test]
fn done_again_replaces_the_earlier_beads_of_that_weld_and_no_others() {
    let mut log = Log::new(
        &[(10.0, 1), (40.0, 1), (25.0, 1)],
        &[
            (5.0, 10.0),
            (5.0, 40.0),
            (5.0, 10.0),
            (5.0, 10.0),
            (5.0, 25.0),
        ],
    );
    // Weld 1 is made, done again, and opened once more.
    log.happened(vec![
        Item::Bead(0),
        Item::Bead(1),
        Item::Redo(Some(0)),
        Item::Bead(2),
        Item::Visit(0),
        Item::Bead(3),
        Item::Bead(4),
    ]);
    assert_eq!(
        roles(&log),
        [Role::Replaced { weld: 1 }, on(2), on(1), on(1), on(3)]
    );
}

/// Two welds, and the chances of one bead: each weld, and none.
fn doubt(chances: [f32; 3], weld: Option<usize>) -> (f64, Option<Role>) {
    let log = Log::new(&[(10.0, 1), (40.0, 1)], &[]);
    confidence(&log.input(), &vec![chances.to_vec()], 0, weld)
}

#[test]
fn an_uncertain_match_names_the_next_likeliest() {
    assert_eq!(doubt([0.5, 0.25, 0.125], Some(0)), (0.5, Some(on(2))));
    assert_eq!(doubt([0.5, 0.125, 0.25], Some(0)), (0.5, Some(Role::Extra)));
    assert_eq!(doubt([0.25, 0.0, 0.75], None), (0.75, Some(on(1))));
    // What has no chance is no other.
    assert_eq!(doubt([0.5, 0.0, 0.0], Some(0)), (0.5, None));
    // From 90 % on there is no doubt.
    assert_eq!(doubt([0.0625, 0.9375, 0.0], Some(1)), (0.9375, None));
    let (confidence, other) = doubt([0.11, 0.89, 0.0], Some(1));
    assert_near(confidence, 0.89);
    assert_eq!(other, Some(on(1)));
}

/// Sums of many small chances are rounded.
#[test]
fn no_match_is_more_than_certain() {
    assert_eq!(doubt([1.0001, 0.0, 0.0], Some(0)).0, 1.0);
    assert_eq!(doubt([-0.0001, 0.0, 0.0], Some(0)).0, 0.0);
}

#[test]
fn each_bead_has_its_own_confidence() {
    // The third is odd, and would be extra at 5.298 + 2.303 in place of 0.030 + 4.382: e^-3.189 is 4 %.
    let log = Log::new(
        &[(10.0, 1), (40.0, 1), (7.0, 1)],
        &[(5.0, 10.0), (5.0, 40.0), (5.0, 900.0)],
    );
    let (_, found) = assigned(&log);
    assert!(found[0].confidence > 0.98, "{}", found[0].confidence);
    assert!(
        (0.93..0.96).contains(&found[2].confidence),
        "{}",
        found[2].confidence
    );
}
