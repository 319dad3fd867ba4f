//! Records come in any order; each sample counts once, and each bead has a number and is rebuilt if its record is lost.

use super::super::*;
use crate::log::tests::{frames, header, log_of, open, window};
use coldsquare_core::record::{Event, EventKind, Record};

/// A header whose arc may pause for 400 samples and whose beads have 300 at least.
fn arc() -> Header {
    let mut header = header();
    header.arc.longest_gap = 400;
    header.arc.shortest_bead = 300;
    header
}

/// A log of windows, to rebuild beads from.
fn log(windows: Vec<Window>) -> Log {
    let mut log = log_of(windows);
    log.headers = vec![arc()];
    log
}

/// Windows of 100 samples from a position to another.
fn windows(arc_on: bool, from: u64, until: u64) -> Vec<Window> {
    let starts = (from..until).step_by(100);
    starts.map(|start| window(start, arc_on, 100, 0)).collect()
}

/// The bead that a logger would have closed over a lit window.
fn bead(number: u32, start: u64, samples: u16) -> Bead {
    let mut bead = Bead {
        number,
        start,
        ..Bead::default()
    };
    bead.add_window(&window(start, true, samples, 0));
    bead
}

#[test]
fn windows_are_put_in_order_and_those_that_overlap_are_left_out() {
    let mut windows = vec![
        window(100, true, 100, 0),
        window(0, false, 90, 10),
        window(150, false, 100, 0),
        window(199, false, 100, 0),
        window(200, false, 100, 0),
    ];
    assert_eq!(order_windows(&mut windows), 2);
    let starts: Vec<_> = windows.iter().map(|window| window.start).collect();
    assert_eq!(starts, [0, 100, 200]);
    assert_eq!(order_windows(&mut windows), 0);
}

#[test]
fn beads_are_put_in_order_and_those_that_overlap_are_left_out() {
    let mut beads = vec![
        bead(2, 100, 100),
        bead(1, 0, 100),
        bead(7, 199, 100),
        bead(3, 200, 100),
        bead(4, 350, 100),
    ];
    order_beads(&mut beads);
    let numbers: Vec<_> = beads.iter().map(|bead| bead.number).collect();
    assert_eq!(numbers, [1, 2, 3, 4]);
}

/// The log of windows of the arc off.
fn log_of_windows(windows: &[Window]) -> Log {
    let windows = windows.iter().map(|window| Record::Window(*window));
    let records: Vec<Record> = std::iter::once(Record::Header(arc()))
        .chain(windows)
        .collect();
    open(&frames(&records).concat())
}

#[test]
fn windows_that_overlap_are_told_and_samples_without_a_window_are_counted() {
    let mut windows = vec![
        window(0, false, 100, 0),
        window(100, false, 90, 10),
        window(150, false, 100, 0),
        window(250, false, 100, 0),
        window(357, false, 100, 0),
    ];
    let log = log_of_windows(&windows);
    assert_eq!(
        log.report.notes,
        ["1 window overlaps an earlier one and was left out"]
    );
    // 200 to 250 and 350 to 357.
    assert_eq!(log.report.uncovered_samples, 57);
    windows.push(window(400, false, 100, 0));
    assert_eq!(
        log_of_windows(&windows).report.notes,
        ["2 windows overlap earlier ones and were left out"]
    );
    assert!(log_of_windows(&windows[..2]).report.notes.is_empty());
}

#[test]
fn a_recorded_bead_covers_its_own_samples() {
    let mut dropped = bead(2, 2000, 300);
    dropped.dropped = 50;
    let recorded = [bead(1, 1000, 300), dropped];
    for (position, covered) in [
        (999, false),
        (1000, true),
        (1299, true),
        (1300, false),
        (1999, false),
        (2000, true),
        (2349, true),
        (2350, false),
    ] {
        assert_eq!(is_covered(position, &recorded), covered, "{position}");
    }
    assert!(!is_covered(0, &[]));
}

