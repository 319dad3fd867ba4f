use super::*;
use crate::record::{Event, EventKind, MAX_FRAME, Marker, MarkerKind, encode};

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
