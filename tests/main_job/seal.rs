//! A sealed log: whatever is changed, taken out, put in or cut off is told, and where; a pulled plug is no forgery.

use coldsquare_core::journal::Layout;
use coldsquare_core::process::Process;
use coldsquare_core::record::{Entry, Event};
use coldsquare_core::record::{EventKind, MAX_FRAME, Reader, Record, encode};
use coldsquare_core::seal::{Fingerprint, SIMULATION, SealNote, Secret, Section};
use coldsquare_engine::log::seal::{Records, Seal, Verdict};
use coldsquare_engine::log::{LogError, read_from};
use coldsquare_engine::recording::RecordingOptions;
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::logger::Resume;
use coldsquare_firmware::sim::{
    Build, MemoryCard, MemoryStore, SimulatedBead, Transfer, log_build_sealed_to,
};
use coldsquare_firmware::store::{Store, StoreError};
use std::path::Path;

type Numbered = Vec<(u32, Record)>;

fn build() -> Build {
    let beads = [0.4, 0.6, 0.3].map(|arc_s| SimulatedBead {
        pause_s: 4.0,
        ..SimulatedBead::new(Transfer::TigDirect, 14.0, 90.0, arc_s)
    });
    Build::new("two tacks", Process::Tig, 1000.0, beads.into())
}

fn logged(seed: u64) -> Vec<u8> {
    let (store, _) = log_build_sealed_to(&build(), seed, MemoryStore::new(), Resume::default())
        .expect("a calibration that suits");
    store.into_bytes()
}

fn read(bytes: &[u8]) -> Result<Seal, LogError> {
    let name = Path::new("shop.log");
    read_from(name, bytes, std::io::empty(), &RecordingOptions::default()).map(|log| log.seal)
}

fn seal_of(bytes: &[u8]) -> Seal {
    read(bytes).expect("a log")
}

fn records(bytes: &[u8]) -> Numbered {
    let mut reader = Reader::new();
    let mut rest = bytes;
    std::iter::from_fn(|| reader.next(&mut rest))
        .map(|entry| match entry {
            Entry::Record { sequence, record } => (sequence, record),
            Entry::Damage { offset, .. } => panic!("byte {offset} is damaged"),
        })
        .collect()
}

fn frame(sequence: u32, record: &Record) -> Vec<u8> {
    let mut frame = [0; MAX_FRAME];
    let length = encode(sequence, record, &mut frame).expect("a record");
    frame[..length].to_vec()
}

fn framed(records: &[(u32, Record)]) -> Vec<u8> {
    let frames = records
        .iter()
        .map(|(sequence, record)| frame(*sequence, record));
    frames.collect::<Vec<_>>().concat()
}

/// Where each record begins and ends, boundaries included.
fn places(bytes: &[u8]) -> Vec<std::ops::Range<usize>> {
    let mut at = 0;
    let lengths = records(bytes)
        .into_iter()
        .map(|(sequence, record)| frame(sequence, &record).len());
    lengths
        .map(|length| {
            at += length;
            at - length..at
        })
        .collect()
}

fn note(record: &Record) -> Option<SealNote> {
    match record {
        Record::Marker(marker) => SealNote::of(marker),
        _ => None,
    }
}

/// The number of the last record of each seal.
fn seals(records: &[(u32, Record)]) -> Vec<u32> {
    let is_end = |record: &Record| matches!(note(record), Some(SealNote::SecondHalf(_)));
    records
        .iter()
        .filter(|(_, record)| is_end(record))
        .map(|(number, _)| *number)
        .collect()
}

