//! Laws of the format: what is written is read, nothing is larger than promised, nothing from outside panics.

use super::*;
use crate::bead::{Bead, Window};
use crate::calibration::{Calibration, Channel};
use crate::process::Process;
use crate::samples::{MAX_COUNT, RawPair, Sums, WindowSums};
use proptest::prelude::*;

fn channel() -> impl Strategy<Value = Channel> {
    (
        (1e-9..1.0f64, any::<bool>()),
        any::<i32>(),
        0.0..0.5f64,
        0.0..10.0f64,
        -MAX_COUNT..0,
        1..=MAX_COUNT,
    )
        .prop_map(
            |((gain, negative), zero, relative, zero_doubt, lowest, highest)| Channel {
                gain_per_count: if negative { -gain } else { gain },
                zero_in_256ths: zero,
                gain_relative_uncertainty: relative,
                zero_uncertainty: zero_doubt,
                lowest_count: lowest,
                highest_count: highest,
            },
        )
}

fn arc_counts(largest: u32) -> ArcCounts {
    ArcCounts {
        zero: i32::MIN,
        striking: largest,
        burning: largest,
        longest_dip: largest,
        longest_gap: largest,
        shortest_bead: largest,
        longest_tack: largest,
        arc_window: largest,
        idle_window: largest,
    }
}

fn text<const N: usize>() -> impl Strategy<Value = heapless::String<N>> {
    prop::collection::vec(any::<char>(), 0..N).prop_map(|chars| {
        let mut text = heapless::String::new();
        for char in chars {
            if text.push(char).is_err() {
                break;
            }
        }
        text
    })
}

fn header() -> impl Strategy<Value = Header> {
    let clock = (
        any::<u64>(),
        prop::sample::select(std::vec![
            ClockSource::ByHand,
            ClockSource::RealTimeClock,
            ClockSource::Host,
        ]),
    );
    let sources = (
        text(),
        text(),
        text(),
        prop::option::of(prop::sample::select(&Process::ALL[..])),
    );
    (
        0..=MAX_POSITION,
        sources,
        prop::option::of(clock),
        (channel(), channel(), 1.0..1e6f64, 0.0..0.1f64, any::<u64>()),
        any::<u32>(),
    )
        .prop_map(
            |(start, (device, firmware, title, process), clock, calibration, arc)| Header {
                start,
                device,
                firmware,
                title,
                process,
                clock: clock.map(|(unix_ms, source)| WallClock { unix_ms, source }),
                calibration: Calibration {
                    voltage: calibration.0,
                    current: calibration.1,
                    sample_rate_hz: calibration.2,
                    rate_relative_uncertainty: calibration.3,
                },
                calibrated_unix_s: calibration.4,
                arc: arc_counts(arc),
            },
        )
}

fn window() -> impl Strategy<Value = Window> {
    let pair = (-MAX_COUNT..=MAX_COUNT, -MAX_COUNT..=MAX_COUNT);
    (
        0..1u64 << 50,
        any::<bool>(),
        prop::collection::vec(pair, 0..40),
        1..9u32,
    )
        .prop_map(|(start, lit, pairs, dropped)| {
            let mut sums = WindowSums::EMPTY;
            for (voltage, current) in pairs {
                sums.add(RawPair::new(voltage, current));
            }
            Window {
                start,
                arc_on: lit,
                sums,
                clipped_voltage: sums.n / 2,
                clipped_current: sums.n,
                dropped,
            }
        })
}

fn bead() -> impl Strategy<Value = Bead> {
    (1..=u32::MAX, window(), any::<u16>(), 1..1u64 << 20).prop_map(
        |(number, window, restarts, times)| {
            let times = i128::from(times);
            let one = Sums::from(window.sums);
            let sums = Sums {
                n: one.n * times as u64,
                v: one.v * times,
                i: one.i * times,
                vv: one.vv * times,
                ii: one.ii * times,
                vi: one.vi * times,
            };
            Bead {
                number,
                start: window.start,
                arc_samples: sums.n / 2,
                sums,
                restarts,
                clipped_voltage: u32::from(window.clipped_voltage),
                clipped_current: 0,
                dropped: window.dropped,
            }
        },
    )
}

