//! Logs of the logger: what is in them, and what is made of them when records are missing.

#[cfg(feature = "formats")]
mod wave;

use super::{BeadOrigin, Ends, Log, LogError, read, read_from};
use crate::files::{File, Files};
use crate::recording::RecordingOptions;
use coldsquare_core::arc::{ArcConfig, ArcEvent, ArcSettings, ArcState};
use coldsquare_core::bead::Window;
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::process::Process;
use coldsquare_core::record::{
    Event, EventKind, Header, MAX_FRAME, Marker, MarkerKind, Record, encode,
};
use coldsquare_core::samples::{MAX_COUNT, RawPair, WindowSums};
use std::path::Path;

const RATE_HZ: f64 = 2000.0;

pub(super) fn header() -> Header {
    let channel = |gain_per_count| Channel {
        gain_per_count,
        zero_in_256ths: 0,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.0,
        lowest_count: -MAX_COUNT,
        highest_count: MAX_COUNT,
    };
    let calibration = Calibration {
        voltage: channel(0.01),
        current: channel(0.1),
        sample_rate_hz: RATE_HZ,
        rate_relative_uncertainty: 0.0,
    };
    let settings = ArcSettings::for_process(Process::MagSolid);
    Header {
        start: 0,
        device: "bench".try_into().expect("fits"),
        firmware: heapless::String::new(),
        title: heapless::String::new(),
        process: Some(Process::MagSolid),
        clock: None,
        calibration,
        calibrated_unix_s: 0,
        arc: ArcConfig::new(&settings, &calibration)
            .expect("settings fit")
            .counts(),
    }
}

/// A log of two welds (24 V, 150 A, 2 s each; the first with a gap of 0.1 s inside), as the logger writes it.
fn records() -> Vec<Record> {
    let header = header();
    let config = ArcConfig::from_counts(header.arc, &header.calibration).expect("as written");
    let mut records = vec![Record::Header(header.clone()), Record::Header(header)];
    let mut state = ArcState::new();
    let mut keep = |event| match event {
        ArcEvent::Window(window) => records.push(Record::Window(window)),
        ArcEvent::BeadEnded(bead) => records.push(Record::Bead(bead)),
        ArcEvent::BeadStarted { .. } => {}
    };
    for k in 0..16_000 {
        let lit =
            (2000..6000).contains(&k) && !(4000..4200).contains(&k) || (8000..12_000).contains(&k);
        let pair = if lit {
            RawPair::new(2400, 1500)
        } else {
            RawPair::new(0, 0)
        };
        state.step(&config, pair, &mut keep);
    }
    state.finish(&config, &mut keep);
    let marker = Marker {
        position: 7000,
        kind: MarkerKind::NextWeld,
        weld: Some(2),
        note: heapless::String::new(),
    };
    records.push(Record::Marker(marker));
    let event = Event {
        position: 16_000,
        kind: EventKind::StoreFull,
        value: 0,
    };
    records.push(Record::Event(event));
    records
}

pub(super) fn frames(records: &[Record]) -> Vec<Vec<u8>> {
    let mut buffer = [0; MAX_FRAME];
    let mut frame = |(record, sequence)| {
        let length = encode(sequence, record, &mut buffer).expect("a sound record");
        buffer[..length].to_vec()
    };
    records.iter().zip(0..).map(&mut frame).collect()
}

fn try_open(bytes: &[u8]) -> Result<Log, LogError> {
    read_from(
        Path::new("gate.log"),
        bytes,
        std::io::empty(),
        &RecordingOptions::default(),
    )
}

pub(super) fn open(bytes: &[u8]) -> Log {
    try_open(bytes).unwrap_or_else(|error| panic!("{error}"))
}

/// A log of no beads with these windows, and an arc that may pause for 400 samples.
pub(super) fn log_of(windows: Vec<Window>) -> Log {
    let mut header = header();
    header.arc.longest_gap = 400;
    let mut log = open(&frames(&[Record::Header(header)]).concat());
    log.windows = windows;
    log
}

/// A window of so many samples, and so many that were due and did not come; 24 V and 150 A while the arc burns.
pub(super) fn window(start: u64, arc_on: bool, samples: u16, dropped: u32) -> Window {
    let lit = RawPair::new(2400, 1500);
    let mut sums = WindowSums::EMPTY;
    sums.add_repeated(if arc_on { lit } else { RawPair::new(0, 0) }, samples);
    Window {
        start,
        arc_on,
        sums,
        dropped,
        ..Window::default()
    }
}

