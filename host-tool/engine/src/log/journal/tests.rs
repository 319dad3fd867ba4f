//! What is missing between the records of a log, and what is told of it.

use super::*;
use crate::log::tests::{frame_of, frames, header, window};
use coldsquare_core::bead::Bead;
use coldsquare_core::record::{Event, EventKind, Marker, MarkerKind};
use coldsquare_core::samples::Sums;

/// A header, and four windows of 100 samples.
fn log() -> Vec<Vec<u8>> {
    let windows = (0..4).map(|k| Record::Window(window(100 * k, false, 100, 0)));
    let records: Vec<_> = std::iter::once(Record::Header(header()))
        .chain(windows)
        .collect();
    frames(&records)
}

fn parts(bytes: &[u8]) -> Parts {
    read(Path::new("gate.log"), bytes).expect("a log")
}

/// Where records are missing, and how many.
fn gaps(bytes: &[u8]) -> Vec<(u64, u64, u64)> {
    let gaps = parts(bytes).gaps;
    gaps.iter()
        .map(|gap| (gap.from, gap.until, gap.records))
        .collect()
}

fn without(lost: &[usize]) -> Vec<u8> {
    let kept = log().into_iter().enumerate();
    kept.filter(|(k, _)| !lost.contains(k))
        .flat_map(|(_, frame)| frame)
        .collect()
}

/// Bytes between two boundaries that are no record.
const DAMAGE: &[u8] = b"\0\x05junk\0";

#[test]
fn one_whole_frame_makes_a_log_even_one_of_a_newer_format_or_an_unknown_kind() {
    assert!(looks_like_a_log(&log()[0]));
    assert!(looks_like_a_log(&frame_of(2, 5)), "a newer format");
    assert!(looks_like_a_log(&frame_of(1, 99)), "an unknown kind");
    assert!(looks_like_a_log(&[DAMAGE, &log()[0]].concat()));
    // The last one may lack its boundary.
    let frame = &log()[0];
    assert!(looks_like_a_log(&frame[..frame.len() - 1]));
    // A frame with a changed byte is like any bytes between two zeros.
    let mut broken = frame_of(2, 5);
    broken[9] ^= 1;
    assert!(!looks_like_a_log(&broken));
    assert!(!looks_like_a_log(&frame[..frame.len() - 2]));
    for other in [
        DAMAGE,
        b"\0\0\0\0",
        b"time,volts,amps\n",
        b"\0\x05abcd\0",
        &[1; 5000],
    ] {
        assert!(!looks_like_a_log(other), "{other:?}");
    }
}

#[test]
fn records_are_missing_from_where_the_log_had_come_to_where_it_goes_on() {
    assert_eq!(gaps(&without(&[])), []);
    assert_eq!(gaps(&without(&[2])), [(100, 200, 1)]);
    assert_eq!(gaps(&without(&[2, 3])), [(100, 300, 2)]);
    assert_eq!(gaps(&without(&[1, 3])), [(0, 100, 1), (200, 300, 1)]);
    // Before the first.
    assert_eq!(gaps(&without(&[0])), [(0, 0, 1)]);
    assert_eq!(gaps(&without(&[0, 1])), [(0, 100, 2)]);
    assert_eq!(gaps(&without(&[0, 2, 3])), [(0, 0, 1), (100, 300, 2)]);
    assert_eq!(gaps(&without(&[4])), [], "of the end nothing tells");
}

#[test]
fn damage_at_the_end_of_a_log_is_a_record_at_least() {
    let log = log();
    let whole = log.concat();
    assert_eq!(gaps(&[&whole, DAMAGE].concat()), [(400, 400, 1)]);
    // A torn last record too.
    assert_eq!(gaps(&whole[..whole.len() - 3]), [(300, 300, 1)]);
    // Damage with all records around it is no gap.
    let inside = [&log[..2].concat(), DAMAGE, &log[2..].concat()].concat();
    assert_eq!(gaps(&inside), []);
    // Records may go back, as those of a bead do: the log had come further.
    let records = [
        Record::Header(header()),
        Record::Window(window(500, false, 100, 0)),
        Record::Window(window(0, false, 100, 0)),
    ];
    let back = frames(&records).concat();
    assert_eq!(gaps(&[&back, DAMAGE].concat()), [(600, 600, 1)]);
}

