//! Each value of a record exactly at its limit, and just past it: written if a reader takes it, refused by name if not.

use super::*;
use crate::arc::ArcCounts;
use crate::record::{EncodeError, Event, EventKind, MAX_FRAME, encode};
use crate::samples::{RawPair, WindowSums};
use std::vec::Vec;

const CHANNEL: Channel = Channel {
    gain_per_count: 0.1,
    zero_in_256ths: 0,
    gain_relative_uncertainty: 0.01,
    zero_uncertainty: 0.1,
    lowest_count: -8000,
    highest_count: 8000,
};

fn header() -> Header {
    Header {
        start: 0,
        device: heapless::String::new(),
        firmware: heapless::String::new(),
        title: heapless::String::new(),
        process: None,
        clock: None,
        calibration: Calibration {
            voltage: CHANNEL,
            current: CHANNEL,
            sample_rate_hz: 1000.0,
            rate_relative_uncertainty: 0.0,
        },
        calibrated_unix_s: 0,
        arc: ArcCounts::default(),
    }
}

/// Ten samples at the greatest counts and five that were lost.
fn window() -> Window {
    let mut sums = WindowSums::EMPTY;
    assert!(sums.add_repeated(RawPair::new(MAX_COUNT, -MAX_COUNT), 10));
    Window {
        start: 100,
        arc_on: true,
        sums,
        clipped_voltage: 10,
        clipped_current: 10,
        dropped: 5,
    }
}

fn bead() -> Bead {
    let mut bead = Bead {
        number: 1,
        start: 100,
        ..Bead::default()
    };
    bead.add_window(&window());
    bead
}

fn lost_only() -> Window {
    Window {
        start: 100,
        dropped: 5,
        ..Window::default()
    }
}

fn judge(record: &Record) -> Result<(), &'static str> {
    let mut buffer = [0; MAX_FRAME];
    match encode(0, record, &mut buffer) {
        Ok(_) => Ok(()),
        Err(EncodeError::Value(what)) => Err(what),
        Err(EncodeError::NoRoom) => panic!("MAX_FRAME holds any record"),
    }
}

#[test]
fn a_header_is_accepted_up_to_its_limits_and_not_beyond() {
    type Set = fn(&mut Header, f64);
    // What is refused, what is set, what is accepted, what is not.
    let limits: [(&str, Set, &[f64], &[f64]); 10] = [
        (
            "start",
            |h, x| h.start = x as u64,
            &[MAX_POSITION as f64],
            &[MAX_POSITION as f64 * 2.0],
        ),
        (
            "sampling rate",
            |h, x| h.calibration.sample_rate_hz = x,
            &[1e-3, 1e9],
            &[0.0, -1.0, 1.000_001e9, f64::NAN],
        ),
        (
            "uncertainty of the sampling rate",
            |h, x| h.calibration.rate_relative_uncertainty = x,
            &[0.0, 9e99],
            &[-1e-9, 1e100, f64::INFINITY, f64::NAN],
        ),
        (
            "gain of voltage",
            |h, x| h.calibration.voltage.gain_per_count = x,
            &[-1.0, 1e-300],
            &[0.0, 1e-310, f64::INFINITY, f64::NAN],
        ),
        (
            "gain of current",
            |h, x| h.calibration.current.gain_per_count = x,
            &[-1.0, 1e-300],
            &[0.0, 1e-310, f64::INFINITY, f64::NAN],
        ),
        (
            "uncertainty of voltage",
            |h, x| h.calibration.voltage.gain_relative_uncertainty = x,
            &[0.0, 9e99],
            &[-1e-9, 1e100],
        ),
        (
            "uncertainty of current",
            |h, x| h.calibration.current.zero_uncertainty = x,
            &[0.0, 9e99],
            &[-1e-9, 1e100],
        ),
        (
            "limits of voltage",
            |h, x| h.calibration.voltage.lowest_count = x as i32,
            &[f64::from(-MAX_COUNT), 7999.0],
            &[f64::from(-MAX_COUNT) - 1.0, 8000.0, 8001.0],
        ),
        (
            "limits of current",
            |h, x| h.calibration.current.highest_count = x as i32,
            &[-7999.0, f64::from(MAX_COUNT)],
            &[-8000.0, -8001.0, f64::from(MAX_COUNT) + 1.0],
        ),
        (
            "limits of current",
            |h, x| {
                h.calibration.current.lowest_count = x as i32;
                h.calibration.current.highest_count = x as i32 + 1;
            },
            &[5.0, f64::from(MAX_COUNT) - 1.0],
            &[f64::from(MAX_COUNT), f64::from(-MAX_COUNT) - 1.0],
        ),
    ];
    for (what, set, accepted, refused) in limits {
        for (values, expected) in [(accepted, Ok(())), (refused, Err(what))] {
            for value in values {
                let mut changed = header();
                set(&mut changed, *value);
                assert_eq!(judge(&Record::Header(changed)), expected, "{value}");
            }
        }
    }
}