/// Start, samples with the arc on, span and restarts of each.
fn rebuilt(windows: Vec<Window>, recorded: &[Bead]) -> Vec<(u64, u64, u64, u16)> {
    let beads = rebuild(&log(windows), recorded);
    let told = |bead: &Bead| (bead.start, bead.arc_samples, bead.span(), bead.restarts);
    beads.iter().map(told).collect()
}

#[test]
fn a_bead_is_rebuilt_if_it_is_as_long_as_a_bead_must_be() {
    let idle = || windows(false, 0, 1000);
    let of = |last: u16| {
        let lit = [windows(true, 1000, 1200), vec![window(1200, true, last, 0)]];
        let after = windows(false, 1200 + u64::from(last), 2200);
        rebuilt([idle(), lit.concat(), after].concat(), &[])
    };
    assert_eq!(of(99), []);
    assert_eq!(of(100), [(1000, 300, 300, 0)]);
    assert_eq!(of(101), [(1000, 301, 301, 0)]);
    assert_eq!(rebuilt(idle(), &[]), []);
    // It burns when the log ends.
    assert_eq!(
        rebuilt([idle(), windows(true, 1000, 1500)].concat(), &[]),
        [(1000, 500, 500, 0)]
    );
}

#[test]
fn arcs_no_further_apart_than_an_arc_may_pause_are_one_bead() {
    let of = |pause: u64| {
        let quiet = window(1300, false, pause as u16, 0);
        let again = windows(true, 1300 + pause, 1600 + pause);
        rebuilt(
            [windows(true, 1000, 1300), vec![quiet], again].concat(),
            &[],
        )
    };
    assert_eq!(of(399), [(1000, 600, 999, 1)]);
    assert_eq!(of(400), [(1000, 600, 1000, 1)]);
    assert_eq!(of(401), [(1000, 300, 300, 0), (1701, 300, 300, 0)]);
    // Without windows between them it is the same, but nobody knows whether the arc went out.
    let of = |pause: u64| {
        let again = windows(true, 1300 + pause, 1600 + pause);
        rebuilt([windows(true, 1000, 1300), again].concat(), &[])
    };
    assert_eq!(of(400), [(1000, 600, 1000, 0)]);
    assert_eq!(of(401), [(1000, 300, 300, 0), (1701, 300, 300, 0)]);
}

#[test]
fn what_a_recorded_bead_covers_is_not_rebuilt_and_ends_what_is() {
    assert_eq!(
        rebuilt(windows(true, 1000, 1300), &[bead(1, 1000, 300)]),
        []
    );
    // A recorded bead between two arcs that would be one bead without it.
    let arcs = [
        windows(true, 1000, 1300),
        windows(true, 1320, 1400),
        windows(true, 1500, 1800),
    ];
    assert_eq!(
        rebuilt(arcs.concat(), &[bead(1, 1320, 100)]),
        [(1000, 300, 300, 0), (1500, 300, 300, 0)]
    );
}

#[test]
fn a_rebuilt_bead_holds_its_pauses_and_counts_samples_without_a_window_as_dropped() {
    let windows = [
        windows(true, 1000, 1300),
        vec![
            window(1300, false, 150, 50),
            // 1500 to 1550 are in no window.
            window(1550, false, 50, 0),
            // And 1600 to 1607.
            window(1607, true, 93, 0),
        ],
        windows(true, 1700, 1800),
    ]
    .concat();
    let beads = rebuild(&log(windows), &[]);
    assert_eq!(beads.len(), 1);
    let bead = beads[0];
    assert_eq!((bead.start, bead.span()), (1000, 800));
    // 300 + 150 + 50 + 93 + 100 samples; 50 dropped and 57 in no window.
    assert_eq!((bead.sums.n, bead.dropped), (693, 107));
    assert_eq!((bead.arc_samples, bead.restarts), (493, 1));
    // 493 of them at 2400 counts.
    assert_eq!(bead.sums.v, 493 * 2400);
}