#[test]
fn a_record_tells_how_far_the_log_had_come() {
    let bead = Bead {
        start: 100,
        sums: Sums {
            n: 40,
            ..Sums::default()
        },
        dropped: 10,
        ..Bead::default()
    };
    let marker = Marker {
        position: 70,
        kind: MarkerKind::Note,
        weld: None,
        note: heapless::String::new(),
    };
    let event = Event {
        position: 80,
        kind: EventKind::StoreFull,
        value: 0,
    };
    let mut started = header();
    started.start = 60;
    for (record, expected) in [
        (Record::Header(started), (60, 60)),
        // It is written once it is over.
        (Record::Bead(bead), (150, 150)),
        (Record::Window(window(200, true, 30, 5)), (200, 235)),
        (Record::Marker(marker), (70, 70)),
        (Record::Event(event), (80, 80)),
    ] {
        assert_eq!(span(&record), expected, "{record:?}");
    }
}

#[test]
fn five_damaged_places_are_told_and_more_are_counted() {
    let log = log();
    let with = |places: usize| {
        let damage = DAMAGE.repeat(places);
        parts(&[&log[..2].concat(), &damage[..], &log[2..].concat()].concat()).report
    };
    for (places, told) in [(0, 0), (1, 1), (4, 4), (5, 5), (6, 5)] {
        let report = with(places);
        let notes = &report.notes;
        assert_eq!(notes.len(), told, "{notes:?}");
        assert!(
            notes
                .iter()
                .all(|note| note.contains(": 5 bytes skipped, ")),
            "{notes:?}"
        );
        assert_eq!(report.tally.skipped_bytes, 5 * places as u64);
    }
}

#[test]
fn the_seals_own_notes_are_none_of_the_welders() {
    let note = |text: &str| {
        Record::Marker(Marker {
            position: 50,
            kind: MarkerKind::Note,
            weld: None,
            note: text.try_into().expect("fits"),
        })
    };
    let records = [
        Record::Header(header()),
        Record::Marker(SealNote::Key([7; 32]).at(50)),
        note("key1=under the mat"),
    ];
    let markers = parts(&frames(&records).concat()).markers;
    assert_eq!(markers.len(), 1);
    assert_eq!(markers[0].note.as_str(), "key1=under the mat");
}

#[test]
fn what_is_missing_twice_or_torn_is_told_with_its_number() {
    let notes_of = |tally| {
        let mut parts = Parts::default();
        parts.report.tally = tally;
        notes(&parts, vec!["last".into()])
    };
    let none = ReadCounts {
        bytes: 1000,
        records: 20,
        ..ReadCounts::default()
    };
    assert_eq!(notes_of(none), ["last"]);
    let ones = ReadCounts {
        missing: 1,
        missing_before: 1,
        restarted: 1,
        repeated: 1,
        torn_tail: 1,
        ..none
    };
    assert_eq!(
        notes_of(ones),
        [
            "1 record is missing inside the log",
            "1 record is missing before the first",
            "1 restart of the record numbers: two logs in one file?",
            "1 record was there twice and counts once",
            "the last 1 bytes are not a whole record: power failed while they were written",
            "last",
        ]
    );
    let more = ReadCounts {
        missing: 2,
        missing_before: 3,
        restarted: 4,
        repeated: 5,
        torn_tail: 6,
        ..none
    };
    assert_eq!(
        notes_of(more),
        [
            "2 records are missing inside the log",
            "3 records are missing before the first",
            "4 restarts of the record numbers: several logs in one file?",
            "5 records were there twice and count once",
            "the last 6 bytes are not a whole record: power failed while they were written",
            "last",
        ]
    );
}
