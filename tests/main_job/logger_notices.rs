//! What goes wrong with leads, converter and store is seen in the log.

use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::process::Process;
use coldsquare_core::record::{Entry, EventKind, Reader, Record};
use coldsquare_core::samples::RawPair;
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::link::Unconnected;
use coldsquare_firmware::logger::{Logger, Parts, Progress, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::recorder::Recorder;
use coldsquare_firmware::store::{Store, StoreError};

/// 0.1 V and 0.5 A a count, zeros at 3 and −4, a thousand samples a second.
fn calibration() -> Calibration {
    let channel = |gain_per_count, zero: i32| Channel {
        gain_per_count,
        zero_in_256ths: 256 * zero,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.1,
        lowest_count: -2048,
        highest_count: 2047,
    };
    Calibration {
        voltage: channel(0.1, 3),
        current: channel(0.5, -4),
        sample_rate_hz: 1000.0,
        rate_relative_uncertainty: 0.0,
    }
}

struct Recording(std::vec::IntoIter<Reading>);

impl FrontEnd for Recording {
    fn next(&mut self) -> Reading {
        self.0.next().unwrap_or(Reading::Waiting)
    }
}

struct NoClock;

impl Clock for NoClock {
    fn now(&mut self) -> Option<coldsquare_core::record::WallClock> {
        None
    }
}

struct NoPanel;

impl Panel for NoPanel {
    fn input(&mut self) -> Option<Input> {
        None
    }
    fn show(&mut self, _shown: Shown) {}
}

/// Refuses the records with these numbers, counted from 0.
#[derive(Default)]
struct Faulty {
    bytes: Vec<u8>,
    appended: usize,
    refused: Vec<usize>,
}

impl Store for Faulty {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        let number = self.appended;
        self.appended += 1;
        if self.refused.contains(&number) {
            return Err(StoreError::Fault);
        }
        self.bytes.extend_from_slice(record);
        Ok(())
    }
    fn sync(&mut self) -> Result<(), StoreError> {
        Ok(())
    }
}

fn read(bytes: &[u8]) -> (Vec<Record>, Reader) {
    let (mut reader, mut rest, mut records) = (Reader::new(), bytes, Vec::new());
    while let Some(entry) = reader.next(&mut rest) {
        match entry {
            Entry::Record { record, .. } => records.push(record),
            Entry::Damage { cause, .. } => panic!("{cause}"),
        }
    }
    assert!(reader.finish().is_none());
    (records, reader)
}

fn setup() -> Setup {
    let settings = ArcSettings::for_process(Process::MagSolid);
    let arc = ArcConfig::new(&settings, &calibration())
        .expect("usable")
        .counts();
    Setup {
        device: "bench".try_into().expect("short"),
        board: "bench",
        title: Default::default(),
        process: Some(Process::MagSolid),
        calibration: calibration(),
        calibrated_unix_s: 0,
        arc,
        order: Default::default(),
        resume: Resume::default(),
    }
}

/// Two seconds of an arc as these functions of the sample's number make it, with a second of rest before and after.
fn events(volts: fn(i32) -> i32, amps: fn(i32) -> i32) -> Vec<(EventKind, i64)> {
    let rest = std::iter::repeat_n(Reading::Pair(RawPair::new(3, -4)), 1000);
    let arc = (0..2000).map(|n| Reading::Pair(RawPair::new(volts(n), amps(n))));
    let readings: Vec<_> = rest.clone().chain(arc).chain(rest).collect();
    let parts = Parts {
        front_end: Recording(readings.into_iter()),
        store: Faulty::default(),
        link: Unconnected,
        clock: NoClock,
        panel: NoPanel,
        plan: NextWeld::new(),
    };
    let mut logger = Logger::start(parts, setup()).expect("usable");
    while logger.poll() == Progress::Took {}
    let (_, store, _) = logger.finish();
    let (records, _) = read(&store.bytes);
    let told = |record: &Record| match record {
        Record::Event(event) if event.kind != EventKind::PowerOn => Some((event.kind, event.value)),
        _ => None,
    };
    records.iter().filter_map(told).collect()
}

