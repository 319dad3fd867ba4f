//! Holes are where something is missing, no more and no less; a bead beside one may have lost an end in it; and the
//! numbers of the beads on both sides tell how many were lost.

use super::*;
use crate::log::tests::{log_of, open, recording, window};
use coldsquare_core::meter::MeterError;
use coldsquare_core::record::Event;
use coldsquare_core::samples::Sums;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::Seconds;

/// A bead of so many samples.
fn bead(number: u32, start: u64, samples: u64, origin: BeadOrigin) -> LoggedBead {
    let bead = Bead {
        number,
        start,
        arc_samples: samples,
        sums: Sums {
            n: samples,
            ..Sums::default()
        },
        ..Bead::default()
    };
    LoggedBead {
        bead,
        start: Seconds(0.0),
        duration: Seconds(0.0),
        arc_time: Uncertain::exact(0.0),
        is_tack: false,
        origin,
        ends: Ends::WHOLE,
        measured: Err(MeterError::NoSamples),
        burning: None,
    }
}

/// Windows of 100 samples with the arc off, from a position to another.
fn quiet(from: u64, until: u64) -> Vec<Window> {
    let starts = (from..until).step_by(100);
    starts.map(|start| window(start, false, 100, 0)).collect()
}

/// The same with samples that did not come in the window that begins at `at`, or with the arc on in it.
fn with(mut windows: Vec<Window>, at: u64, other: Window) -> Vec<Window> {
    let place = windows.iter().position(|window| window.start == at);
    windows[place.expect("there")] = other;
    windows
}

fn hole(from: u64, until: u64, records: u64) -> Hole {
    Hole {
        from,
        until,
        records,
        beads: None,
    }
}

fn gap(from: u64, until: u64, records: u64) -> SequenceGap {
    SequenceGap {
        from,
        until,
        records,
    }
}

#[test]
fn windows_that_follow_one_another_have_no_hole_between_them_and_one_lost_sample_is_one() {
    assert!(holes(&log_of(quiet(0, 500)), &[]).is_empty());
    let windows = vec![
        window(0, false, 90, 10),
        window(100, true, 100, 0),
        window(201, false, 100, 0),
    ];
    assert_eq!(holes(&log_of(windows), &[]), [hole(200, 201, 0)]);
}

#[test]
fn samples_dropped_for_longer_than_an_arc_may_pause_are_a_hole_if_the_arc_was_off() {
    let of = |window| holes(&log_of(vec![window]), &[]);
    assert_eq!(of(window(50, false, 10, 400)), []);
    assert_eq!(of(window(50, false, 10, 401)), [hole(50, 461, 0)]);
    assert_eq!(of(window(50, false, 10, 900)), [hole(50, 960, 0)]);
    // The arc burned before and after them: their time is the arc's.
    assert_eq!(of(window(50, true, 10, 900)), []);
    assert_eq!(of(window(50, true, 10, 0)), []);
}

#[test]
fn holes_that_touch_are_one_with_the_records_of_both() {
    let log = log_of(Vec::new());
    let of = |gaps: &[SequenceGap]| holes(&log, gaps);
    assert_eq!(
        of(&[gap(300, 400, 5), gap(100, 200, 3)]),
        [hole(100, 200, 3), hole(300, 400, 5)],
        "in order of position"
    );
    assert_eq!(
        of(&[gap(100, 200, 3), gap(201, 400, 5)]),
        [hole(100, 200, 3), hole(201, 400, 5)]
    );
    assert_eq!(
        of(&[gap(100, 200, 3), gap(200, 400, 5)]),
        [hole(100, 400, 8)]
    );
    assert_eq!(
        of(&[gap(100, 300, 3), gap(200, 250, 5), gap(260, 310, 1)]),
        [hole(100, 310, 9)]
    );
    // Records without a length.
    assert_eq!(of(&[gap(100, 100, 2)]), [hole(100, 100, 2)]);
    assert_eq!(of(&[gap(100, 90, 2)]), [hole(100, 100, 2)]);
    // Numbers and positions tell of the same hole.
    let log = log_of(vec![window(0, true, 100, 0), window(300, true, 100, 0)]);
    assert_eq!(holes(&log, &[gap(100, 300, 2)]), [hole(100, 300, 2)]);
}

