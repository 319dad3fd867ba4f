//! How fast a working day is read: 8 h of windows of 0.1 s as a log of ours, and the same numbers as CSV through the
//! `csv` crate; and how fast a recording of another instrument is.
//!
//! `cargo bench -p coldsquare --bench read_log`

use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::process::Process;
use coldsquare_core::record::{Header, MAX_FRAME, Record, encode};
use coldsquare_core::samples::{MAX_COUNT, RawPair, WindowSums};
use coldsquare_engine::log::read_from;
use coldsquare_engine::recording::RecordingOptions;
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use std::hint::black_box;
use std::io::Write;
use std::path::Path;

/// 8 h of windows of 0.1 s.
const WINDOWS: u32 = 288_000;
/// Samples in a window, at 8 kHz.
const SAMPLES: u32 = 800;

/// A minute of work: 20 s of arc, 40 s of none.
const fn is_arc_on(window: u32) -> bool {
    window % 600 < 200
}

fn window(number: u32) -> Window {
    let mut sums = WindowSums::EMPTY;
    let lit = is_arc_on(number);
    for k in 0..16 {
        let wave = i32::try_from((number * 7 + k * 13) % 256).unwrap_or(0);
        let pair = if lit {
            RawPair::new(220_000 + 100 * wave, 150_000 + 200 * wave)
        } else {
            RawPair::new(wave, -wave)
        };
        sums.add_repeated(pair, 50);
    }
    Window {
        start: u64::from(number) * u64::from(SAMPLES),
        arc_on: lit,
        sums,
        ..Window::default()
    }
}

fn header() -> Header {
    let channel = |gain_per_count| Channel {
        gain_per_count,
        zero_in_256ths: 0,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.1,
        lowest_count: -MAX_COUNT,
        highest_count: MAX_COUNT,
    };
    let calibration = Calibration {
        voltage: channel(1e-4),
        current: channel(1e-3),
        sample_rate_hz: 8000.0,
        rate_relative_uncertainty: 1e-4,
    };
    let settings = ArcSettings::for_process(Process::MagSolid);
    Header {
        start: 0,
        device: heapless::String::new(),
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

/// The day as records: the header, every window, and each bead after its last window.
fn day() -> Vec<Record> {
    let mut records = vec![Record::Header(header())];
    let mut beads = 0;
    let mut open: Option<Bead> = None;
    for number in 0..WINDOWS {
        let window = window(number);
        if window.arc_on {
            let bead = open.get_or_insert_with(|| {
                beads += 1;
                Bead {
                    number: beads,
                    start: window.start,
                    ..Bead::default()
                }
            });
            bead.add_window(&window);
        }
        records.push(Record::Window(window));
        if !is_arc_on(number + 1) {
            records.extend(open.take().map(Record::Bead));
        }
    }
    records
}

fn as_log(records: &[Record]) -> Vec<u8> {
    let mut buffer = [0; MAX_FRAME];
    let mut log = Vec::new();
    for (record, sequence) in records.iter().zip(0..) {
        let length = encode(sequence, record, &mut buffer).expect("a sound record");
        log.extend_from_slice(&buffer[..length]);
    }
    log
}

/// The windows as rows of the same numbers: start, lit, n, five sums, four extremes, three counts.
type Row = (
    u64,
    u8,
    u16,
    i64,
    i64,
    i64,
    i64,
    i64,
    i32,
    i32,
    i32,
    i32,
    u16,
    u16,
    u32,
);

fn as_csv(records: &[Record]) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new()
        .has_headers(false)
        .from_writer(Vec::new());
    for record in records {
        if let Record::Window(w) = record {
            let s = &w.sums;
            let row: Row = (
                w.start,
                u8::from(w.arc_on),
                s.n,
                s.v,
                s.i,
                s.vv,
                s.ii,
                s.vi,
                s.v_min,
                s.v_max,
                s.i_min,
                s.i_max,
                w.clipped_voltage,
                w.clipped_current,
                w.dropped,
            );
            writer.serialize(row).expect("in memory");
        }
    }
    writer.into_inner().expect("in memory")
}

fn read_csv(bytes: &[u8]) -> Vec<Window> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(bytes);
    let mut record = csv::ByteRecord::new();
    let mut windows = Vec::new();
    while reader.read_byte_record(&mut record).expect("in memory") {
        let (
            start,
            lit,
            n,
            v,
            i,
            vv,
            ii,
            vi,
            v_min,
            v_max,
            i_min,
            i_max,
            clipped_voltage,
            clipped_current,
            dropped,
        ): Row = record.deserialize(None).expect("as written");
        windows.push(Window {
            start,
            arc_on: lit == 1,
            sums: WindowSums {
                n,
                v,
                i,
                vv,
                ii,
                vi,
                v_min,
                v_max,
                i_min,
                i_max,
            },
            clipped_voltage,
            clipped_current,
            dropped,
        });
    }
    windows
}

/// Ten minutes of another instrument at 1 kHz.
fn recording() -> Vec<u8> {
    let mut text = b"Time [s],Voltage [V],Current [A]\n".to_vec();
    for k in 0..600_000u32 {
        let lit = k % 60_000 < 20_000;
        let wave = f64::from(k * 7 % 256);
        let (volts, amps) = if lit {
            (22.0 + 0.01 * wave, 150.0 + 0.1 * wave)
        } else {
            (0.0, 0.0)
        };
        writeln!(text, "{:.3},{volts:.2},{amps:.1}", f64::from(k) / 1000.0).expect("in memory");
    }
    text
}

fn read_log(bytes: &[u8]) -> coldsquare_engine::log::Log {
    let (head, rest) = bytes.split_at(bytes.len().min(1 << 18));
    read_from(
        Path::new("day.log"),
        head,
        rest,
        &RecordingOptions::default(),
    )
    .expect("a sound log")
}

fn bench(criterion: &mut Criterion) {
    let records = day();
    let (log, csv, recording) = (as_log(&records), as_csv(&records), recording());
    // Of a long log longer windows are kept.
    let samples = |windows: &[Window]| windows.iter().map(|one| u64::from(one.sums.n)).sum::<u64>();
    let read = read_log(&log);
    assert_eq!(
        samples(&read.windows),
        samples(&read_csv(&csv)),
        "both hold the same"
    );
    assert_eq!(read.beads.len(), 480);
    println!(
        "8 h: {} windows, {} bytes as a log, {} bytes as CSV",
        WINDOWS,
        log.len(),
        csv.len()
    );
    let mut group = criterion.benchmark_group("8 h of windows");
    group.sample_size(10);
    group.throughput(Throughput::Elements(WINDOWS.into()));
    group.bench_function("our log, checked and measured", |bencher| {
        bencher.iter(|| read_log(black_box(&log)))
    });
    group.bench_function("the same numbers as CSV, csv crate", |bencher| {
        bencher.iter(|| read_csv(black_box(&csv)))
    });
    group.finish();
    let mut group = criterion.benchmark_group("recording");
    group.sample_size(10);
    group.throughput(Throughput::Elements(600_000));
    group.bench_function("10 min at 1 kHz, rows", |bencher| {
        bencher.iter(|| read_log(black_box(&recording)))
    });
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