#[test]
fn a_rebuilt_bead_is_told_in_the_singular_and_more_in_the_plural() {
    let notes = |windows: Vec<Window>| {
        let windows = windows.into_iter().map(Record::Window);
        let records: Vec<_> = std::iter::once(Record::Header(arc()))
            .chain(windows)
            .collect();
        open(&frames(&records).concat()).report.notes
    };
    let first = windows(true, 1000, 1300);
    assert_eq!(
        notes(first.clone()),
        ["1 bead had no record and was rebuilt from the windows"]
    );
    assert_eq!(
        notes([first, windows(true, 2000, 2300)].concat()),
        ["2 beads had no record and were rebuilt from the windows"]
    );
}

#[test]
fn a_recorded_bead_keeps_its_number_unless_numbers_would_go_back() {
    let recorded = [
        bead(1, 0, 300),
        bead(5, 2000, 300),
        bead(3, 3000, 300),
        bead(6, 4000, 300),
        bead(9, 5000, 300),
    ];
    let beads = merge(&log(Vec::new()), &recorded, &[bead(0, 1000, 300)]);
    let told: Vec<_> = beads
        .iter()
        .map(|logged| (logged.bead.number, logged.origin == BeadOrigin::Rebuilt))
        .collect();
    assert_eq!(
        told,
        [
            (1, false),
            (2, true),
            (5, false),
            (6, false),
            (7, false),
            (9, false)
        ]
    );
}

/// The logger numbers the beads that it closes. The one in which the power was cut it never closed, so the numbers after
/// it say nothing of it.
#[test]
fn a_bead_in_which_the_power_was_cut_hides_no_bead_that_is_lost_later() {
    let lit = |number, start| {
        [
            Record::Window(window(start, true, 1000, 0)),
            Record::Bead(bead(number, start, 1000)),
        ]
    };
    let quiet = |from| Record::Window(window(from, false, 1000, 0));
    let again = Event {
        position: 4000,
        kind: EventKind::PowerOn,
        value: 2,
    };
    let [one, two, three, four] =
        [(1, 1000), (2, 5000), (3, 7000), (4, 9000)].map(|(number, start)| lit(number, start));
    let records: Vec<Record> = [Record::Header(arc()), quiet(0)]
        .into_iter()
        .chain(one)
        // The power is cut in the second weld.
        .chain([quiet(2000), Record::Window(window(3000, true, 1000, 0))])
        .chain([Record::Header(arc()), Record::Event(again), quiet(4000)])
        .chain(two)
        .chain([quiet(6000)])
        .chain(three)
        .chain([quiet(8000)])
        .chain(four)
        .collect();
    let mut frames = frames(&records);
    let is_third = |record: &Record| matches!(record, Record::Window(one) if one.start == 7000);
    let third = records.iter().position(is_third).expect("there");
    frames.drain(third..third + 2);
    let log = open(&frames.concat());
    let numbers: Vec<_> = log.beads.iter().map(|bead| bead.bead.number).collect();
    assert_eq!(
        numbers.len(),
        4,
        "the third is lost, and that of the cut is rebuilt"
    );
    assert_eq!(
        (log.holes.len(), log.holes[0].from, log.holes[0].until),
        (1, 7000, 8000)
    );
    assert_eq!(log.holes[0].beads, Some(1), "bead 3; numbers {numbers:?}");
}

#[test]
fn beads_of_a_log_without_a_header_are_told_in_counts() {
    let mut bead = bead(7, 0, 200);
    bead.add_window(&window(200, false, 100, 0));
    // Two thirds of 2400 and 1500 counts, and of their product.
    assert_eq!(
        raw_counts(&bead),
        "bead 7: 200 samples with the arc on, mean counts 1600.0 (voltage) and 1000.0 (current), mean product 2400000"
    );
    bead.sums = coldsquare_core::samples::Sums::default();
    assert!(
        raw_counts(&bead).ends_with("mean counts 0.0 (voltage) and 0.0 (current), mean product 0"),
        "without samples"
    );
}
