use super::*;
use crate::bead::Window;
use crate::framing::checksum;
use crate::record::{Event, EventKind, MAX_FRAME, Marker, MarkerKind, encode};
use std::string::ToString;
use std::vec::Vec;

fn framed(sequence: u32, record: &Record) -> std::vec::Vec<u8> {
    let mut frame = [0; MAX_FRAME];
    let length = encode(sequence, record, &mut frame).expect("a record of the test");
    frame[..length].to_vec()
}

#[test]
fn each_note_is_read_as_it_was_written_and_fits_a_marker() {
    let bytes: [u8; 32] = core::array::from_fn(|at| (at * 37) as u8);
    for note in [
        SealNote::Key(bytes),
        SealNote::Log([0; 32]),
        SealNote::Short(bytes),
        SealNote::Seal([255; 32]),
        SealNote::LastSeal(bytes),
        SealNote::FirstHalf(bytes),
        SealNote::SecondHalf(bytes),
    ] {
        let marker = note.at(12);
        assert_eq!(marker.note.len(), 48);
        assert_eq!(SealNote::of(&marker), Some(note));
        framed(3, &Record::Marker(marker));
    }
}

#[test]
fn what_people_write_is_no_note_of_the_seal() {
    for text in [
        "",
        "key1=",
        "key1=of the left frame",
        "restarted: watchdog",
        "key1=AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAB",
    ] {
        let marker = Marker {
            position: 0,
            kind: MarkerKind::Note,
            weld: None,
            note: text.try_into().expect("short"),
        };
        assert_eq!(SealNote::of(&marker), None, "{text}");
    }
}

/// RFC 8032, section 7.1, test 1: the public key and the signature of nothing; ours signs 32 bytes, so the key is what
/// is compared here.
#[test]
fn the_public_key_is_that_of_the_standard() {
    let secret = [
        0x9d, 0x61, 0xb1, 0x9d, 0xef, 0xfd, 0x5a, 0x60, 0xba, 0x84, 0x4a, 0xf4, 0x92, 0xec, 0x2c,
        0xc4, 0x44, 0x49, 0xc5, 0x69, 0x7b, 0x32, 0x69, 0x19, 0x70, 0x3b, 0xac, 0x03, 0x1c, 0xae,
        0x7f, 0x60,
    ];
    let public = [
        0xd7, 0x5a, 0x98, 0x01, 0x82, 0xb1, 0x0a, 0xb7, 0xd5, 0x4b, 0xfe, 0xd3, 0xc9, 0x64, 0x07,
        0x3a, 0x0e, 0xe1, 0x72, 0xf3, 0xda, 0xa6, 0x23, 0x25, 0xaf, 0x02, 0x1a, 0x68, 0xf7, 0x07,
        0x51, 0x1a,
    ];
    assert_eq!(Secret::new(secret).expect("chance").public(), public);
    assert!(Secret::new([0; 32]).is_none());
}

#[test]
fn a_signature_holds_for_one_key_one_log_one_place_and_the_very_records() {
    let secret = Secret::new([9; 32]).expect("chance");
    let other = Secret::new([8; 32]).expect("chance");
    let event = |value| {
        Record::Event(Event {
            position: 5,
            kind: EventKind::PowerOn,
            value,
        })
    };
    let sum = |public: [u8; 32], log, before, value| {
        let mut section = Section::begin(&public, &log, &before);
        section.take(&event(value), &framed(1, &event(value)));
        section.sum()
    };
    let signed = sum(secret.public(), [1; 32], [2; 64], 3);
    let signature = secret.sign(&signed);
    assert!(is_signed_by(&secret.public(), &signed, &signature));
    assert!(!is_signed_by(&other.public(), &signed, &signature));
    for changed in [
        sum(other.public(), [1; 32], [2; 64], 3),
        sum(secret.public(), [9; 32], [2; 64], 3),
        sum(secret.public(), [1; 32], [9; 64], 3),
        sum(secret.public(), [1; 32], [2; 64], 9),
    ] {
        assert!(!is_signed_by(&secret.public(), &changed, &signature));
    }
}

#[test]
fn one_changed_record_changes_one_short_sum_and_windows_none() {
    let event = |value| {
        Record::Event(Event {
            position: 5,
            kind: EventKind::PowerOn,
            value,
        })
    };
    let sums = |changed: Option<i64>| {
        let mut section = Section::begin(&[1; 32], &[2; 32], &[3; 64]);
        for value in 0..20 {
            let record = event(if changed == Some(value) { 77 } else { value });
            section.take(&record, &framed(value as u32, &record));
        }
        section.short().bytes()
    };
    for at in 0..20 {
        let differ = sums(None)
            .chunks(2)
            .zip(sums(Some(at)).chunks(2))
            .map(|(one, other)| one != other)
            .collect::<std::vec::Vec<_>>();
        let told = differ.iter().position(|differs| *differs);
        assert_eq!(told, Some(at as usize % ShortSums::COUNT));
        assert_eq!(differ.iter().filter(|differs| **differs).count(), 1);
    }
}

