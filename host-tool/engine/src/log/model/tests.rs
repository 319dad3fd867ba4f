//! Positions become time by the header that holds there; a bead has the windows between its ends.

use super::*;
use crate::log::tests::{header, log_of, open, recording, window};
use coldsquare_core::record::{ClockSource, WallClock};
use coldsquare_core::samples::Sums;

/// A log whose rate is 1000 a second, 500 from sample 2000 on, and 250 from sample 3000 on.
fn log() -> Log {
    let mut log = log_of(Vec::new());
    log.headers = [(0, 1000.0), (2000, 500.0), (3000, 250.0)]
        .map(|(start, rate)| {
            let mut header = header();
            header.start = start;
            header.calibration.sample_rate_hz = rate;
            header
        })
        .into();
    log
}

#[test]
fn a_header_holds_from_its_first_sample_to_that_of_the_next() {
    let log = log();
    for (position, start) in [
        (0, 0),
        (1999, 0),
        (2000, 2000),
        (2999, 2000),
        (3000, 3000),
        (9000, 3000),
    ] {
        assert_eq!(log.header_at(position).start, start, "{position}");
    }
    let mut log = log;
    log.headers.remove(0);
    assert_eq!(
        log.header_at(100).start,
        2000,
        "the first holds before it too"
    );
}

#[test]
fn time_is_counted_at_the_rate_of_its_day() {
    let log = log();
    for (position, seconds) in [
        (0, 0.0),
        (500, 0.5),
        (2000, 2.0),
        (2250, 2.5),
        (3000, 4.0),
        // 2 s, 2 s, and 500 samples at 250 a second.
        (3500, 6.0),
    ] {
        assert_eq!(log.seconds(position), Seconds(seconds), "{position}");
    }
    // A header that repeats the rate changes nothing, the rate after it does.
    let mut log = log;
    log.headers[1].calibration.sample_rate_hz = 1000.0;
    assert_eq!(log.seconds(2500), Seconds(2.5));
    assert_eq!(log.seconds(3500), Seconds(5.0));
}

#[test]
fn the_time_of_day_goes_on_from_the_clock_of_the_header() {
    let mut log = log();
    log.headers[1].clock = Some(WallClock {
        unix_ms: 1_700_000_000_000,
        source: ClockSource::Host,
    });
    assert_eq!(log.unix_ms(2000), Some(1_700_000_000_000));
    // 251 samples at 500 a second.
    assert_eq!(log.unix_ms(2251), Some(1_700_000_000_502));
    assert_eq!(log.unix_ms(1000), None, "that header knows no time");
    assert_eq!(log.unix_ms(3000), None);
    log.headers.remove(0);
    assert_eq!(
        log.unix_ms(1000),
        Some(1_700_000_000_000),
        "no earlier than it is known"
    );
}

#[test]
fn a_bead_has_the_windows_from_its_first_sample_to_before_its_end() {
    let log = log_of(
        (0..6)
            .map(|k| window(100 * k, k % 3 == 1, 100, 0))
            .collect(),
    );
    let starts = |start, samples, dropped| {
        let bead = Bead {
            start,
            sums: Sums {
                n: samples,
                ..Sums::default()
            },
            dropped,
            ..Bead::default()
        };
        let windows = log.windows_of(&bead).iter();
        windows.map(|window| window.start).collect::<Vec<_>>()
    };
    assert_eq!(starts(100, 300, 0), [100, 200, 300]);
    assert_eq!(starts(100, 250, 50), [100, 200, 300]);
    assert_eq!(starts(100, 301, 0), [100, 200, 300, 400]);
    assert_eq!(starts(101, 299, 0), [200, 300]);
    assert_eq!(starts(600, 100, 0), [0; 0]);
    assert_eq!(starts(u64::MAX, 100, 0), [0; 0]);
}

/// 30 % where samples are too few for short circuits (W. J. Sperko, Welding Journal, 2010; see `Recording`).
#[test]
fn energies_of_slow_samples_may_be_wrong_unless_the_arc_was_steady() {
    let of = |rate: f64, steady_arc| {
        let mut log = log_of(Vec::new());
        log.source.kind = SourceKind::Logger { steady_arc };
        log.headers = vec![header(), header()];
        log.headers[1].calibration.sample_rate_hz = rate;
        log.waveform_uncertainty()
    };
    assert_eq!(of(999.0, false), 0.3);
    assert_eq!(of(1000.0, false), 0.0);
    assert_eq!(of(5000.0, false), 0.0);
    assert_eq!(of(999.0, true), 0.0);
    let slow = open(&recording(100));
    assert_eq!(slow.waveform_uncertainty(), 0.3);
    assert_eq!(open(&recording(2000)).waveform_uncertainty(), 0.0);
}

#[test]
fn power_is_energy_over_arc_time_and_none_without_an_arc() {
    let log = open(&recording(2000));
    let mut bead = log.beads[0].clone();
    let mut measured = bead.measured.expect("measured");
    measured.energy.0 = 7200.0;
    bead.measured = Ok(measured);
    bead.arc_time = Uncertain::exact(1.5);
    assert_eq!(bead.power(), Some(4800.0));
    bead.arc_time = Uncertain::exact(0.0);
    assert_eq!(bead.power(), None);
    bead.arc_time = Uncertain::exact(1.5);
    bead.measured = Err(MeterError::NoSamples);
    assert_eq!(bead.power(), None);
}
