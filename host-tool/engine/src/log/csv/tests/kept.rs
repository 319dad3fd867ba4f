//! How a recording was read, so that the next one of the same instrument is read like it.

use super::*;
use crate::log::csv::recording::Recording;

/// The test signal at 100 rows a second, each row as an instrument writes it, below these headings.
fn text(headings: &str, row: WriteRow) -> String {
    let rows = times(100.0).map(|time| {
        let (volts, amps) = signal(time);
        row(time, volts, amps)
    });
    std::iter::once(headings.to_owned()).chain(rows).collect()
}

fn recording(text: &str, options: &RecordingOptions) -> (Log, Recording) {
    let log = try_read(text.as_bytes(), options).unwrap_or_else(|error| panic!("{error}"));
    let SourceKind::Recording(recording) = &log.source.kind else {
        panic!("no recording");
    };
    let recording = (**recording).clone();
    (log, recording)
}

fn energies(log: &Log) -> Vec<f64> {
    let measured = log
        .beads
        .iter()
        .map(|bead| bead.measured.expect("measured"));
    measured.map(|measured| measured.energy.0).collect()
}

#[test]
fn columns_are_kept_by_their_headings_with_their_scales_and_the_unit_of_time() {
    let text = text("time_ms,voltage,current_kA\n", |time, volts, amps| {
        format!("{:.0},{volts},{}\n", 1000.0 * time, amps / 1000.0)
    });
    let (log, read) = recording(&text, &RecordingOptions::default());
    let kept = read.options(&RecordingOptions::default());
    assert_eq!(kept.time, Some(ColumnRef::Number(1)));
    assert_eq!(kept.time_unit, Some(TimeUnit::Ms));
    assert_eq!(kept.volts, Some(ColumnRef::Name("voltage".into())));
    assert_eq!(kept.volts_scale, None, "volts are volts");
    assert_eq!(kept.amps, Some(ColumnRef::Name("current_kA".into())));
    assert_eq!(kept.amps_scale, Some(1000.0));
    assert_eq!(energies(&recording(&text, &kept).0), energies(&log));
}

#[test]
fn columns_without_headings_are_kept_by_their_places() {
    let text = text("", |time, volts, amps| {
        format!("{time:.2},{volts},{amps}\n")
    });
    let (_, read) = recording(&text, &RecordingOptions::default());
    let kept = read.options(&RecordingOptions::default());
    assert_eq!(kept.volts, Some(ColumnRef::Number(2)));
    assert_eq!(kept.amps, Some(ColumnRef::Number(3)));
    assert_eq!((kept.volts_scale, kept.amps_scale), (None, None));
}

#[test]
fn of_two_columns_with_one_heading_the_second_is_kept_by_its_place() {
    let text = text("time,voltage,voltage,current\n", |time, volts, amps| {
        format!("{time:.2},0,{volts},{amps}\n")
    });
    let given = RecordingOptions {
        volts: Some(ColumnRef::Number(3)),
        ..RecordingOptions::default()
    };
    let (_, read) = recording(&text, &given);
    let kept = read.options(&RecordingOptions::default());
    assert_eq!(kept.volts, Some(ColumnRef::Number(3)));
}

/// What belongs to one recording is not for the next.
#[test]
fn what_was_given_goes_before_what_was_found_and_its_calibration_is_not_kept() {
    let text = text("time,voltage,current\n", |time, volts, amps| {
        format!("{time:.2},{},{}\n", volts / 2.0, amps / 4.0)
    });
    let given = RecordingOptions {
        volts_scale: Some(2.0),
        amps_scale: Some(4.0),
        time_unit: Some(TimeUnit::S),
        calibration_of: Some("first.log".into()),
        ..RecordingOptions::default()
    };
    let first = RecordingOptions {
        calibration_of: None,
        ..given.clone()
    };
    let (_, read) = recording(&text, &first);
    let kept = read.options(&given);
    assert_eq!((kept.volts_scale, kept.amps_scale), (Some(2.0), Some(4.0)));
    assert_eq!(kept.time_unit, Some(TimeUnit::S));
    assert_eq!(kept.calibration_of, None);
    // An instrument whose scale was found, and another scale that was given for this one.
    let other = RecordingOptions {
        volts_scale: Some(3.0),
        ..RecordingOptions::default()
    };
    assert_eq!(read.options(&other).volts_scale, Some(3.0));
}