/// Told in the section of this record, and not before it.
fn assert_told(seal: &Seal, number: u32, of: &[(u32, Record)], what: &str) {
    let ends = seals(of);
    let last = *ends.last().expect("seals");
    let section = ends
        .iter()
        .filter(|&&end| end < number)
        .max()
        .map_or(0, |end| end + 1);
    match seal.verdict {
        Verdict::Broken {
            at: Records { first, last },
            ..
        } => {
            assert!(
                section <= first && first <= number && number <= last + 1,
                "{what}: told at {first} to {last}"
            );
        }
        // The end of a file: what cannot be checked is not called sealed.
        Verdict::UpTo { record, .. } => {
            assert!(
                record < number && (record < last || number > last),
                "{what}: {record}"
            );
        }
        // Windows may be missing where the rest is as it was; then it is said where.
        Verdict::Sealed if seal.lost.is_some() => {
            let (at, _) = seal.lost.expect("just seen");
            assert!(
                (at.first..=at.last).contains(&number),
                "{what}: told at {at}"
            );
            assert_eq!(seal.word(), "sealed in part");
        }
        // The first windows may have made room, and it is said how many are missing.
        Verdict::Sealed if seal.made_room > 0 => assert_eq!(seal.word(), "sealed in part"),
        verdict => panic!("{what}: {verdict:?}"),
    }
}

#[test]
fn an_unaltered_log_is_sealed_by_a_simulated_logger_and_says_so() {
    let bytes = logged(1);
    let records = records(&bytes);
    assert!(
        seals(&records).len() >= 3,
        "a seal for each bead and one at the end"
    );
    let seal = seal_of(&bytes);
    assert_eq!(seal.word(), "sealed", "{}", seal.sentence());
    assert!(
        seal.sentence()
            .contains("simulated logger, whose key is public"),
        "{}",
        seal.sentence()
    );
    assert!(seal.between.is_empty());
}

#[test]
fn a_log_without_a_seal_is_not_sealed() {
    let (bytes, _) = coldsquare_firmware::sim::log_build(&build(), 1).expect("suits");
    assert_eq!(seal_of(&bytes).word(), "not sealed");
}

#[test]
fn one_byte_changed_anywhere_is_told_at_its_record() {
    let bytes = logged(2);
    let records = records(&bytes);
    for (place, (number, _)) in places(&bytes).into_iter().zip(&records) {
        for at in place {
            for change in [0x01, 0x80] {
                let mut changed = bytes.clone();
                changed[at] ^= change;
                let Ok(seal) = read(&changed) else { continue };
                assert_told(
                    &seal,
                    *number,
                    &records,
                    &format!("byte {at}, record {number}"),
                );
            }
        }
    }
}

/// Changed by somebody who knows the format. A window is told with those beside it, a part of a seal with its other parts.
#[test]
fn a_value_changed_with_its_checksum_made_anew_is_told_at_its_record() {
    let records = records(&logged(3));
    let last = *seals(&records).last().expect("seals");
    for at in 0..records.len() {
        let mut changed = records.clone();
        let (number, record) = &mut changed[at];
        let number = *number;
        let seal_part = note(record).is_some_and(|note| match note {
            SealNote::Key(_) | SealNote::Log(_) => false,
            SealNote::Short(_) | SealNote::Seal(_) | SealNote::LastSeal(_) => true,
            SealNote::FirstHalf(_) | SealNote::SecondHalf(_) => true,
        });
        let is_window = matches!(record, Record::Window(_));
        match record {
            Record::Header(header) => header.calibration.current.gain_per_count *= 0.8,
            Record::Bead(bead) => bead.sums.vi -= 1,
            Record::Window(window) if window.arc_on => window.sums.vi -= 1,
            Record::Window(window) => window.sums.i += 1,
            Record::Marker(marker) => marker.position += 1,
            Record::Event(event) => event.value += 1,
        }
        let seal = seal_of(&framed(&changed));
        if number > last {
            continue;
        }
        let what = format!("record {number}");
        assert_told(&seal, number, &records, &what);
        let Verdict::Broken { at, missing } = seal.verdict else {
            panic!("{what}: {}", seal.sentence())
        };
        assert!(
            !missing && at.first <= number && number <= at.last,
            "{what}: {at}"
        );
        if seal_part {
            assert!(at.last - at.first <= 3, "{what}: {at}");
        } else if is_window {
            let first = &records[at.first as usize].1;
            assert!(matches!(first, Record::Window(_)), "{what}: {at}");
        } else {
            assert_eq!(at.first, at.last, "{what}: {at}");
        }
    }
}

