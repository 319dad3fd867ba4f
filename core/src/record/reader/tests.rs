//! What a reader says of logs that are cut, joined and damaged.

use super::*;
use crate::record::{Event, EventKind, encode};
use std::vec::Vec;

fn record() -> Record {
    Record::Event(Event {
        position: 7,
        kind: EventKind::ClockSet,
        value: -60_000,
    })
}

fn framed(sequence: u32) -> Vec<u8> {
    let mut frame = [0; MAX_FRAME];
    let length = encode(sequence, &record(), &mut frame).expect("a sound record");
    frame[..length].to_vec()
}

/// What is found in these bytes, and the counts.
fn read(bytes: &[u8]) -> (Vec<Entry>, ReadCounts) {
    let mut reader = Reader::new();
    let mut rest = bytes;
    let mut found = Vec::new();
    while let Some(entry) = reader.next(&mut rest) {
        found.push(entry);
    }
    found.extend(reader.finish());
    (found, *reader.counts())
}

fn counts_of(sequences: &[u32]) -> ReadCounts {
    let bytes = sequences.iter().flat_map(|sequence| framed(*sequence));
    let (_, mut counts) = read(&bytes.collect::<Vec<_>>());
    assert_eq!(counts.skipped_bytes, 0);
    counts.bytes = 0;
    counts
}

/// A log in which anything is missing is never shown as whole.
#[test]
fn each_gap_in_the_sequence_is_counted_and_none_of_them_is_whole() {
    let whole = ReadCounts {
        records: 3,
        ..ReadCounts::default()
    };
    assert_eq!(counts_of(&[0, 1, 2]), whole);
    assert!(whole.is_whole());
    let repeated = ReadCounts {
        repeated: 1,
        ..whole
    };
    assert_eq!(counts_of(&[0, 1, 1, 2]), repeated);
    assert!(repeated.is_whole());
    for (sequences, counts) in [
        (
            [2, 3, 4],
            ReadCounts {
                missing_before: 2,
                ..whole
            },
        ),
        (
            [0, 1, 5],
            ReadCounts {
                missing: 3,
                ..whole
            },
        ),
        (
            [0, 1, 0],
            ReadCounts {
                restarted: 1,
                ..whole
            },
        ),
        // Half of all numbers ahead is the most that may be missing; further is back.
        (
            [0, 1, 0x8000_0001],
            ReadCounts {
                missing: 0x7FFF_FFFF,
                ..whole
            },
        ),
        (
            [0, 1, 0x8000_0002],
            ReadCounts {
                restarted: 1,
                ..whole
            },
        ),
    ] {
        assert_eq!(counts_of(&sequences), counts, "{sequences:?}");
        assert!(!counts.is_whole(), "{sequences:?}");
    }
    let skipped = ReadCounts {
        skipped_bytes: 1,
        ..whole
    };
    assert!(!skipped.is_whole());
}

/// A logger that is watched: what it has sent is shown now, not when more comes.
#[test]
fn a_record_is_given_as_soon_as_its_last_boundary_has_come() {
    let frame = framed(0);
    let boundaries = [0; 64];
    for mut boundaries in [&boundaries[..1], &boundaries[..]] {
        let mut reader = Reader::new();
        let mut but_last = &frame[..frame.len() - 1];
        assert_eq!(reader.next(&mut but_last), None);
        let expected = Entry::Record {
            sequence: 0,
            record: record(),
        };
        assert_eq!(reader.next(&mut boundaries), Some(expected));
    }
}

#[test]
fn damage_is_told_with_its_place_its_length_and_what_it_is() {
    let (first, second) = (framed(0), framed(1));
    let noise = [9_u8; 30];
    let bytes = [&first[..], &noise, &[0], &noise[..5], &second, &noise[..4]].concat();
    let (found, counts) = read(&bytes);
    let damage = |offset: usize, bytes| Entry::Damage {
        offset: offset as u64,
        bytes,
        cause: DecodeError::Framing,
    };
    let record = |sequence| Entry::Record {
        sequence,
        record: record(),
    };
    let at = first.len();
    let last = bytes.len() - 4;
    let expected = [
        record(0),
        damage(at, 30),
        damage(at + 31, 5),
        record(1),
        damage(last, 4),
    ];
    assert_eq!(found, expected);
    let expected = ReadCounts {
        bytes: bytes.len() as u64,
        records: 2,
        // Two pieces in one place, and one at the end.
        damaged_stretches: 2,
        skipped_bytes: 39,
        torn_tail: 4,
        ..ReadCounts::default()
    };
    assert_eq!(counts, expected);
}

#[test]
fn a_record_cut_at_the_end_is_a_torn_tail_and_one_without_its_boundary_is_whole() {
    let (first, second) = (framed(0), framed(1));
    let cut = second.len() - 2;
    let (found, counts) = read(&[&first[..], &second[..cut]].concat());
    assert_eq!(found.len(), 2);
    assert_eq!(counts.torn_tail, cut as u64 - 1);
    assert_eq!(counts.skipped_bytes, counts.torn_tail);
    assert!(!counts.is_whole());
    let (found, counts) = read(&[&first[..], &second[..second.len() - 1]].concat());
    assert_eq!((found.len(), counts.torn_tail), (2, 0));
    assert!(counts.is_whole());
}
