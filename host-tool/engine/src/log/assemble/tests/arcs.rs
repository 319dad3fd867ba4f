//! Averages that are those of no arc are told on, with what may be wrong with the column.

use super::super::*;
use crate::log::tests::{log_of, open, recording};

#[test]
fn an_arc_has_from_4_to_60_volts() {
    for (volts, is_arc) in [
        (3.9, false),
        (4.0, true),
        (24.0, true),
        (60.0, true),
        (60.1, false),
        (240.0, false),
        (-24.0, false),
        (f64::NAN, false),
    ] {
        assert_eq!(why_no_arc(volts, 150.0).is_none(), is_arc, "{volts}");
    }
    let why = why_no_arc(240.0, 150.0).expect("tenths of volts");
    assert!(why.starts_with("240 V is not an arc voltage"), "{why}");
}

#[test]
fn more_than_700_amperes_need_28_volts() {
    for (volts, amps, is_arc) in [
        (27.9, 700.0, true),
        (27.9, 700.1, false),
        (28.0, 700.1, true),
        (28.1, 700.1, true),
        (20.0, 1500.0, false),
        (40.0, 1500.0, true),
        (20.0, 150.0, true),
    ] {
        assert_eq!(
            why_no_arc(volts, amps).is_none(),
            is_arc,
            "{volts} V, {amps} A"
        );
    }
    let why = why_no_arc(24.0, 1500.0).expect("tenths of amperes");
    assert!(why.starts_with("no arc of 24 V carries 1500 A"), "{why}");
}

/// A recording with beads of these volts and amps, effective.
fn recorded(averages: &[(f64, f64)]) -> Log {
    let mut log = open(&recording(2000));
    let bead = log.beads[0].clone();
    let with = |&(volts, amps): &(f64, f64)| {
        let mut bead = bead.clone();
        let mut measured = bead.measured.expect("measured");
        measured.rms_voltage.0 = volts;
        measured.rms_current.0 = amps;
        (bead.measured, bead.burning) = (Ok(measured), Some(measured));
        bead
    };
    log.beads = averages.iter().map(with).collect();
    log
}

#[test]
fn the_middle_bead_of_a_recording_tells_whether_its_columns_are_right() {
    let is_told = |averages: &[(f64, f64)]| unlikely_averages(&recorded(averages)).is_some();
    assert!(!is_told(&[]));
    assert!(!is_told(&[(24.0, 150.0)]));
    assert!(is_told(&[(240.0, 150.0)]));
    // Two of five are odd, and three are.
    let (good, odd) = ((24.0, 150.0), (240.0, 150.0));
    assert!(!is_told(&[odd, good, odd, good, good]));
    assert!(is_told(&[odd, good, odd, good, odd]));
    // One of ten may be as odd as it likes, and be the first.
    let mut ten = [good; 10];
    ten[0] = (9000.0, 1.0);
    assert!(!is_told(&ten));
    // So with the amps.
    let odd = (24.0, 1500.0);
    assert!(!is_told(&[odd, good, odd, good, good]));
    assert!(is_told(&[odd, good, odd, good, odd]));
}

#[test]
fn a_bead_that_cannot_be_measured_says_nothing_of_the_columns() {
    let mut log = recorded(&[(24.0, 150.0), (240.0, 150.0)]);
    log.beads[0].measured = Err(meter::MeterError::NoSamples);
    assert!(unlikely_averages(&log).is_some());
    log.beads[1].measured = Err(meter::MeterError::NoSamples);
    assert!(unlikely_averages(&log).is_none());
}

#[test]
fn a_logger_knows_its_channels_whatever_their_averages() {
    let mut log = recorded(&[(240.0, 150.0)]);
    assert!(log.beads[0].suits_no_arc(&log));
    log.source.kind = log_of(Vec::new()).source.kind;
    assert!(!log.beads[0].suits_no_arc(&log));
    assert_eq!(unlikely_averages(&log), None);
    let log = recorded(&[(24.0, 150.0)]);
    assert!(!log.beads[0].suits_no_arc(&log));
    let mut log = recorded(&[(240.0, 150.0)]);
    log.beads[0].burning = None;
    assert!(!log.beads[0].suits_no_arc(&log), "nothing is known of it");
}