#[test]
fn a_log_says_what_was_measured() {
    let log = open(&frames(&records()).concat());
    assert!(log.report.tally.is_whole());
    assert_eq!(
        log.report.notes,
        ["at 8.0 s: the logger's memory was full: nothing after this was stored"]
    );
    assert_eq!(
        (log.markers.len(), log.events.len(), log.beads.len()),
        (1, 1, 2)
    );
    let [first, second] = [&log.beads[0], &log.beads[1]];
    assert_eq!((first.bead.restarts, second.bead.restarts), (1, 0));
    assert_eq!(
        (first.start.0, first.arc_time.value, first.duration.0),
        (1.0, 1.9, 2.0)
    );
    let energy = second.measured.expect("measured").energy.0;
    assert!((energy - 7200.0).abs() < 1e-6, "{energy}");
    let windows = log.windows_of(&first.bead);
    let lit: u64 = windows
        .iter()
        .filter(|window| window.arc_on)
        .map(|window| window.span())
        .sum();
    assert_eq!(lit, first.bead.arc_samples);
    assert_eq!(log.report.uncovered_samples, 0);
    assert_eq!(
        log.windows.iter().map(|window| window.span()).sum::<u64>(),
        16_000
    );
}

#[test]
fn a_bead_whose_record_is_lost_comes_back_from_its_windows() {
    let records = records();
    let frames = frames(&records);
    let whole = open(&frames.concat());
    for (lost, record) in records.iter().enumerate() {
        if !matches!(record, Record::Bead(_)) {
            continue;
        }
        let mut left = frames.clone();
        left.remove(lost);
        let log = open(&left.concat());
        assert_eq!(log.report.tally.missing, 1);
        let beads: Vec<_> = log.beads.iter().map(|bead| bead.bead).collect();
        assert_eq!(
            beads,
            whole.beads.iter().map(|bead| bead.bead).collect::<Vec<_>>()
        );
        let rebuilt = log
            .beads
            .iter()
            .filter(|bead| bead.origin == BeadOrigin::Rebuilt);
        assert_eq!(rebuilt.count(), 1);
    }
}

#[test]
fn a_weld_cut_short_by_the_power_is_kept_up_to_its_last_window() {
    let records = records();
    let frames = frames(&records);
    // The power fails 20 records into the log, in the first weld; its bead was never written.
    let log = open(&frames[..20].concat());
    assert_eq!(log.beads.len(), 1);
    assert_eq!(log.beads[0].origin, BeadOrigin::Rebuilt);
    assert_eq!(log.beads[0].start.0, 1.0);
    assert!(log.report.notes[0].contains("rebuilt from the windows"));
}

#[test]
fn a_lost_window_is_missed_and_its_bead_is_not() {
    let records = records();
    let frames = frames(&records);
    let whole = open(&frames.concat());
    for (lost, record) in records.iter().enumerate() {
        if let Record::Window(window) = record {
            let mut left = frames.clone();
            left.remove(lost);
            let log = open(&left.concat());
            let beads = |log: &Log| log.beads.iter().map(|bead| bead.bead).collect::<Vec<_>>();
            assert_eq!(beads(&log), beads(&whole));
            let at_an_end = window.start == 0 || window.start + window.span() == 16_000;
            let uncovered = if at_an_end { 0 } else { window.span() };
            assert_eq!(log.report.uncovered_samples, uncovered);
        }
    }
}

#[test]
fn a_log_needs_one_header_of_its_two() {
    let frames = frames(&records());
    assert_eq!(open(&frames[1..].concat()).beads.len(), 2);
    let error = try_open(&frames[2..].concat()).expect_err("no header");
    assert!(
        error
            .to_string()
            .starts_with("gate.log has records but no header")
    );
}

#[test]
fn a_log_without_a_header_says_its_counts() {
    let frames = frames(&records());
    let error = try_open(&frames[2..].concat()).expect_err("no header");
    let text = error.to_string();
    assert!(text.contains("--calibration-of LOG"), "{text}");
    assert_eq!(text.lines().count(), 3, "a line for each bead: {text}");
}