#[test]
fn a_sum_of_a_seal_that_was_forged_blames_nobody_else() {
    let records = records(&logged(14));
    let parts = records.iter().enumerate().filter_map(|(at, (_, record))| {
        let changed = match note(record)? {
            SealNote::Short(_) => SealNote::Short([7; 32]),
            SealNote::Seal(_) => SealNote::Seal([7; 32]),
            SealNote::LastSeal(_) => SealNote::LastSeal([7; 32]),
            _ => return None,
        };
        Some((at, changed))
    });
    let parts: Vec<_> = parts.collect();
    assert!(parts.len() >= 6);
    for (at, forged) in parts {
        let mut changed = records.clone();
        let Record::Marker(marker) = &changed[at].1 else {
            panic!("a note is a marker")
        };
        changed[at].1 = Record::Marker(forged.at(marker.position));
        let number = changed[at].0;
        let told = seal_of(&framed(&changed)).verdict;
        let only = Records {
            first: number,
            last: number,
        };
        let broken = Verdict::Broken {
            at: only,
            missing: false,
        };
        assert_eq!(told, broken);
    }
}

#[test]
fn a_gain_changed_in_the_header_is_told() {
    let mut records = records(&logged(4));
    for (_, record) in &mut records {
        if let Record::Header(header) = record {
            header.calibration.current.gain_per_count *= 0.8;
        }
    }
    let seal = seal_of(&framed(&records));
    let Verdict::Broken { at, .. } = seal.verdict else {
        panic!("{}", seal.sentence())
    };
    let headers = || {
        let is_header = |record: &Record| matches!(record, Record::Header(_));
        records.iter().filter(move |(_, record)| is_header(record))
    };
    assert_eq!(headers().count(), 1);
    let header = headers().next().expect("a header").0;
    assert_eq!((at.first, at.last), (header, header));
}

#[test]
fn records_taken_out_swapped_or_doubled_are_told() {
    let records = records(&logged(5));
    let sealed = *seals(&records).last().expect("seals") as usize;
    for at in 0..=sealed {
        let what = |how: &str| format!("record {at} {how}");
        let mut without = records.clone();
        without.remove(at);
        // Without its header the log is refused, which is telling too.
        if let Ok(seal) = read(&framed(&without)) {
            assert_told(&seal, at as u32, &records, &what("taken out"));
        }
        // Renumbered, so that no gap shows.
        for (number, record) in without.iter_mut().enumerate() {
            record.0 = number as u32;
        }
        if let Ok(seal) = read(&framed(&without)) {
            assert_ne!(seal.word(), "sealed", "{}", what("taken out without a gap"));
        }

        // Twice in a row it is read once, so the copy of the last has no place that could be told.
        if at + 2 <= records.len() {
            let mut doubled = records.clone();
            doubled.insert(at + 2, records[at].clone());
            let seal = seal_of(&framed(&doubled));
            let Verdict::Broken { at: told, .. } = seal.verdict else {
                panic!("{}: {}", what("doubled"), seal.sentence())
            };
            assert!(
                (at as u32..at as u32 + 3).contains(&told.first),
                "{}",
                what("doubled")
            );
        }
        if at < sealed {
            let mut swapped = records.clone();
            swapped.swap(at, at + 1);
            assert_ne!(
                seal_of(&framed(&swapped)).word(),
                "sealed",
                "{}",
                what("swapped")
            );
            let (one, other) = (swapped[at].0, swapped[at + 1].0);
            (swapped[at].0, swapped[at + 1].0) = (other, one);
            assert_ne!(
                seal_of(&framed(&swapped)).word(),
                "sealed",
                "{}",
                what("swapped, renumbered")
            );
        }
    }
}

#[test]
fn an_end_that_was_cut_off_is_told_and_is_no_forgery() {
    let bytes = logged(6);
    let records = records(&bytes);
    let last = *seals(&records).last().expect("seals");
    for length in 1..=last as usize {
        let cut = framed(&records[..length]);
        let Ok(seal) = read(&cut) else { continue };
        assert!(
            matches!(seal.verdict, Verdict::UpTo { .. } | Verdict::NotSealed),
            "{length} records: {}",
            seal.sentence()
        );
        let whole = seals(&records[..length]);
        if let (Verdict::UpTo { record, .. }, Some(end)) = (seal.verdict, whole.last()) {
            assert_eq!(record, *end, "up to the last signature");
        }
    }
}

/// A store that holds what power left behind.
fn left_behind(bytes: &[u8]) -> MemoryStore {
    let mut store = MemoryStore::new();
    store.append(bytes).expect("room");
    store
}

