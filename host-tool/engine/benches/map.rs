//! A working day on one map: eight hours of windows of 100 ms, eight hundred beads, four hundred welds.
//!
//! Reading the log is measured beside reading CSV; this is everything after it: matching, measuring, judging, traces.

use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::meter::{Stretch, measure};
use coldsquare_core::process::Process;
use coldsquare_core::record::Header;
use coldsquare_core::samples::{RawPair, WindowSums};
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::Seconds;
use coldsquare_engine::job::{self, model::Job};
use coldsquare_engine::log::seal::Seal;
use coldsquare_engine::log::{
    BeadOrigin, Ends, Log, LoggedBead, ReadingReport, Source, SourceKind,
};
use coldsquare_engine::map::{Settings, build, csv, json, text};
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

const WINDOWS: u64 = 8 * 3600 * 10;
const SAMPLES_A_WINDOW: u64 = 1_000;
const RATE_HZ: f64 = 10_000.0;
/// One bead in so many windows.
const CYCLE: u64 = WINDOWS / 800;

fn calibration() -> Calibration {
    let channel = |gain_per_count| Channel {
        gain_per_count,
        zero_in_256ths: 0,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.05,
        lowest_count: -32_000,
        highest_count: 32_000,
    };
    Calibration {
        voltage: channel(0.003),
        current: channel(0.02),
        sample_rate_hz: RATE_HZ,
        rate_relative_uncertainty: 50e-6,
    }
}

/// The same four-bar frame with many bars: 4 × 4 welds at the corners and 4 a bar.
fn job() -> Job {
    let text = r#"
        name = "Long fence"
        units = "mm"
        material = "steel"
        [frame]
        width = 9000
        height = 900
        section = "SHS 40x40x3"
        corners = "mitred"
        [frame.bars]
        count = 96
        section = "SHS 20x20x2"
        welded = ["front", "back"]
        [procedure]
        process = 135
        volts = [17, 20]
        amps = [95, 135]
        travel_speed = [6, 9]
        heat_input = [0.15, 0.35]
    "#;
    job::from_text("bench.toml", text).expect("a good job")
}

/// Beads of the planned arc times in the planned order, each followed by a tack.
fn log(job: &Job) -> Log {
    let calibration = calibration();
    let arc = ArcConfig::new(&ArcSettings::for_process(Process::MagSolid), &calibration);
    let header = Header {
        start: 0,
        device: "bench".try_into().expect("short"),
        firmware: "0".try_into().expect("short"),
        title: Default::default(),
        process: Some(Process::MagSolid),
        clock: None,
        calibration,
        calibrated_unix_s: 1,
        arc: arc.expect("suits").counts(),
    };
    let mut log = Log {
        source: Source {
            path: "bench.log".into(),
            kind: SourceKind::Logger { steady_arc: false },
        },
        headers: vec![header],
        windows: Vec::new(),
        beads: Vec::new(),
        markers: Vec::new(),
        events: Vec::new(),
        holes: Vec::new(),
        seal: Seal::default(),
        report: ReadingReport::default(),
    };
    for index in 0..WINDOWS {
        let weld = &job.welds[(index / CYCLE / 2) as usize % job.welds.len()];
        let planned = weld.planned_arc_time(&job.procedures[weld.procedure]).0;
        let tack = index / CYCLE % 2 == 1;
        let lit_windows = if tack {
            5
        } else {
            (10.0 * planned).ceil() as u64
        };
        let lit = index % CYCLE < lit_windows;
        let pair = if lit {
            RawPair::new(6_100, 5_700)
        } else {
            RawPair::new(20_000, 0)
        };
        log.windows
            .push(window(index * SAMPLES_A_WINDOW, lit, pair));
    }
    log.beads = beads(&log.windows, &calibration);
    log
}

fn window(start: u64, lit: bool, pair: RawPair) -> Window {
    let mut sums = WindowSums::EMPTY;
    for _ in 0..SAMPLES_A_WINDOW {
        sums.add(pair);
    }
    Window {
        start,
        arc_on: lit,
        sums,
        ..Window::default()
    }
}

fn beads(windows: &[Window], calibration: &Calibration) -> Vec<LoggedBead> {
    let runs = windows
        .chunk_by(|a, b| a.arc_on == b.arc_on)
        .filter(|run| run[0].arc_on);
    let logged = runs.enumerate().map(|(index, run)| {
        let mut bead = Bead {
            number: index as u32 + 1,
            start: run[0].start,
            ..Bead::default()
        };
        for window in run {
            bead.sums.add_window(&window.sums);
            bead.arc_samples += window.span();
        }
        let duration = bead.span() as f64 / RATE_HZ;
        let measured = measure(&Stretch::from(&bead), calibration);
        LoggedBead {
            bead,
            start: Seconds(bead.start as f64 / RATE_HZ),
            duration: Seconds(duration),
            arc_time: Uncertain::from_relative(duration, 50e-6),
            is_tack: duration < 1.0,
            origin: BeadOrigin::Recorded,
            ends: Ends::WHOLE,
            burning: measured.ok(),
            measured,
        }
    });
    logged.collect()
}

fn map(criterion: &mut Criterion) {
    let job = job();
    let log = log(&job);
    println!(
        "{} windows, {} beads, {} welds",
        log.windows.len(),
        log.beads.len(),
        job.welds.len()
    );
    let settings = Settings::default();
    let mapped = build(&job, &log, &settings).expect("fits");
    criterion.bench_function("map 8 h", |bencher| {
        bencher.iter(|| build(black_box(&job), black_box(&log), &settings).expect("fits"));
    });
    criterion.bench_function("tables of 8 h", |bencher| {
        bencher.iter(|| {
            let map = black_box(&mapped);
            (
                text::text(map, job.units),
                csv::welds(map, job.units),
                csv::beads(map),
                json::json(map),
            )
        });
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = map
}
criterion_main!(benches);