/// As `docs/log-format.md` defines them: the exclusive or of the low halves of the CRC-32C of frames without their last
/// five bytes, each frame in the place that follows that of the one before.
#[test]
fn short_sums_are_those_of_the_format() {
    let mut section = Section::begin(&[1; 32], &[2; 32], &[3; 64]);
    let mut expected = [0_u16; 16];
    for value in 0..40_i64 {
        let record = Record::Event(Event {
            position: 5,
            kind: EventKind::ClockSet,
            value: value * value * 1_000_003,
        });
        let frame = framed(value as u32, &record);
        section.take(&record, &frame);
        expected[value as usize % 16] ^= checksum(&frame[..frame.len() - 5]) as u16;
    }
    let expected = expected.map(u16::to_le_bytes).concat();
    assert_eq!(section.short().bytes()[..], expected);
}

/// Windows may be dropped to make room, and the rest can still be checked then.
#[test]
fn windows_have_a_sum_of_their_own() {
    let window = Record::Window(Window {
        dropped: 3,
        ..Window::default()
    });
    let frames = [framed(7, &window), framed(8, &window)];
    let mut section = Section::begin(&[1; 32], &[2; 32], &[3; 64]);
    let before = (section.sum(), *section.short());
    for frame in &frames {
        section.take(&window, frame);
    }
    assert_eq!((section.sum(), *section.short()), before);
    assert_eq!(section.windows(), sum_of(&frames.concat()));
}

/// NIST, *Secure Hash Standard*, FIPS 180-4, 2015: the example for "abc" (value from memory).
#[test]
fn sums_are_those_of_the_standard() {
    let sum = [
        0xba, 0x78, 0x16, 0xbf, 0x8f, 0x01, 0xcf, 0xea, 0x41, 0x41, 0x40, 0xde, 0x5d, 0xae, 0x22,
        0x23, 0xb0, 0x03, 0x61, 0xa3, 0x96, 0x17, 0x7a, 0x9c, 0xb4, 0x10, 0xff, 0x61, 0xf2, 0x00,
        0x15, 0xad,
    ];
    assert_eq!(sum_of(b"abc"), sum);
}

#[test]
fn a_secret_is_never_printed() {
    let secret = Secret::new(*b"0123456789abcdef0123456789abcdef").expect("chance");
    assert_eq!(std::format!("{secret:?}"), "Secret");
    assert_eq!(std::format!("{secret:#?}"), "Secret");
}

/// Nobody can make the number of one log that of another, and the same logger gives the same one again.
#[test]
fn the_number_of_a_log_follows_from_the_secret_and_what_is_different() {
    let numbers = [[7; 32], [8; 32]].map(|chance| {
        let secret = Secret::new(chance).expect("chance");
        [[1; 32], [2; 32]].map(|different| secret.number_for(&different))
    });
    let numbers = numbers.concat();
    for (at, number) in numbers.iter().enumerate() {
        assert!(!numbers[..at].contains(number), "{at}");
    }
    let again = Secret::new([7; 32]).expect("chance").number_for(&[1; 32]);
    assert_eq!(again, numbers[0]);
}

/// A button that the welder pressed is no note of the seal, whatever is written beside it.
#[test]
fn only_a_note_about_no_weld_is_one_of_the_seal() {
    let note = SealNote::Key([5; 32]).at(12);
    assert!(SealNote::of(&note).is_some());
    for (kind, weld) in [
        (MarkerKind::Note, Some(3)),
        (MarkerKind::Undo, None),
        (MarkerKind::Done, Some(3)),
    ] {
        let marker = Marker {
            kind,
            weld,
            ..note.clone()
        };
        assert_eq!(SealNote::of(&marker), None, "{kind:?}");
    }
}

#[test]
fn a_fingerprint_is_read_as_people_write_it_and_shown_in_groups_of_four() {
    let shown = "0A1B 2C3D 4E5F 6071 8293";
    let noted: Fingerprint = shown.parse().expect("a fingerprint");
    assert_eq!(noted.to_string(), shown);
    for written in [
        "0a1b2c3d4e5f60718293",
        "0A1B-2C3D-4E5F-6071-8293",
        " 0a:1b:2c:3d:4e:5f:60:71:82:93 ",
    ] {
        assert_eq!(written.parse(), Ok(noted), "{written}");
    }
    let highest = "FFFF FFFF FFFF FFFF FFFF";
    assert_eq!(
        highest.parse().map(|read: Fingerprint| read.to_string()),
        Ok(highest.to_string())
    );
    for none in [
        "",
        "0A1B 2C3D 4E5F 6071 829",
        "0A1B 2C3D 4E5F 6071 82930",
        "0A1B 2C3D 4E5F 6071 829G",
        "0A1B_2C3D_4E5F_6071_8293",
    ] {
        assert_eq!(none.parse::<Fingerprint>(), Err(NotAFingerprint), "{none}");
    }
    assert_eq!(
        NotAFingerprint.to_string(),
        "a logger's fingerprint has 20 digits from 0 to F, such as 0A1B 2C3D 4E5F 6071 8293"
    );
    // Two keys are told apart by it: it begins like the sum of the key.
    let of_key = Fingerprint::of(&[7; 32]).to_string();
    let digits = sum_of(&[7; 32])[..10]
        .iter()
        .map(|byte| std::format!("{byte:02X}"))
        .collect::<Vec<_>>()
        .concat();
    assert_eq!(of_key.replace(' ', ""), digits);
}