/// 20 V and 100 A, restless by a count.
fn volts(n: i32) -> i32 {
    203 + n % 2
}

fn amps(n: i32) -> i32 {
    196 + n % 3
}

#[test]
fn a_good_arc_gives_nothing_to_notice() {
    assert_eq!(events(volts, amps), []);
}

#[test]
fn an_open_voltage_lead_is_noticed_once_a_bead() {
    assert_eq!(
        events(|n| 3 + n % 4, amps),
        [(EventKind::VoltageLeadOpen, 0)]
    );
}

#[test]
fn a_droplet_that_shorts_is_no_open_lead() {
    let shorts = |n: i32| if n % 20 < 6 { 8 } else { volts(n) };
    assert_eq!(events(shorts, amps), []);
}

#[test]
fn a_clamp_the_wrong_way_round_is_noticed_once_a_bead() {
    assert_eq!(
        events(volts, |n| -8 - amps(n)),
        [(EventKind::ClampReversed, 0)]
    );
}

#[test]
fn a_stuck_channel_is_noticed_with_its_count() {
    assert_eq!(events(|_| 250, amps), [(EventKind::VoltageStuck, 250)]);
    assert_eq!(events(volts, |_| 180), [(EventKind::CurrentStuck, 180)]);
}

#[test]
fn clipped_samples_are_counted_for_the_bead() {
    let spikes = |n: i32| if n % 100 == 0 { 2047 } else { volts(n) };
    assert_eq!(events(spikes, amps), [(EventKind::VoltageClipped, 20)]);
    let surges = |n: i32| if n % 500 == 0 { 2047 } else { amps(n) };
    assert_eq!(events(volts, surges), [(EventKind::CurrentClipped, 4)]);
}

#[test]
fn a_record_that_the_store_refused_leaves_a_hole_that_is_told() {
    let store = Faulty {
        refused: vec![1, 2],
        ..Faulty::default()
    };
    let mut recorder = Recorder::new(store, 0);
    let note = |position| {
        let (kind, value) = (EventKind::PowerOn, 1);
        Record::Event(coldsquare_core::record::Event {
            position,
            kind,
            value,
        })
    };
    for position in 0..4 {
        recorder.write(position, &note(position));
    }
    let store = recorder.into_store();
    let (stored, reader) = read(&store.bytes);
    // The second record is refused, and so is the first attempt to tell it; the next attempt succeeds.
    let told = |value| {
        Record::Event(coldsquare_core::record::Event {
            position: 3,
            kind: EventKind::StoreFault,
            value,
        })
    };
    assert_eq!(stored, [note(0), note(2), told(1), note(3)]);
    assert_eq!(reader.counts().missing, 2);
}

#[test]
fn a_logger_that_starts_again_goes_on_where_the_log_ended() {
    let second = vec![Reading::Pair(RawPair::new(203, 196)); 1000];
    let run = |resume: Resume| {
        let parts = Parts {
            front_end: Recording(second.clone().into_iter()),
            store: Faulty::default(),
            link: Unconnected,
            clock: NoClock,
            panel: NoPanel,
            plan: NextWeld::new(),
        };
        let mut logger = Logger::start(parts, Setup { resume, ..setup() }).expect("usable");
        while logger.poll() == Progress::Took {}
        logger.finish().1.bytes
    };
    let first = run(Resume::default());
    let sequence = u32::try_from(read(&first).0.len()).expect("few");
    let again = run(Resume {
        position: 1000,
        sequence,
        beads: 1,
        starts: 1,
    });
    let (records, reader) = read(&[first, again].concat());
    assert!(reader.counts().is_whole());
    let beads: Vec<_> = records
        .iter()
        .filter_map(|record| match record {
            Record::Bead(bead) => Some((bead.number, bead.start, bead.arc_samples)),
            _ => None,
        })
        .collect();
    assert_eq!(beads, [(1, 0, 1000), (2, 1000, 1000)]);
    let starts: Vec<_> = records
        .iter()
        .filter_map(|record| match record {
            Record::Event(event) if event.kind == EventKind::PowerOn => Some(event.value),
            _ => None,
        })
        .collect();
    assert_eq!(starts, [1, 2]);
}