#[test]
fn power_cut_at_any_record_leaves_what_was_sealed_sealed() {
    let records = records(&logged(7));
    for length in 3..records.len() {
        let cut = framed(&records[..length]);
        let resume = Resume {
            position: 100_000,
            sequence: length as u32,
            beads: 3,
            starts: 1,
        };
        let (store, _) =
            log_build_sealed_to(&build(), 8, left_behind(&cut), resume).expect("suits");
        let seal = seal_of(&store.into_bytes());
        assert_eq!(
            seal.verdict,
            Verdict::Sealed,
            "{length} records: {}",
            seal.sentence()
        );
        let end = seals(&records[..length]).last().map_or(0, |end| end + 1);
        let lost = (end < length as u32).then(|| Records {
            first: end,
            last: length as u32 - 1,
        });
        assert_eq!(seal.between, Vec::from_iter(lost), "{length} records");
    }
}

#[test]
fn a_start_of_another_log_does_not_fit_into_this_one() {
    let (one, other) = (logged(9), logged(10));
    let first = records(&one);
    let resume = Resume {
        position: 100_000,
        sequence: first.len() as u32,
        beads: 3,
        starts: 1,
    };
    let second = |log: &[u8], seed| {
        let (store, _) =
            log_build_sealed_to(&build(), seed, left_behind(log), resume).expect("suits");
        store.into_bytes()[log.len()..].to_vec()
    };
    let own = [one.clone(), second(&one, 11)].concat();
    assert_eq!(seal_of(&own).word(), "sealed");
    let foreign = [one, second(&other, 11)].concat();
    let seal = seal_of(&foreign);
    assert_eq!(seal.word(), "broken", "{}", seal.sentence());
}

#[test]
fn a_log_sealed_by_another_key_has_another_fingerprint() {
    // Somebody without the logger's secret seals a log with his own.
    let forger = Secret::new([5; 32]).expect("chance");
    let key = forger.public();
    let log = [3; 32];
    let header = records(&logged(1))
        .into_iter()
        .find(|(_, record)| matches!(record, Record::Header(_)))
        .expect("a header")
        .1;
    let mut section = Section::begin(&key, &log, &[0; 64]);
    let mut all: Numbered = Vec::new();
    let event = Record::Event(Event {
        position: 0,
        kind: EventKind::PowerOn,
        value: 1,
    });
    let summed = [
        Record::Marker(SealNote::Key(key).at(0)),
        Record::Marker(SealNote::Log(log).at(0)),
        header,
        event,
    ];
    let mut put = |section: &mut Section, record: Record| {
        section.take(&record, &frame(all.len() as u32, &record));
        all.push((all.len() as u32, record));
    };
    for record in summed {
        put(&mut section, record);
    }
    let short = SealNote::Short(section.short().bytes());
    put(&mut section, Record::Marker(short.at(0)));
    let end = SealNote::LastSeal(section.windows());
    put(&mut section, Record::Marker(end.at(0)));
    let signature = forger.sign(&section.sum());
    let half = |from: usize| signature[from..from + 32].try_into().expect("half");
    for note in [SealNote::FirstHalf(half(0)), SealNote::SecondHalf(half(32))] {
        all.push((all.len() as u32, Record::Marker(note.at(0))));
    }
    let seal = seal_of(&framed(&all));
    assert_eq!(seal.word(), "sealed");
    assert!(!seal.is_simulated());
    assert_ne!(
        seal.keys,
        [Secret::new(SIMULATION).expect("chance").public()]
    );
    assert_ne!(seal.fingerprints(), seal_of(&logged(1)).fingerprints());
}

/// A store that refuses one record.
struct Refuses {
    inner: MemoryStore,
    until: usize,
}

impl Store for Refuses {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        self.until = self.until.wrapping_sub(1);
        if self.until == 0 {
            return Err(StoreError::Fault);
        }
        self.inner.append(record)
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        self.inner.sync()
    }
}