fn marker() -> impl Strategy<Value = Marker> {
    let kinds = std::vec![
        MarkerKind::NextWeld,
        MarkerKind::Done,
        MarkerKind::Skip,
        MarkerKind::Redo,
        MarkerKind::Scrap,
        MarkerKind::Undo,
        MarkerKind::Note,
    ];
    (
        0..=MAX_POSITION,
        prop::sample::select(kinds),
        1..=u16::MAX,
        text(),
    )
        .prop_map(|(position, kind, weld, note)| Marker {
            position,
            kind,
            weld: Some(weld),
            note,
        })
}

fn event() -> impl Strategy<Value = Event> {
    let kinds = std::vec![
        EventKind::SamplesDropped,
        EventKind::VoltageClipped,
        EventKind::CurrentClipped,
        EventKind::VoltageLeadOpen,
        EventKind::ClampReversed,
        EventKind::VoltageStuck,
        EventKind::CurrentStuck,
        EventKind::PowerOn,
        EventKind::PowerFailing,
        EventKind::ClockSet,
        EventKind::StoreFull,
        EventKind::StoreFault,
        EventKind::CalibrationChanged,
        EventKind::StoreCleared,
    ];
    (0..=MAX_POSITION, prop::sample::select(kinds), any::<i64>()).prop_map(
        |(position, kind, value)| Event {
            position,
            kind,
            value,
        },
    )
}

fn record() -> impl Strategy<Value = Record> {
    prop_oneof![
        header().prop_map(Record::Header),
        bead().prop_map(Record::Bead),
        window().prop_map(Record::Window),
        marker().prop_map(Record::Marker),
        event().prop_map(Record::Event),
    ]
}

proptest! {
    #[test]
    fn what_is_written_is_read(sequence in any::<u32>(), record in record()) {
        let mut buffer = [0xAA; MAX_FRAME];
        let length = encode(sequence, &record, &mut buffer).expect("a sound record");
        prop_assert_eq!((buffer[0], buffer[length - 1]), (0, 0));
        prop_assert!(!buffer[1..length - 1].contains(&0));
        prop_assert_eq!(decode(&buffer[1..length - 1]), Ok((sequence, record.clone())));
        let mut tight = std::vec![0; length];
        prop_assert_eq!(encode(sequence, &record, &mut tight), Ok(length));
        let mut small = std::vec![0; length - 1];
        prop_assert_eq!(encode(sequence, &record, &mut small), Err(EncodeError::NoRoom));
    }

    #[test]
    fn a_changed_byte_is_noticed(record in record(), at in any::<prop::sample::Index>(), change in 1..=u8::MAX) {
        let mut buffer = [0; MAX_FRAME];
        let length = encode(7, &record, &mut buffer).expect("a sound record");
        let frame = &mut buffer[1..length - 1];
        frame[at.index(frame.len())] ^= change;
        prop_assert!(decode(frame).is_err());
    }

    #[test]
    fn bytes_from_a_stranger_are_read_without_harm(bytes in prop::collection::vec(any::<u8>(), 0..1000), cut in 1..50usize) {
        let mut reader = Reader::new();
        let mut skipped = 0;
        for mut piece in bytes.chunks(cut) {
            while let Some(entry) = reader.next(&mut piece) {
                if let Entry::Damage { bytes, .. } = entry {
                    skipped += bytes;
                }
            }
        }
        if let Some(Entry::Damage { bytes, .. }) = reader.finish() {
            skipped += bytes;
        }
        prop_assert_eq!(reader.counts().bytes, bytes.len() as u64);
        prop_assert_eq!(reader.counts().skipped_bytes, skipped);
    }

    /// What a logger dropped is filled with boundaries.
    #[test]
    fn boundaries_between_records_are_counted_and_say_nothing(
        records in prop::collection::vec((record(), 0..300usize), 1..8), before in 0..300usize, cut in 1..400usize,
    ) {
        let mut log = std::vec![0; before];
        for (sequence, (record, after)) in (0..).zip(&records) {
            let mut buffer = [0; MAX_FRAME];
            let length = encode(sequence, record, &mut buffer).expect("a sound record");
            log.extend(&buffer[..length]);
            log.resize(log.len() + after, 0);
        }
        let mut reader = Reader::new();
        let mut found = std::vec::Vec::new();
        for mut piece in log.chunks(cut) {
            while let Some(entry) = reader.next(&mut piece) {
                found.push(entry);
            }
        }
        let expected: std::vec::Vec<_> = (0..)
            .zip(&records)
            .map(|(sequence, (record, _))| Entry::Record { sequence, record: record.clone() })
            .collect();
        prop_assert_eq!(found, expected);
        prop_assert!(reader.counts().is_whole());
        prop_assert_eq!(reader.counts().bytes, log.len() as u64);
    }
}

