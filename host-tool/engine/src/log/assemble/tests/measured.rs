//! What is measured on a bead, with every contribution to its uncertainty worked out by hand.

use super::super::*;
use crate::log::tests::{frames, header, log_of, open, recording, window};
use coldsquare_core::calibration::Channel;
use coldsquare_core::record::{Event, EventKind, Record};
use coldsquare_core::samples::{RawPair, WindowSums};

/// Counts of 24 V and 150 A. Channels so fine that rounding to whole counts does not show.
const LIT: (i32, i32) = (8_000_000, 7_500_000);

/// A log without windows, of exact channels.
fn log(rate_hz: f64, steady_arc: bool) -> Log {
    let mut log = log_of(Vec::new());
    log.source.kind = SourceKind::Logger { steady_arc };
    let exact = |channel: &Channel, gain_per_count: f64| Channel {
        gain_per_count,
        gain_relative_uncertainty: 0.0,
        ..*channel
    };
    let header = &mut log.headers[0];
    let calibration = &mut header.calibration;
    calibration.voltage = exact(&calibration.voltage, 24.0 / f64::from(LIT.0));
    calibration.current = exact(&calibration.current, 150.0 / f64::from(LIT.1));
    calibration.sample_rate_hz = rate_hz;
    header.arc.longest_tack = 3999;
    log
}

/// A bead at 24 V and 150 A, whose arc went out and came back five times.
fn bead(samples: u16) -> Bead {
    let mut sums = WindowSums::EMPTY;
    sums.add_repeated(RawPair::new(LIT.0, LIT.1), samples);
    let mut bead = Bead {
        number: 1,
        restarts: 5,
        ..Bead::default()
    };
    bead.add_window(&Window {
        arc_on: true,
        sums,
        ..Window::default()
    });
    bead
}

fn of(log: &Log, bead: Bead) -> LoggedBead {
    measured(log, bead, BeadOrigin::Recorded)
}

fn energy(logged: &LoggedBead) -> Uncertain {
    logged.measured.expect("measured").uncertain_energy()
}

fn assert_near(value: f64, expected: f64) {
    assert!(
        (value - expected).abs() <= 1e-6 * expected.abs(),
        "{value} and {expected}"
    );
}

/// 24 V · 150 A = 3600 W. Six arcs, each of which began and ended between two samples: √(6 / 6) = 1 interval.
#[test]
fn the_ends_of_arcs_between_two_samples_count_with_the_mean_power() {
    let logged = of(&log(2000.0, false), bead(4000));
    assert_near(energy(&logged).value, 7200.0);
    assert_near(energy(&logged).standard, 3600.0 / 2000.0);
    assert_eq!(logged.arc_time.value, 2.0);
    assert_near(logged.arc_time.standard, 1.0 / 2000.0);
    // One arc: 1 / √6.
    let mut one = bead(4000);
    one.restarts = 0;
    let logged = of(&log(2000.0, false), one);
    assert_near(energy(&logged).standard, 3600.0 / 2000.0 / 6f64.sqrt());
}

#[test]
fn the_sampling_rate_is_known_as_well_as_its_crystal() {
    let mut log = log(2000.0, false);
    log.headers[0].calibration.rate_relative_uncertainty = 0.001;
    let logged = of(&log, bead(4000));
    // A thousandth of 2 s and of 7200 J, and one interval.
    assert_near(logged.arc_time.standard, 0.002f64.hypot(0.0005));
    assert_near(energy(&logged).standard, 7.2f64.hypot(1.8));
}

/// Half-width 30 % of 7200 J, over √3; and one interval of 2 ms.
#[test]
fn slow_samples_miss_short_circuits_unless_the_arc_was_steady() {
    let logged = of(&log(500.0, false), bead(1000));
    let waveform = 0.3 * 7200.0 / 3f64.sqrt();
    assert_near(energy(&logged).standard, waveform.hypot(7.2));
    let logged = of(&log(500.0, true), bead(1000));
    assert_near(energy(&logged).standard, 7.2);
}

