//! How much of a bead a channel stood still, and which drift is the bead's own.

use super::*;
use crate::log::instrument::Stuck;
use crate::log::tests::{log_of, open, recording};
use coldsquare_core::record::Event;
use coldsquare_core::samples::Sums;

/// A bead from 1000 to 2000, the last 200 samples of it dropped.
fn bead() -> Bead {
    Bead {
        start: 1000,
        sums: Sums {
            n: 800,
            ..Sums::default()
        },
        dropped: 200,
        ..Bead::default()
    }
}

/// Share of the bead in a recording whose channels stood still in these places.
fn of_recording(stuck: Vec<Stuck>, side: Side) -> f64 {
    let mut log = open(&recording(1000));
    let SourceKind::Recording(recording) = &mut log.source.kind else {
        panic!("a recording");
    };
    recording.stuck = stuck;
    log.stuck_share(&bead(), side)
}

#[test]
fn only_what_lies_in_the_bead_and_on_the_channel_counts_in_a_recording() {
    let stuck = |side, from, until| Stuck { side, from, until };
    let places = vec![
        stuck(Side::Voltage, 900, 1100),
        stuck(Side::Voltage, 1500, 1550),
        stuck(Side::Voltage, 1980, 3000),
        stuck(Side::Voltage, 2000, 2500),
        stuck(Side::Voltage, 500, 1000),
        stuck(Side::Current, 1200, 1600),
    ];
    // 100 + 50 + 20 of 1000 samples.
    assert_eq!(of_recording(places.clone(), Side::Voltage), 0.17);
    assert_eq!(of_recording(places, Side::Current), 0.4);
    assert_eq!(of_recording(Vec::new(), Side::Voltage), 0.0);
    let all = vec![
        stuck(Side::Current, 0, 9000),
        stuck(Side::Current, 1000, 1500),
    ];
    assert_eq!(
        of_recording(all, Side::Current),
        1.0,
        "never more than all of it"
    );
}

#[test]
fn the_logger_waited_a_second_each_time_it_said_so() {
    let mut log = log_of(Vec::new());
    log.headers[0].calibration.sample_rate_hz = 100.0;
    let at = |kind, position| Event {
        position,
        kind,
        value: 0,
    };
    log.events = vec![
        at(EventKind::VoltageStuck, 999),
        at(EventKind::VoltageStuck, 1000),
        at(EventKind::VoltageStuck, 1999),
        at(EventKind::VoltageStuck, 2000),
        at(EventKind::CurrentStuck, 1200),
        at(EventKind::CurrentStuck, 1400),
        at(EventKind::CurrentStuck, 1600),
        at(EventKind::StoreFault, 1500),
    ];
    // Two and three seconds at 100 samples a second, of 1000 samples.
    assert_eq!(log.stuck_share(&bead(), Side::Voltage), 0.2);
    assert_eq!(log.stuck_share(&bead(), Side::Current), 0.3);
    // Of nothing there is no share.
    assert_eq!(log.stuck_share(&Bead::default(), Side::Voltage), 0.0);
}

#[test]
fn a_bead_has_the_drift_that_was_found_beside_it_and_no_other() {
    let mut log = open(&recording(1000));
    let drift = |bead, zero_a| Drift {
        bead,
        zero_a,
        standard_a: 0.5,
    };
    let mut logged = log.beads[0].clone();
    logged.bead.start = 1000;
    let SourceKind::Recording(recording) = &mut log.source.kind else {
        panic!("a recording");
    };
    recording.drifts = vec![drift(500, 4.0), drift(1000, 7.0), drift(3000, -2.0)];
    assert_eq!(logged.drift(&log), Some(drift(1000, 7.0)));
    logged.bead.start = 1001;
    assert_eq!(logged.drift(&log), None);
    assert_eq!(
        logged.drift(&log_of(Vec::new())),
        None,
        "a logger corrects its zero itself"
    );
}
