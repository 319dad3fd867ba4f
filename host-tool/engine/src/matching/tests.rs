//! From beads, welds and markers to what each bead is: what is decided around the alignment.

use super::*;
use samples::{bead, input, marker, weld};

/// A bead of which so many seconds may be lost.
fn piece(number: u32, start_s: f64, arc_time_s: f64, missing_s: f64) -> BeadTime {
    BeadTime {
        may_be_missing: Seconds(missing_s),
        ..bead(number, start_s, arc_time_s)
    }
}

#[test]
fn a_bead_is_a_tack_from_its_length_and_the_nearer_the_limit_the_less_surely() {
    let limit = Seconds(1.5);
    assert_eq!(tack(&bead(1, 0.0, 1.5), limit), None);
    assert_eq!(tack(&bead(1, 0.0, 9.0), limit), None);
    // Five hundredths of a logarithm below: 1/(1 + e^-1), from the logistic function.
    let near = tack(&bead(1, 0.0, 1.5 * f64::exp(-0.05)), limit).expect("a tack");
    samples::assert_near(near.confidence, 0.73106);
    assert_eq!((near.role, near.basis), (Role::Tack, Basis::Alignment));
    // 10 % off: ln 1.1 / 0.05 = 1.90620, 1/(1 + e^-1.90620) = 1/(1 + 0.14864).
    let off = tack(&bead(1, 0.0, 1.5 / 1.1), limit).expect("a tack");
    samples::assert_near(off.confidence, 0.87059);
    assert_eq!(off.or_else, None);
}

#[test]
fn a_piece_is_short_if_the_whole_may_have_been_longer_than_a_tack() {
    let limit = Seconds(1.5);
    for (arc_time, missing, short) in [
        (0.75, 0.75, true),
        (0.75, 0.5, false),
        (0.75, 9.0, true),
        (1.5, 9.0, false),
        (2.0, 0.0, false),
    ] {
        let piece = piece(1, 0.0, arc_time, missing);
        assert_eq!(is_short_piece(&piece, limit), short, "{arc_time} {missing}");
        // It may be what is left of a weld: the order decides.
        let is_tack = tack(&piece, limit).is_some();
        assert_eq!(is_tack, arc_time < 1.5 && !short, "{arc_time} {missing}");
    }
}

fn roles(input: &MatchInput<'_>) -> Vec<Role> {
    let matching = match_beads(input).expect("nothing is wrong with it");
    matching.beads.iter().map(|found| found.role).collect()
}

const ON_1: Role = Role::Weld { weld: 1, run: 1 };

#[test]
fn a_short_piece_that_fits_no_weld_is_a_tack_unless_the_user_says_that_it_is_extra() {
    let welds = [weld(1, 10.0)];
    let holes = [Hole {
        from: Seconds(40.8),
        until: Seconds(50.0),
        beads: None,
    }];
    let beads = [bead(1, 10.0, 10.0), piece(2, 40.0, 0.75, 9.0)];
    let log = MatchInput {
        holes: &holes,
        ..input(&welds, &beads)
    };
    assert_eq!(roles(&log), [ON_1, Role::Tack]);
    let extra = Assignment {
        bead: 2,
        target: Target::Extra,
    };
    let by_hand = MatchInput {
        by_hand: &[extra],
        ..log
    };
    assert_eq!(roles(&by_hand), [ON_1, Role::Extra]);
    // A long piece that fits none is extra, and so is a long bead.
    let beads = [bead(1, 10.0, 10.0), bead(2, 40.0, 150.0)];
    assert_eq!(roles(&input(&welds, &beads)), [ON_1, Role::Extra]);
}

#[test]
fn in_a_log_with_holes_nothing_but_the_users_word_is_beyond_99_percent() {
    let welds = [weld(1, 10.0), weld(2, 40.0)];
    let beads = [bead(1, 10.0, 10.0), bead(2, 40.0, 40.0), bead(3, 90.0, 0.2)];
    let by_hand = [Assignment {
        bead: 1,
        target: Target::Weld(1),
    }];
    let confidences = |holes: &[Hole]| -> Vec<f64> {
        let matching = match_beads(&MatchInput {
            by_hand: &by_hand,
            holes,
            ..input(&welds, &beads)
        });
        let beads = matching.expect("nothing is wrong with it").beads;
        beads.iter().map(|found| found.confidence).collect()
    };
    let whole = confidences(&[]);
    assert_eq!(whole[0], 1.0);
    assert!(whole[1..].iter().all(|&one| one > 0.995), "{whole:?}");
    // Its numbers tell that no bead was lost.
    let hole = Hole {
        from: Seconds(22.0),
        until: Seconds(24.0),
        beads: Some(0),
    };
    assert_eq!(confidences(&[hole]), [1.0, 0.99, 0.99]);
}