/// A voltage of 24 V, a current of 135 A and 165 A in turn: 360 W of scatter from sample to sample, of 1000 samples.
#[test]
fn slow_samples_that_scatter_leave_the_mean_open() {
    let mut sums = WindowSums::EMPTY;
    sums.add_repeated(RawPair::new(LIT.0, LIT.1 / 10 * 9), 500);
    sums.add_repeated(RawPair::new(LIT.0, LIT.1 / 10 * 11), 500);
    let mut scattered = bead(1000);
    scattered.sums = sums.into();
    let logged = of(&log(500.0, true), scattered);
    assert_near(energy(&logged).value, 7200.0);
    let scatter = 360.0 / 1000f64.sqrt() * (999.0 / 997.0f64).sqrt() * 2.0;
    assert_near(energy(&logged).standard, scatter.hypot(7.2));
    let logged = of(&log(2000.0, true), scattered);
    assert_near(energy(&logged).standard, 1.8);
}

/// Half-width 50 % of the energy of the time for which a channel stood still, over √3.
#[test]
fn a_channel_that_stands_still_leaves_half_of_its_energy_open() {
    let mut log = log(2000.0, false);
    let stuck = |kind| Event {
        position: 100,
        kind,
        value: 8_000_000,
    };
    // One second of two: a quarter of 7200 J.
    log.events = vec![stuck(EventKind::VoltageStuck)];
    let logged = of(&log, bead(4000));
    assert_near(energy(&logged).standard, (1800.0 / 3f64.sqrt()).hypot(1.8));
    // Both channels for a second.
    log.events.push(stuck(EventKind::CurrentStuck));
    let logged = of(&log, bead(4000));
    assert_near(energy(&logged).standard, (3600.0 / 3f64.sqrt()).hypot(1.8));
}

/// An arc time that rounds to nothing is one sample at least: 7200 J in 0.5 ms, give or take one interval.
#[test]
fn a_bead_without_a_sample_of_arc_may_be_wrong_by_all_of_its_energy() {
    let mut none = bead(4000);
    none.arc_samples = 0;
    let logged = of(&log(2000.0, false), none);
    assert_eq!(logged.arc_time.value, 0.0);
    assert_near(energy(&logged).standard, 7200.0);
}

#[test]
fn a_tack_is_no_longer_than_the_longest_tack() {
    let log = log(2000.0, false);
    for (samples, is_tack) in [(3998, true), (3999, true), (4000, false)] {
        assert_eq!(of(&log, bead(samples)).is_tack, is_tack, "{samples}");
    }
}

#[test]
fn a_bead_begins_at_its_position_and_lasts_with_its_pauses_and_dropped_samples() {
    let log = log(2000.0, false);
    let mut later = bead(4000);
    later.start = 3000;
    later.dropped = 500;
    later.arc_samples = 3000;
    let logged = of(&log, later);
    assert_eq!(logged.start, Seconds(1.5));
    assert_eq!(logged.duration, Seconds(2.25));
    assert_eq!(logged.arc_time.value, 1.5);
    assert_eq!(logged.ends, Ends::WHOLE);
}

#[test]
fn volts_and_amps_of_the_arc_leave_the_pauses_out() {
    let log = log_of(vec![
        window(0, true, 100, 0),
        window(100, false, 100, 0),
        window(200, true, 50, 0),
        window(250, true, 500, 0),
    ]);
    let mut bead = Bead::default();
    log.windows[..3]
        .iter()
        .for_each(|window| bead.add_window(window));
    let lit = burning(&log, &bead).expect("windows");
    assert_eq!(lit.samples, 150);
    assert_near(lit.mean_voltage.0, 24.0);
    assert_near(lit.mean_current.0, 150.0);
    // Where the log has no windows of it with the arc on, those of the whole bead: 24 V · 150 / 250.
    for windows in [Vec::new(), vec![window(100, false, 100, 0)]] {
        let whole = burning(&log_of(windows), &bead).expect("a bead");
        assert_eq!(whole.samples, 250);
        assert_near(whole.mean_voltage.0, 14.4);
    }
}

#[test]
fn a_logger_that_samples_slowly_is_told_of_and_a_recording_by_its_rows() {
    let notes = |rate_hz: f64| {
        let mut header = header();
        header.calibration.sample_rate_hz = rate_hz;
        open(&frames(&[Record::Header(header)]).concat())
            .report
            .notes
    };
    let told = notes(999.0);
    assert_eq!(told.len(), 1);
    assert!(
        told[0].starts_with("the logger took 999 samples a second, too few"),
        "{told:?}"
    );
    assert!(notes(1000.0).is_empty());
    let told = open(&recording(100)).report.notes;
    assert!(
        told.iter()
            .any(|note| note.contains("rows per second are too few"))
    );
    assert!(!told.iter().any(|note| note.contains("the logger took")));
}
