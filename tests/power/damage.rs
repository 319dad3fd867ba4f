//! A log cut at every byte, and one changed at every byte: only the record that was hit is lost, and the reader reports it.

use coldsquare_core::record::{Entry, ReadCounts, Reader, Record};
use coldsquare_engine::recording::RecordingOptions;
use coldsquare_tests::hex::{GOLDEN_FRAMES, golden_frame, golden_log};
use std::path::Path;

/// Everything that a reader finds, and its counts.
fn read(log: &[u8]) -> (Vec<(u32, Record)>, Vec<Entry>, ReadCounts) {
    let mut reader = Reader::new();
    let mut rest = log;
    let mut entries = Vec::new();
    while let Some(entry) = reader.next(&mut rest) {
        entries.push(entry);
    }
    entries.extend(reader.finish());
    let (records, damage): (Vec<_>, Vec<_>) = entries
        .into_iter()
        .partition(|entry| matches!(entry, Entry::Record { .. }));
    let records = records
        .into_iter()
        .filter_map(|entry| match entry {
            Entry::Record { sequence, record } => Some((sequence, record)),
            Entry::Damage { .. } => None,
        })
        .collect();
    (records, damage, *reader.counts())
}

/// Where each golden frame begins in the log, and where the last one ends.
fn boundaries() -> Vec<usize> {
    let mut at = 0;
    let mut found = vec![0];
    for name in GOLDEN_FRAMES {
        at += golden_frame(name).len();
        found.push(at);
    }
    found
}

#[test]
fn a_whole_log_is_read_whole() {
    let (records, damage, tally) = read(&golden_log());
    assert_eq!(records.len(), GOLDEN_FRAMES.len());
    assert!(damage.is_empty());
    assert!(tally.is_whole());
    assert_eq!(
        (tally.records, tally.bytes),
        (10, golden_log().len() as u64)
    );
}

#[test]
fn a_log_cut_at_any_byte_keeps_every_record_before_the_cut() {
    let log = golden_log();
    let whole = read(&log).0;
    let boundaries = boundaries();
    for cut in 0..=log.len() {
        let (records, _, tally) = read(&log[..cut]);
        // A frame that lacks nothing but its last boundary is whole.
        let expected = boundaries
            .iter()
            .skip(1)
            .filter(|&&end| end <= cut + 1)
            .count();
        assert_eq!(records, whole[..expected], "cut at {cut}");
        let start = boundaries[expected];
        // The first boundary of the torn record is no damage; every byte after it is reported.
        let torn = cut.saturating_sub(start + 1) as u64;
        assert_eq!(
            (tally.torn_tail, tally.skipped_bytes),
            (torn, torn),
            "cut at {cut}"
        );
        assert_eq!(
            (tally.missing, tally.missing_before),
            (0, 0),
            "cut at {cut}"
        );
    }
}

#[test]
fn a_changed_byte_costs_no_more_than_the_record_it_is_in() {
    let log = golden_log();
    let whole = read(&log).0;
    let boundaries = boundaries();
    for at in 0..log.len() {
        for change in [0x01, 0x80, 0xFF, log[at]] {
            if change == 0 {
                continue; // boundaries: covered by the other three
            }
            let mut damaged = log.clone();
            damaged[at] ^= change;
            let (records, damage, tally) = read(&damaged);
            let hit = boundaries.partition_point(|&start| start <= at) - 1;
            let mut expected = whole.clone();
            expected.remove(hit);
            assert_eq!(records, expected, "byte {at} changed by {change:#04x}");
            assert!(!damage.is_empty() && tally.skipped_bytes > 0);
            assert_eq!(
                tally.damaged_stretches, 1,
                "byte {at} changed by {change:#04x}"
            );
            // Sequence numbers tell how many are gone, except at the end of the log.
            let missing = u64::from(hit > 0 && hit + 1 < whole.len());
            assert_eq!(
                (tally.missing, tally.missing_before),
                (missing, u64::from(hit == 0))
            );
        }
    }
}

#[test]
fn a_reader_finds_the_same_in_pieces_of_any_size() {
    let mut log = golden_log();
    log[100] ^= 0x10;
    let (_, _, tally) = read(&log);
    for size in [1, 2, 7, 64, 1000] {
        let mut reader = Reader::new();
        for mut piece in log.chunks(size) {
            while reader.next(&mut piece).is_some() {}
        }
        reader.finish();
        assert_eq!(*reader.counts(), tally, "pieces of {size}");
    }
}

#[test]
fn records_sent_twice_count_once_and_joined_logs_are_noticed() {
    let log = golden_log();
    let last = golden_frame("clock-set");
    let (records, _, tally) = read(&[log.as_slice(), &last].concat());
    assert_eq!((records.len(), tally.repeated), (10, 1));
    let (records, _, tally) = read(&[log.as_slice(), &log].concat());
    assert_eq!((records.len(), tally.restarted, tally.missing), (20, 1, 0));
    assert!(!tally.is_whole());
}

/// The whole tool over damaged logs: a log that has lost any one byte is still read, and its notes say so.
#[test]
fn the_tool_reads_a_damaged_log_and_reports_the_damage() {
    let log = golden_log();
    let path = Path::new("gate.log");
    for at in 0..log.len() {
        let mut damaged = log.clone();
        damaged[at] ^= 0x5A;
        let read = coldsquare_engine::log::read_from(
            path,
            &damaged,
            std::io::empty(),
            &RecordingOptions::default(),
        );
        let read = read.unwrap_or_else(|error| panic!("byte {at}: {error}"));
        assert!(
            !read.report.tally.is_whole() || read.report.tally.records < 10,
            "byte {at}"
        );
        assert!(
            read.report
                .notes
                .iter()
                .any(|note| note.starts_with("byte ")),
            "byte {at}"
        );
    }
}