/// The most beads that were lost in a hole from 1000 to 2000, beside these, with the power cut at these places.
fn lost_with(beads: Vec<LoggedBead>, cuts: &[u64]) -> Option<u32> {
    let recorded = beads
        .iter()
        .filter(|logged| logged.origin == BeadOrigin::Recorded);
    let recorded: Vec<Bead> = recorded.map(|logged| logged.bead).collect();
    let mut log = log_of(Vec::new());
    log.beads = beads;
    log.holes = vec![hole(1000, 2000, 7)];
    count_lost_beads(&mut log, &recorded, cuts);
    log.holes[0].beads
}

fn lost(beads: Vec<LoggedBead>) -> Option<u32> {
    lost_with(beads, &[])
}

#[test]
fn the_numbers_on_both_sides_of_a_hole_tell_how_many_beads_were_lost() {
    use BeadOrigin::{Rebuilt, Recorded};
    let before = bead(3, 500, 400, Recorded);
    let after = |number| bead(number, 2500, 400, Recorded);
    assert_eq!(lost(vec![before.clone(), after(4)]), Some(0));
    assert_eq!(lost(vec![before.clone(), after(5)]), Some(1));
    assert_eq!(lost(vec![before.clone(), after(9)]), Some(5));
    // Beads are numbered from 1.
    assert_eq!(lost(vec![after(3)]), Some(2));
    assert_eq!(lost(vec![before.clone()]), None, "nothing follows");
    // One that begins where the hole does came after it.
    assert_eq!(
        lost(vec![before.clone(), bead(6, 1000, 400, Recorded)]),
        Some(2)
    );
    assert_eq!(
        lost(vec![bead(3, 999, 1, Recorded), bead(5, 2500, 1, Recorded)]),
        Some(1)
    );
    // Of two logs in one file the numbers begin again.
    assert_eq!(lost(vec![before.clone(), after(3)]), None);
    assert_eq!(lost(vec![before.clone(), after(1)]), None);
    // What was rebuilt was not lost: of 4, 5 and 6 two are there.
    let rebuilt = |start| bead(0, start, 50, Rebuilt);
    let both = |places: [u64; 2]| {
        let [one, other] = places.map(rebuilt);
        lost(vec![before.clone(), one, other, after(7)])
    };
    assert_eq!(both([950, 2100]), Some(1));
    assert_eq!(both([500, 2499]), Some(1), "from the one to the other");
    // Those beside the two beads are no answer to what is between them.
    assert_eq!(both([499, 2500]), Some(3));
    assert_eq!(both([100, 3000]), Some(3));
    // More were rebuilt than the numbers have room for: an arc that the logger saw as one, cut in two.
    assert_eq!(
        lost(vec![before.clone(), rebuilt(950), rebuilt(2100), after(5)]),
        Some(0)
    );
}

/// The logger closes a bead once the arc was off for longer than it may pause, and gives it a number then.
#[test]
fn a_bead_in_which_the_power_was_cut_has_no_number() {
    let lost = |cut| {
        let beads = vec![
            bead(3, 500, 300, BeadOrigin::Recorded),
            bead(0, 950, 50, BeadOrigin::Rebuilt),
            bead(5, 2500, 400, BeadOrigin::Recorded),
        ];
        lost_with(beads, &[100, cut])
    };
    // Bead 4 was lost, unless it is the one that was rebuilt: closed 400 samples after 1000.
    for (cut, expected) in [(949, 0), (950, 1), (1000, 1), (1400, 1), (1401, 0)] {
        assert_eq!(lost(cut), Some(expected), "{cut}");
    }
}