#[test]
fn a_window_is_accepted_up_to_its_limits_and_not_beyond() {
    type Push = fn(&mut Window);
    let last = |window: &Window| MAX_POSITION - window.span();
    let mut full = window();
    full.start = last(&full);
    let mut lost = lost_only();
    lost.start = last(&lost);
    for sound in [full, lost] {
        assert_eq!(judge(&Record::Window(sound)), Ok(()));
    }
    let beyond: [(Window, &str, Push); 21] = [
        (full, "position", |w| w.start += 1),
        (full, "position", |w| w.start = u64::MAX),
        (full, "position", |w| w.dropped += 1),
        (lost, "samples of the window", |w| w.dropped = 0),
        (full, "clipped samples", |w| w.clipped_voltage += 1),
        (full, "clipped samples", |w| w.clipped_current += 1),
        (full, "sums", |w| w.sums.v += 1),
        (full, "sums", |w| w.sums.i -= 1),
        (full, "sums", |w| w.sums.v = -w.sums.v - 1),
        (full, "sums", |w| w.sums.i = 1 - w.sums.i),
        (full, "sums of squares and products", |w| w.sums.vv += 1),
        (full, "sums of squares and products", |w| w.sums.ii += 1),
        (full, "sums of squares and products", |w| w.sums.vv = -1),
        (full, "sums of squares and products", |w| w.sums.ii = -1),
        (full, "sums of squares and products", |w| w.sums.vi -= 1),
        (full, "sums of squares and products", |w| {
            w.sums.vi = 1 - w.sums.vi;
        }),
        (full, "least and greatest counts", |w| w.sums.v_max += 1),
        (full, "least and greatest counts", |w| w.sums.i_min -= 1),
        (full, "least and greatest counts", |w| w.sums.v_max -= 1),
        (full, "least and greatest counts", |w| w.sums.i_min += 1),
        (lost, "least and greatest counts", |w| w.sums.v_min = 0),
    ];
    for (sound, what, push) in beyond {
        let mut changed = sound;
        push(&mut changed);
        assert_eq!(judge(&Record::Window(changed)), Err(what), "{changed:?}");
    }
}

#[test]
fn a_bead_is_accepted_up_to_its_limits_and_not_beyond() {
    type Push = fn(&mut Bead);
    let mut sound = bead();
    sound.start = MAX_POSITION - sound.span();
    assert_eq!(sound.arc_samples, sound.span());
    assert_eq!(judge(&Record::Bead(sound)), Ok(()));
    let beyond: [(&str, Push); 8] = [
        ("bead number", |b| b.number = 0),
        ("arc time", |b| b.arc_samples += 1),
        ("position", |b| b.start += 1),
        ("clipped samples", |b| b.clipped_voltage += 1),
        ("clipped samples", |b| b.clipped_current += 1),
        ("sums", |b| b.sums.v += 1),
        ("sums of squares and products", |b| b.sums.vi -= 1),
        ("arc time", |b| {
            *b = Bead {
                number: 1,
                ..Bead::default()
            };
        }),
    ];
    for (what, push) in beyond {
        let mut changed = sound;
        push(&mut changed);
        assert_eq!(judge(&Record::Bead(changed)), Err(what), "{changed:?}");
    }
}

#[test]
fn a_marker_about_a_weld_names_one_and_weld_zero_is_none() {
    let judge = |kind, weld, position| {
        judge(&Record::Marker(Marker {
            position,
            kind,
            weld,
            note: heapless::String::new(),
        }))
    };
    for (kind, needs_weld) in [
        (MarkerKind::NextWeld, true),
        (MarkerKind::Done, true),
        (MarkerKind::Skip, true),
        (MarkerKind::Redo, true),
        (MarkerKind::Scrap, false),
        (MarkerKind::Undo, false),
        (MarkerKind::Note, false),
    ] {
        let without = if needs_weld {
            Err("weld number")
        } else {
            Ok(())
        };
        assert_eq!(judge(kind, None, MAX_POSITION), without, "{kind:?}");
        assert_eq!(judge(kind, Some(1), MAX_POSITION), Ok(()), "{kind:?}");
        let found = [
            judge(kind, Some(0), 0),
            judge(kind, Some(1), MAX_POSITION + 1),
        ];
        assert_eq!(found, [Err("weld number"), Err("position")], "{kind:?}");
    }
    let kind = EventKind::ClampReversed;
    let at = [MAX_POSITION, MAX_POSITION + 1].map(|position| {
        crate::record::check::check(&Record::Event(Event {
            position,
            kind,
            value: 0,
        }))
    });
    assert_eq!(at, [Ok(()), Err("position")]);
}

/// By the same rules when it is read: a frame that somebody made up is refused with the name of the value.
#[test]
fn what_may_not_be_written_is_not_read_either() {
    use crate::record::DecodeError;
    let mut buffer = [0; MAX_FRAME];
    let sound = Record::Event(Event {
        position: MAX_POSITION,
        kind: EventKind::PowerOn,
        value: 1,
    });
    let length = encode(3, &sound, &mut buffer).expect("a sound record");
    let frame = &mut buffer[1..length - 1];
    let (body, _) = crate::framing::open(frame).expect("whole");
    // The position is a varint of eight bytes that ends in 10: one more in the lowest place.
    let mut body: Vec<u8> = body.to_vec();
    assert_eq!(
        body[6..14],
        [0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x10]
    );
    body[6] = 0x81;
    let covered = body.len();
    body.extend([0; 4]);
    let mut buffer = [0; MAX_FRAME];
    let length = crate::framing::seal(&mut body, covered, &mut buffer).expect("room");
    let found = crate::record::decode(&buffer[1..length - 1]);
    let what = "position";
    assert_eq!(found, Err(DecodeError::Value { kind: 5, what }));
}