#[test]
fn a_record_that_the_store_lost_is_no_forgery() {
    let count = records(&logged(12)).len();
    for until in 1..count {
        let store = Refuses {
            inner: MemoryStore::new(),
            until,
        };
        let (store, _) =
            log_build_sealed_to(&build(), 12, store, Resume::default()).expect("suits");
        let Ok(seal) = read(&store.inner.into_bytes()) else {
            continue;
        };
        assert!(
            !matches!(seal.verdict, Verdict::Broken { .. } | Verdict::NotSealed),
            "record {until}: {}",
            seal.sentence()
        );
    }
}

#[test]
fn windows_that_made_room_leave_the_rest_sealed() {
    let records = records(&logged(13));
    let windows = |until: usize| -> Numbered {
        let is_old = |at: usize, record: &Record| at < until && matches!(record, Record::Window(_));
        let kept = records.iter().enumerate();
        kept.filter(|(at, (_, record))| !is_old(*at, record))
            .map(|(_, kept)| kept.clone())
            .collect()
    };
    for until in 3..records.len() - 1 {
        let seal = seal_of(&framed(&windows(until)));
        assert_ne!(seal.word(), "broken", "until {until}: {}", seal.sentence());
        assert!(until < 6 || seal.made_room > 0, "{}", seal.sentence());
    }
}

/// A log whose seals were all taken out cannot be told from one that never had any, unless somebody knows that its logger
/// seals.
#[test]
fn a_log_that_was_stripped_of_its_seal_is_told_by_whoever_knows_its_logger() {
    let mut stripped = records(&logged(15));
    stripped.retain(|(_, record)| note(record).is_none());
    for (number, record) in stripped.iter_mut().enumerate() {
        record.0 = number as u32;
    }
    let stripped = framed(&stripped);
    assert_eq!(seal_of(&stripped).word(), "not sealed");

    let own = seal_of(&logged(15)).fingerprints()[0];
    let other = Fingerprint::of(&[7; 32]);
    let read_as = |bytes: &[u8], by| {
        let options = RecordingOptions {
            sealed_by: Some(by),
            ..RecordingOptions::default()
        };
        read_from(Path::new("shop.log"), bytes, std::io::empty(), &options).expect("a log")
    };
    let log = read_as(&stripped, own);
    assert_eq!(log.seal.word(), "without its seal");
    assert!(log.report.notes[0].contains("or its seals were taken out"));
    let log = read_as(&logged(15), other);
    assert_eq!(log.seal.word(), "sealed by another logger");
    assert!(log.report.notes[0].contains(&other.to_string()));
    let log = read_as(&logged(15), own);
    assert_eq!(log.seal.word(), "sealed");
    assert!(!log.seal.is_in_doubt());
    // Nor can another instrument's recording be its log.
    let recording = b"time_ms,volts,amps\n0,19,120\n1,19,120\n2,0,0\n3,0,0\n";
    assert_eq!(read_as(recording, own).seal.word(), "without its seal");
}

/// The last word of a full store is a seal, so that nobody can take away from its end unseen.
#[test]
fn a_store_that_is_full_ends_with_a_seal() {
    let bead = SimulatedBead {
        pause_s: 2.0,
        ..SimulatedBead::new(Transfer::TigDirect, 14.0, 90.0, 1.0)
    };
    let build = Build::new("many tacks", Process::Tig, 1000.0, vec![bead; 120]);
    for cells in 90..100 {
        let mut card = MemoryCard::new(cells, 1);
        let layout = Layout::divide(99, cells, 4, 204).expect("large enough");
        card.sectors[0] = layout.to_cell();
        let journal = Journal::mount(Card::at(card, 0, cells)).expect("mounted");
        let (journal, _) =
            log_build_sealed_to(&build, 7, journal, Resume::default()).expect("usable");
        let card = journal.into_medium().into_sectors().sectors.concat();
        let log = read_from(
            Path::new("COLDSQ.JNL"),
            &card,
            std::io::empty(),
            &RecordingOptions::default(),
        )
        .expect("a log");
        let full = log.events.last().map(|event| event.kind);
        assert_eq!(full, Some(EventKind::StoreFull), "{cells} cells");
        let beads = log.beads.len();
        assert!((5..120).contains(&beads), "{cells} cells: {beads} beads");
        assert!(
            matches!(log.seal.verdict, Verdict::Sealed),
            "{cells} cells: {}",
            log.seal.sentence()
        );
    }
}