#[test]
fn the_power_was_cut_where_the_logger_started_again_not_where_it_started_first() {
    let mut log = log_of(Vec::new());
    let event = |position, kind, value| Event {
        position,
        kind,
        value,
    };
    log.events = vec![
        event(0, EventKind::PowerOn, 1),
        event(900, EventKind::PowerOn, 3),
        event(500, EventKind::PowerOn, 2),
        event(700, EventKind::StoreFault, 9),
    ];
    assert_eq!(power_cuts(&log), [500, 900]);
}

/// Whether the ends of a bead from 1000 to 2000 are in a log with these windows.
fn ends_of(windows: Vec<Window>, origin: BeadOrigin, cuts: &[u64]) -> (bool, bool) {
    let log = log_of(windows);
    let ends = ends(&log, &bead(1, 1000, 1000, origin), cuts);
    (ends.start, ends.end)
}

#[test]
fn a_recorded_bead_lacks_an_end_only_where_samples_beside_it_never_came() {
    let of = |windows| ends_of(windows, BeadOrigin::Recorded, &[]);
    let lit = || window(1000, true, 1000, 0);
    assert_eq!(of(vec![lit()]), (true, true), "the log holds it alone");
    assert_eq!(
        of(vec![
            window(500, false, 500, 0),
            lit(),
            window(2000, false, 500, 0)
        ]),
        (true, true)
    );
    // 400 samples are a pause of the arc, 401 may be its end.
    assert_eq!(
        of(vec![
            window(600, false, 0, 400),
            lit(),
            window(2000, false, 0, 400)
        ]),
        (true, true)
    );
    assert_eq!(
        of(vec![
            window(599, false, 0, 401),
            lit(),
            window(2000, false, 0, 400)
        ]),
        (false, true)
    );
    assert_eq!(
        of(vec![
            window(600, false, 0, 400),
            lit(),
            window(2000, false, 0, 401)
        ]),
        (true, false)
    );
    // The logger closed it: samples lost a little further off were lost without an arc.
    assert_eq!(
        of(vec![
            window(500, false, 0, 499),
            lit(),
            window(2001, false, 0, 499)
        ]),
        (true, true)
    );
    assert_eq!(
        of(vec![
            window(100, false, 0, 800),
            window(900, false, 100, 0),
            lit(),
            window(2000, false, 100, 0),
            window(2100, false, 0, 800)
        ]),
        (true, true)
    );
}

/// In a recording, what was dropped comes first in its window: where as many samples follow it as an arc may pause, the
/// arc was off right before the bead. The logger's windows do not say so.
#[test]
fn samples_of_a_recording_between_a_hole_and_a_bead_show_its_start() {
    let recording = open(&recording(1000)).source;
    let start = |samples: u16, of_recording: bool| {
        let from = 1000 - 500 - u64::from(samples);
        let mut log = log_of(vec![window(from, false, samples, 500)]);
        if of_recording {
            log.source = recording.clone();
        }
        ends(&log, &bead(1, 1000, 1000, BeadOrigin::Recorded), &[]).start
    };
    assert!(start(401, true));
    assert!(start(400, true));
    assert!(!start(399, true));
    assert!(!start(400, false) && !start(401, false));
}

