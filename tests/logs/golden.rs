//! Format 1 is frozen: these records are these bytes, in both directions. The bytes come from an encoder that shares
//! no code with ours (`tests/logs/v1/encode.py`).

use coldsquare_core::arc::ArcCounts;
use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::process::Process;
use coldsquare_core::record::{
    ClockSource, Event, EventKind, Header, MAX_FRAME, Marker, MarkerKind, Record, WallClock,
    decode, encode,
};
use coldsquare_core::samples::{MAX_COUNT, RawPair, Sums, WindowSums};
use coldsquare_tests::hex::{GOLDEN_FRAMES, golden_frame, golden_logs};

const VOLTAGE: Channel = Channel {
    gain_per_count: 0.01,
    zero_in_256ths: -128,
    gain_relative_uncertainty: 0.005,
    zero_uncertainty: 0.02,
    lowest_count: -MAX_COUNT,
    highest_count: MAX_COUNT,
};

const CURRENT: Channel = Channel {
    gain_per_count: -0.02,
    zero_in_256ths: 256,
    gain_relative_uncertainty: 0.0125,
    zero_uncertainty: 0.5,
    lowest_count: -30_000,
    highest_count: 30_000,
};

const ARC: ArcCounts = ArcCounts {
    zero: 1,
    striking: 1000,
    burning: 500,
    longest_dip: 200,
    longest_gap: 3200,
    shortest_bead: 400,
    longest_tack: 8000,
    arc_window: 800,
    idle_window: 8000,
};

fn text<const N: usize>(words: &str) -> heapless::String<N> {
    words.try_into().expect("short enough")
}

fn header() -> Header {
    Header {
        start: 0,
        device: text("bench logger"),
        firmware: text("0.1.0"),
        title: text("garden gate"),
        process: Some(Process::MagSolid),
        clock: Some(WallClock {
            unix_ms: 1_764_082_800_000,
            source: ClockSource::Host,
        }),
        calibration: Calibration {
            voltage: VOLTAGE,
            current: CURRENT,
            sample_rate_hz: 8000.0,
            rate_relative_uncertainty: 0.000_05,
        },
        calibrated_unix_s: 1_761_955_200,
        arc: ARC,
    }
}

fn bare_header() -> Header {
    Header {
        start: 12_345_678,
        device: text(""),
        firmware: text(""),
        title: text(""),
        process: None,
        clock: None,
        calibration: Calibration {
            voltage: VOLTAGE,
            current: VOLTAGE,
            sample_rate_hz: 1000.0,
            rate_relative_uncertainty: 0.0,
        },
        calibrated_unix_s: 0,
        arc: ARC,
    }
}

fn window() -> Window {
    let mut sums = WindowSums::EMPTY;
    for (voltage, current) in [(2205, 15_002), (2198, 14_980), (-3, 20_100), (2210, 15_011)] {
        assert!(sums.add(RawPair::new(voltage, current)));
    }
    Window {
        start: 8000,
        arc_on: true,
        sums,
        clipped_voltage: 0,
        clipped_current: 1,
        dropped: 2,
    }
}

fn bead() -> Bead {
    let mut bead = Bead {
        number: 1,
        start: 8000,
        ..Bead::default()
    };
    bead.add_window(&window());
    bead
}

fn long_bead() -> Bead {
    Bead {
        number: 4_000_000_000,
        start: 1 << 40,
        arc_samples: 1 << 41,
        sums: Sums {
            n: 1 << 42,
            v: 1 << 60,
            i: -(1 << 61),
            vv: 1 << 70,
            ii: 1 << 80,
            vi: -(1 << 75),
        },
        restarts: u16::MAX,
        clipped_voltage: 7,
        clipped_current: 4_000_000_000,
        dropped: u32::MAX,
    }
}

fn records() -> [Record; 10] {
    let idle_window = Window {
        start: 8006,
        dropped: 300,
        ..Window::default()
    };
    let marker = |position, kind, weld, note| {
        Record::Marker(Marker {
            position,
            kind,
            weld,
            note: text(note),
        })
    };
    let event = |position, kind, value| {
        Record::Event(Event {
            position,
            kind,
            value,
        })
    };
    [
        Record::Header(header()),
        Record::Header(bare_header()),
        Record::Window(window()),
        Record::Window(idle_window),
        Record::Bead(bead()),
        Record::Bead(long_bead()),
        marker(7999, MarkerKind::NextWeld, Some(7), "front first"),
        marker(9000, MarkerKind::Note, None, "Gasdüse frei"),
        event(8306, EventKind::SamplesDropped, 300),
        event(8400, EventKind::ClockSet, -1500),
    ]
}

#[test]
fn format_1_is_written_byte_for_byte_as_it_was_frozen() {
    let mut buffer = [0; MAX_FRAME];
    for ((name, record), sequence) in GOLDEN_FRAMES.into_iter().zip(records()).zip(0..) {
        let length = encode(sequence, &record, &mut buffer).expect("a sound record");
        assert_eq!(buffer[..length], golden_frame(name), "{name}");
    }
}

#[test]
fn format_1_is_read_for_ever() {
    for ((name, record), sequence) in GOLDEN_FRAMES.into_iter().zip(records()).zip(0..) {
        let frame = golden_frame(name);
        let inside = &frame[1..frame.len() - 1];
        assert_eq!(decode(inside), Ok((sequence, record)), "{name}");
    }
}

#[test]
fn no_golden_frame_is_forgotten() {
    let on_disk = std::fs::read_dir(golden_logs())
        .expect("the folder")
        .filter(|file| {
            let name = file.as_ref().expect("readable").file_name();
            name.to_string_lossy().ends_with(".hex")
        })
        .count();
    assert_eq!(on_disk, GOLDEN_FRAMES.len());
}