#[test]
fn a_bead_that_ends_in_a_hole_is_not_whole_and_numbers_tell_what_is_lost() {
    let records = records();
    let frames = frames(&records);
    let whole = open(&frames.concat());
    assert!(whole.holes.is_empty());
    assert!(whole.beads.iter().all(|bead| bead.ends == Ends::WHOLE));
    let last = whole.beads[0].bead;
    let place = |wanted: &dyn Fn(&Record) -> bool| records.iter().position(wanted).expect("there");
    let second_half = last.start + last.span() / 2;
    let from = place(&|record| matches!(record, Record::Window(one) if one.start >= second_half));
    let until = place(&|record| matches!(record, Record::Bead(one) if one.number == 1));
    let mut left = frames.clone();
    left.drain(from..=until);
    let log = open(&left.concat());
    assert_eq!(log.holes.len(), 1);
    assert_eq!(
        log.holes[0].beads,
        Some(0),
        "bead 1 is there in part, bead 2 has its number"
    );
    let ends = log.beads[0].ends;
    assert!(ends.start && !ends.end, "{ends:?}");
    assert_eq!(log.beads[1].ends, Ends::WHOLE);
}

/// A whole frame of any version and kind, with the payload of an event and the checksum to match.
pub(super) fn frame_of(version: u8, kind: u8) -> Vec<u8> {
    let body = [version, kind, 8, 0, 0, 0, 0xf2, 0x40, 1, 0xd8, 4];
    // Its zeros as COBS writes them: the distance to the next one.
    let mut frame = vec![0, 4, version, kind, 8, 1, 1, 10];
    frame.extend(&body[6..]);
    frame.extend(crc32c(&body).to_le_bytes());
    frame.push(0);
    frame
}

#[test]
fn a_newer_format_is_refused_by_naming_both() {
    let log = [frames(&records()).concat(), frame_of(2, 5)].concat();
    let error = try_open(&log).expect_err("newer");
    assert_eq!(
        error.to_string(),
        "gate.log is in log format 2; this program reads formats up to 1. Use a newer program"
    );
}

#[test]
fn a_job_file_in_place_of_a_log_is_told_as_one() {
    let why = |text: &str| try_open(text.as_bytes()).expect_err("no log").to_string();
    for job in ["[frame]\nwidth = \"1 m\"\n", "# a gate\n[[weld]]\n"] {
        assert!(why(job).contains("it is a job file"), "{}", why(job));
    }
    assert!(!why("a letter\n").contains("it is a job file"));
}

/// CRC-32C bit by bit, as docs/log-format.md gives it.
fn crc32c(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc: u32, _| {
            (crc >> 1) ^ if crc & 1 == 1 { 0x82F6_3B78 } else { 0 }
        })
    })
}

/// Files in memory, by their names.
pub(super) struct Held(pub Vec<(&'static str, Vec<u8>)>);

impl Files for Held {
    fn exists(&self, path: &Path) -> bool {
        self.0.iter().any(|(name, _)| path == Path::new(name))
    }

    fn open(&self, path: &Path) -> std::io::Result<Box<dyn File>> {
        let found = self.0.iter().find(|(name, _)| path == Path::new(name));
        let (_, bytes) = found.ok_or(std::io::ErrorKind::NotFound)?;
        Ok(Box::new(std::io::Cursor::new(bytes.clone())))
    }
}

/// A recording at so many rows a second: two seconds at 24 V and 150 A, and half a second without current.
pub(super) fn recording(rows_per_second: u32) -> Vec<u8> {
    let row = |k: u32| {
        let seconds = f64::from(k) / f64::from(rows_per_second);
        let (volts, amps) = if seconds < 2.0 { (24, 150) } else { (0, 0) };
        format!("{seconds},{volts},{amps}\n")
    };
    let rows: String = (0..rows_per_second * 5 / 2).map(row).collect();
    format!("time_s,volts,amps\n{rows}").into_bytes()
}

/// A file of zeros without end.
struct Zeros;

impl std::io::Read for Zeros {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        into.fill(0);
        Ok(into.len())
    }
}

impl std::io::Seek for Zeros {
    fn seek(&mut self, _: std::io::SeekFrom) -> std::io::Result<u64> {
        Ok(0)
    }
}

/// One file, `card.img`, of zeros.
struct ZeroFiles;

impl Files for ZeroFiles {
    fn exists(&self, path: &Path) -> bool {
        path == Path::new("card.img")
    }

    fn open(&self, path: &Path) -> std::io::Result<Box<dyn File>> {
        match self.exists(path) {
            true => Ok(Box::new(Zeros)),
            false => Err(std::io::ErrorKind::NotFound.into()),
        }
    }
}

#[test]
fn a_file_of_zeros_is_refused_from_its_beginning() {
    let options = RecordingOptions::default();
    let error = read(&ZeroFiles, Path::new("card.img"), &options).expect_err("nothing in it");
    assert!(matches!(error, LogError::NotALog { .. }), "{error}");
    let missing = read(&ZeroFiles, Path::new("none.log"), &options);
    assert!(matches!(missing, Err(LogError::File { .. })));
}