#[test]
fn a_rebuilt_bead_has_an_end_where_the_arc_was_off_for_longer_than_it_may_pause() {
    let of = |windows: Vec<Window>| ends_of(windows, BeadOrigin::Rebuilt, &[]);
    let lit = vec![window(1000, true, 1000, 0)];
    let between =
        |before: Vec<Window>, after: Vec<Window>| of([before, lit.clone(), after].concat());
    assert_eq!(between(quiet(600, 1000), quiet(2000, 2400)), (true, true));
    assert_eq!(between(quiet(700, 1000), quiet(2000, 2400)), (false, true));
    assert_eq!(between(quiet(600, 1000), quiet(2000, 2300)), (true, false));
    // One sample less than it may pause.
    let before = with(quiet(600, 1000), 600, window(601, false, 99, 0));
    let after = with(quiet(2000, 2400), 2300, window(2300, false, 99, 0));
    assert_eq!(between(before, after), (false, false));
    // Another arc within that time.
    let before = with(quiet(500, 1000), 600, window(600, true, 100, 0));
    let after = with(quiet(2000, 2500), 2300, window(2300, true, 100, 0));
    assert_eq!(between(before, after), (false, false));
    // A sample without a window within that time.
    let before = with(quiet(500, 1000), 700, window(700, false, 99, 0));
    let after = with(quiet(2000, 2500), 2200, window(2201, false, 99, 0));
    assert_eq!(between(before, after), (false, false));
    // More samples dropped within it than an arc may pause; fewer do not matter.
    let dropped = |many: u32| {
        let before = vec![window(700 - u64::from(many), false, 0, many)];
        let after = vec![window(2300, false, 0, many)];
        between(
            [before, quiet(700, 1000)].concat(),
            [quiet(2000, 2300), after].concat(),
        )
    };
    assert_eq!(dropped(400), (true, true));
    assert_eq!(dropped(401), (false, false));
    // What is further off than that does not matter.
    let before = with(quiet(500, 1000), 500, window(500, true, 100, 0));
    let after = with(quiet(2000, 2500), 2400, window(2400, true, 100, 0));
    assert_eq!(between(before, after), (true, true));
}

#[test]
fn the_arc_may_have_burned_on_when_the_power_was_cut_beside_a_rebuilt_bead() {
    let windows = [
        quiet(500, 1000),
        vec![window(1000, true, 1000, 0)],
        quiet(2000, 2500),
    ]
    .concat();
    let of = |cut| ends_of(windows.clone(), BeadOrigin::Rebuilt, &[cut]);
    assert_eq!(of(1000), (false, true));
    assert_eq!(of(2000), (true, false));
    // Within the time in which the arc may pause.
    assert_eq!(of(701), (false, true));
    assert_eq!(of(700), (false, true));
    assert_eq!(of(2299), (true, false));
    assert_eq!(of(2300), (true, false));
    // In the bead, and further off.
    assert_eq!(of(1001), (true, true));
    assert_eq!(of(1999), (true, true));
    assert_eq!(of(599), (true, true));
    assert_eq!(of(2401), (true, true));
}

#[test]
fn a_rebuilt_bead_at_the_start_of_a_log_begins_there_unless_something_before_it_is_lost() {
    let start = |first: u64, holes: Vec<Hole>| {
        let mut log = log_of([quiet(first, 1000), vec![window(1000, true, 1000, 0)]].concat());
        log.headers[0].start = 800;
        log.holes = holes;
        let bead = bead(1, 1000, 1000, BeadOrigin::Rebuilt);
        ends(&log, &bead, &[]).start
    };
    assert!(
        start(800, Vec::new()),
        "the log begins 200 samples before it"
    );
    assert!(!start(900, Vec::new()), "the first window is lost");
    assert!(
        !start(800, vec![hole(800, 800, 1)]),
        "a record before it is lost"
    );
    assert!(!start(800, vec![hole(700, 800, 1)]));
    assert!(!start(800, vec![hole(700, 900, 1)]));
    assert!(start(800, vec![hole(600, 799, 1)]));
    assert!(start(800, vec![hole(801, 900, 1)]));
    assert!(start(800, vec![hole(600, 700, 1), hole(2100, 2200, 1)]));
}

/// With an arc that may not pause at all, one sample without it is the end.
#[test]
fn an_arc_that_may_not_pause_ends_with_one_sample_without_it() {
    let ends_of = |before: u64, after: u64| {
        let mut windows = quiet(1000 - before, 1000);
        windows.push(window(1000, true, 1000, 0));
        windows.extend(quiet(2000, 2000 + after));
        let mut log = log_of(windows);
        log.headers[0].arc.longest_gap = 0;
        let ends = ends(&log, &bead(1, 1000, 1000, BeadOrigin::Rebuilt), &[]);
        (ends.start, ends.end)
    };
    assert_eq!(ends_of(100, 100), (true, true));
    assert_eq!(ends_of(0, 0), (false, false));
}