fn extreme_channel() -> Channel {
    Channel {
        gain_per_count: -f64::MAX,
        zero_in_256ths: i32::MIN,
        gain_relative_uncertainty: 1e99,
        zero_uncertainty: 1e99,
        lowest_count: -MAX_COUNT,
        highest_count: MAX_COUNT,
    }
}

#[test]
fn no_record_is_longer_than_promised() {
    let n = MAX_POSITION - 1;
    let most = i128::from(n) * i128::from(MAX_COUNT);
    let most_squared = most * i128::from(MAX_COUNT);
    let bead = Record::Bead(Bead {
        number: u32::MAX,
        start: 0,
        arc_samples: n,
        sums: Sums {
            n,
            v: -most,
            i: -most,
            vv: most_squared,
            ii: most_squared,
            vi: -most_squared,
        },
        restarts: u16::MAX,
        clipped_voltage: u32::MAX,
        clipped_current: u32::MAX,
        dropped: 1,
    });
    let header = Record::Header(Header {
        start: MAX_POSITION,
        device: "d".repeat(24).as_str().try_into().expect("fits"),
        firmware: "f".repeat(16).as_str().try_into().expect("fits"),
        title: "t".repeat(48).as_str().try_into().expect("fits"),
        process: Some(Process::Tig),
        clock: Some(WallClock {
            unix_ms: u64::MAX,
            source: ClockSource::Host,
        }),
        calibration: Calibration {
            voltage: extreme_channel(),
            current: extreme_channel(),
            sample_rate_hz: 1e9,
            rate_relative_uncertainty: 1e99,
        },
        calibrated_unix_s: u64::MAX,
        arc: arc_counts(u32::MAX),
    });
    let mut buffer = [0; MAX_FRAME];
    let lengths = [bead, header]
        .map(|record| encode(u32::MAX, &record, &mut buffer).expect("MAX_FRAME holds any record"));
    // COBS needs a second code byte only where 254 bytes hold no zero.
    let longest = lengths.into_iter().max();
    assert_eq!(
        longest,
        Some(MAX_FRAME - 1),
        "neither more than promised nor less"
    );
}

#[test]
fn nonsense_is_neither_written_nor_read() {
    let mut channel = extreme_channel();
    channel.gain_per_count = f64::NAN;
    let header = Header {
        start: 0,
        device: heapless::String::new(),
        firmware: heapless::String::new(),
        title: heapless::String::new(),
        process: None,
        clock: None,
        calibration: Calibration {
            voltage: channel,
            current: extreme_channel(),
            sample_rate_hz: 1000.0,
            rate_relative_uncertainty: 0.0,
        },
        calibrated_unix_s: 0,
        arc: ArcCounts::default(),
    };
    let mut buffer = [0; MAX_FRAME];
    assert_eq!(
        encode(0, &Record::Header(header), &mut buffer),
        Err(EncodeError::Value("gain of voltage"))
    );
    let more_lit_than_long = Bead {
        number: 1,
        arc_samples: 2,
        dropped: 1,
        ..Bead::default()
    };
    assert_eq!(
        encode(0, &Record::Bead(more_lit_than_long), &mut buffer),
        Err(EncodeError::Value("arc time"))
    );
}
