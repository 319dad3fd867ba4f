//! Logs and recordings of any length are read in little memory. How fast and how much is measured by hand:
//! `COLDSQUARE_BIG_LOG=FILE COLDSQUARE_BIG_MB=211 cargo test -p coldsquare-tests --test all writes_a_big_log -- --ignored`,
//! then `command time -v coldsquare beads FILE`; `tests/recordings/big.py` does the same for recordings.

use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::record::{MAX_FRAME, Record, encode};
use coldsquare_core::samples::{RawPair, WindowSums};
use coldsquare_engine::log::{Log, read_from};
use coldsquare_engine::recording::RecordingOptions;
use coldsquare_firmware::sim::{Build, SimulatedBead, Transfer, log_build};
use std::io::Write;
use std::path::Path;

/// Samples of a window of 0.1 s at 4 kHz.
const SAMPLES: u16 = 400;

/// A log of so many windows: every minute 20 s of arc and 40 s of none, each bead with its record.
fn write_log(out: &mut impl Write, windows: u32) {
    let build = Build::new(
        "long",
        coldsquare_core::process::Process::MagSolid,
        4000.0,
        vec![SimulatedBead::new(Transfer::TigDirect, 20.0, 100.0, 0.2)],
    );
    let (log, _) = log_build(&build, 1).expect("suits");
    let mut reader = coldsquare_core::record::Reader::new();
    let mut rest = log.as_slice();
    let header = std::iter::from_fn(|| reader.next(&mut rest)).find_map(|entry| match entry {
        coldsquare_core::record::Entry::Record {
            record: record @ Record::Header(_),
            ..
        } => Some(record),
        _ => None,
    });
    let mut sequence = 0;
    let mut put = |record: &Record| {
        let mut frame = [0; MAX_FRAME];
        let length = encode(sequence, record, &mut frame).expect("it fits");
        sequence += 1;
        out.write_all(&frame[..length]).expect("written");
    };
    put(&header.expect("a log begins with one"));
    let mut bead = Bead::default();
    let mut number = 0;
    for at in 0..windows {
        let arc_on = at % 600 < 200;
        let mut sums = WindowSums::EMPTY;
        let wave = i32::try_from(at * 7 % 256).unwrap_or(0);
        let pair = if arc_on {
            (220_000 + 100 * wave, 150_000 + 200 * wave)
        } else {
            (wave, -wave)
        };
        sums.add_repeated(RawPair::new(pair.0, pair.1), SAMPLES / 2);
        sums.add_repeated(RawPair::new(pair.0 + 500, pair.1 + 900), SAMPLES / 2);
        let window = Window {
            start: u64::from(at) * u64::from(SAMPLES),
            arc_on,
            sums,
            ..Window::default()
        };
        if arc_on {
            if bead.sums.n == 0 {
                bead.start = window.start;
            }
            bead.add_window(&window);
        }
        put(&Record::Window(window));
        if at % 600 == 210 {
            number += 1;
            put(&Record::Bead(Bead { number, ..bead }));
            bead = Bead::default();
        }
    }
}

fn read(bytes: &[u8]) -> Log {
    let (head, rest) = bytes.split_at(bytes.len().min(1 << 18));
    read_from(
        Path::new("long.log"),
        head,
        rest,
        &RecordingOptions::default(),
    )
    .expect("read")
}

#[test]
fn a_log_of_days_keeps_few_windows_and_every_sum() {
    let windows = 700_000;
    let mut bytes = Vec::new();
    write_log(&mut bytes, windows);
    let log = read(&bytes);
    assert!(log.windows.len() < 400_000, "{} windows", log.windows.len());
    assert_eq!(log.report.uncovered_samples, 0);
    assert!(log.holes.is_empty());
    let samples: u64 = log.windows.iter().map(Window::span).sum();
    assert_eq!(samples, u64::from(windows) * u64::from(SAMPLES));
    for logged in &log.beads {
        let mut bead = Bead::default();
        for window in log.windows_of(&logged.bead) {
            bead.add_window(window);
        }
        assert_eq!(bead.sums, logged.bead.sums);
    }
}

#[test]
#[ignore = "writes a file of the size that is asked for"]
fn writes_a_big_log() {
    let variable =
        |name: &str| std::env::var(name).expect("COLDSQUARE_BIG_LOG and COLDSQUARE_BIG_MB");
    let megabytes: u32 = variable("COLDSQUARE_BIG_MB").parse().expect("a number");
    let file = std::fs::File::create(variable("COLDSQUARE_BIG_LOG")).expect("created");
    // A window takes some 45 bytes.
    write_log(&mut std::io::BufWriter::new(file), megabytes * 22_000);
}