#[test]
fn a_weld_passed_over_is_skipped_only_if_no_bead_was_found_for_it() {
    let welds = [weld(1, 10.0), weld(2, 40.0), weld(3, 20.0)];
    let beads = [
        bead(1, 10.0, 10.0),
        bead(2, 40.0, 20.0),
        bead(3, 90.0, 40.0),
    ];
    let skip = marker(MarkerKind::Skip, 25.0, 2);
    let made_later = [skip, marker(MarkerKind::Next, 80.0, 2)];
    let matched = |markers: &[Marker], beads: &[BeadTime]| {
        match_beads(&MatchInput {
            markers,
            ..input(&welds, beads)
        })
        .expect("nothing is wrong with it")
    };
    assert_eq!(matched(&[skip], &beads[..2]).skipped, [2]);
    assert!(matched(&made_later, &beads).skipped.is_empty());
    let unknown = marker(MarkerKind::Done, 25.0, 8);
    assert_eq!(matched(&[unknown], &beads[..2]).unknown_in_markers, [8]);
}

#[test]
fn scrap_and_tacks_are_set_apart_before_welds_are_sought() {
    let welds = [weld(1, 10.0), weld(2, 40.0)];
    let beads = [
        bead(1, 2.0, 0.5),
        bead(2, 10.0, 10.0),
        bead(3, 40.0, 10.0),
        bead(4, 90.0, 40.0),
    ];
    let scrap = [marker(MarkerKind::Scrap, 25.0, None)];
    let log = MatchInput {
        markers: &scrap,
        ..input(&welds, &beads)
    };
    let on_2 = Role::Weld { weld: 2, run: 1 };
    assert_eq!(roles(&log), [Role::Tack, Role::Scrap, ON_1, on_2]);
}

#[test]
fn runs_are_numbered_and_a_dab_that_fills_a_crater_is_part_of_its_run() {
    let welds = [ExpectedWeld {
        runs: 2,
        ..weld(1, 20.0)
    }];
    // The second run is stopped: 10 | 4 + 6 is as even as can be.
    let beads = [
        bead(1, 10.0, 10.0),
        bead(2, 60.0, 4.0),
        bead(3, 70.0, 5.5),
        bead(4, 76.5, 0.5),
    ];
    let on = |run| Role::Weld { weld: 1, run };
    assert_eq!(roles(&input(&welds, &beads)), [on(1), on(2), on(2), on(2)]);
}

#[test]
fn of_two_ways_to_read_a_marker_the_likelier_counts() {
    let welds = [weld(1, 200.0), weld(2, 40.0), weld(3, 20.0)];
    let opened = [marker(MarkerKind::Next, 5.0, 2)];
    let read = |arc_times: &[f64]| {
        let beads: Vec<BeadTime> = (1..)
            .zip(arc_times)
            .map(|(number, &arc_time)| bead(number, 300.0 * f64::from(number), arc_time))
            .collect();
        roles(&MatchInput {
            markers: &opened,
            ..input(&welds, &beads)
        })
    };
    let on = |weld| Role::Weld { weld, run: 1 };
    // 2 alone, and then the others as planned.
    assert_eq!(read(&[40.0, 200.0, 20.0]), [on(2), on(1), on(3)]);
    // As planned from 2 on; 1 is left out.
    assert_eq!(read(&[40.0, 20.0]), [on(2), on(3)]);
}

#[test]
fn the_ratio_of_arc_times_is_that_of_the_welder() {
    let expected = [10.0, 40.0, 8.0, 50.0, 12.0];
    let welds: Vec<ExpectedWeld> = (1..)
        .zip(expected)
        .map(|(number, arc_time)| weld(number, arc_time))
        .collect();
    let beads: Vec<BeadTime> = (1..)
        .zip(expected)
        .map(|(number, arc_time)| bead(number, 100.0 * f64::from(number), 1.25 * arc_time))
        .collect();
    let matching = match_beads(&input(&welds, &beads)).expect("nothing is wrong with it");
    samples::assert_near(matching.arc_time_ratio, 1.25);
}
