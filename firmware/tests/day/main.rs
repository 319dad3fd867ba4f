//! A day of welding in accelerated time, through the real logger into a journal on a card, and read back from there:
//! nothing drifts, no counter wraps, the clock may jump as it likes, and not one record is missing.
//!
//! An hour runs each time; `COLDSQUARE_DAY_HOURS=24` runs a whole day, 864 million pairs.

mod shift;

use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::bead::Bead;
use coldsquare_core::journal::Layout;
use coldsquare_core::link::{Receiver, Refusal, Reply};
use coldsquare_core::meter::{Stretch, measure};
use coldsquare_core::process::Process;
use coldsquare_core::record::{Entry, EventKind, Reader, Record};
use coldsquare_core::samples::Sums;
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::{Card, SEGMENT};
use coldsquare_firmware::logger::{Logger, Parts, Progress, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::sim::{MemoryCard, cable};
use coldsquare_firmware::store::Store;
use shift::{Account, PAIRS_PER_SECOND, PanelOfShift, Shift, WallOfShift, converter};

/// Cells of the journal: 64 MiB, more than a day fills.
const CELLS: u32 = 1 << 17;

fn setup(resume: Resume) -> Setup {
    let calibration = converter().calibration;
    let settings = ArcSettings::for_process(Process::MagSolid);
    let arc = ArcConfig::new(&settings, &calibration).expect("usable");
    Setup {
        device: heapless::String::new(),
        board: "bench",
        title: heapless::String::new(),
        process: Some(Process::MagSolid),
        calibration,
        calibrated_unix_s: 0,
        arc: arc.counts(),
        order: heapless::Vec::new(),
        resume,
    }
}

/// What was logged of a shift, read back from the card.
struct Logged {
    records: Vec<Record>,
    bytes: u64,
    account: Account,
    /// Answers to the questions of the shift: done, and refused because the arc burned.
    done: usize,
    refused: usize,
}

/// A shift of so many seconds, logged from where the counters stand.
fn logged(seconds: u64, resume: Resume) -> Logged {
    let mut card = MemoryCard::new(CELLS, 1);
    let layout = Layout::divide(1, CELLS, SEGMENT, 64).expect("large enough");
    card.sectors[0] = layout.to_cell();
    let mut card = Card::at(card, 0, CELLS);
    let (logger_end, computer_end) = cable(1 << 16);
    let (front_end, shared) = Shift::new(seconds, 7, computer_end.clone());
    let parts = Parts {
        front_end,
        store: Journal::mount(&mut card).expect("prepared"),
        link: logger_end,
        clock: WallOfShift(shared.clone()),
        panel: PanelOfShift(shared),
        plan: Box::new(NextWeld::new()),
    };
    let mut logger = Logger::start(parts, setup(resume)).expect("usable");
    while logger.poll() == Progress::Took {}
    let (front_end, _, _) = logger.finish();
    let (mut done, mut refused) = (0, 0);
    let mut receiver = Receiver::<Reply>::new();
    for byte in computer_end.receive(usize::MAX) {
        match receiver.take(byte) {
            Some((_, Ok(Reply::Done))) => done += 1,
            Some((_, Ok(Reply::Refused(Refusal::ArcBurns)))) => refused += 1,
            Some(other) => panic!("{other:?}"),
            None => {}
        }
    }
    let (records, bytes) = read_back(&mut card, resume.sequence);
    Logged {
        records,
        bytes,
        account: front_end.into_account(),
        done,
        refused,
    }
}

/// Every record on the card. None is missing, none is damaged; the first has this number.
fn read_back(card: &mut Card<MemoryCard>, first: u32) -> (Vec<Record>, u64) {
    let mut journal = Journal::mount(card).expect("what was written can be mounted");
    let (mut records, mut reader) = (Vec::new(), Reader::new());
    let (mut from, mut piece) = (0, [0; 4096]);
    loop {
        let (at, length) = journal.read(from, &mut piece).expect("sound");
        assert_eq!(at, from, "nothing had to make room");
        if length == 0 {
            break;
        }
        from += length as u64;
        let mut rest = &piece[..length];
        while let Some(entry) = reader.next(&mut rest) {
            match entry {
                Entry::Record { record, .. } => records.push(record),
                Entry::Damage { cause, .. } => panic!("{cause}"),
            }
        }
    }
    assert!(reader.finish().is_none());
    let tally = reader.counts();
    assert_eq!(
        (tally.missing, tally.restarted, tally.repeated),
        (0, 0, 0),
        "numbers follow one another"
    );
    assert_eq!(tally.missing_before, first.into());
    (records, from)
}

fn beads(records: &[Record]) -> Vec<Bead> {
    let bead = |record: &Record| match record {
        Record::Bead(bead) => Some(*bead),
        _ => None,
    };
    records.iter().filter_map(bead).collect()
}

/// Values of the events of a kind, in order.
fn events(records: &[Record], wanted: EventKind) -> Vec<i64> {
    let value = |record: &Record| match record {
        Record::Event(event) if event.kind == wanted => Some(event.value),
        _ => None,
    };
    records.iter().filter_map(value).collect()
}

/// Windows follow one another from `start` on without a break; gives their sums, their end and what was dropped.
fn windows(records: &[Record], start: u64) -> (Sums, u64, u64) {
    let (mut sums, mut end, mut dropped) = (Sums::default(), start, 0);
    for record in records {
        if let Record::Window(window) = record {
            assert_eq!(window.start, end);
            end += window.span();
            sums.add_window(&window.sums);
            dropped += u64::from(window.dropped);
        }
    }
    (sums, end, dropped)
}

/// Energy of exact sums: the zeros taken out in whole numbers, one multiplication at the end.
fn joules(sums: &Sums) -> f64 {
    let calibration = converter().calibration;
    let (voltage, current) = (calibration.voltage, calibration.current);
    let (p, q) = (
        i128::from(voltage.zero_in_256ths),
        i128::from(current.zero_in_256ths),
    );
    let n = i128::from(sums.n);
    let in_65536ths = 65_536 * sums.vi - 256 * q * sums.v - 256 * p * sums.i + n * p * q;
    in_65536ths as f64 / 65_536.0 * voltage.gain_per_count * current.gain_per_count
        / PAIRS_PER_SECOND as f64
}

fn hours() -> u64 {
    std::env::var("COLDSQUARE_DAY_HOURS").map_or(1, |text| text.parse().expect("a number of hours"))
}

#[test]
fn a_day_of_welding_is_logged_to_the_last_count() {
    let logged = logged(hours() * 3600, Resume::default());
    let (records, account) = (&logged.records, &logged.account);

    // Every pair of the day is in exactly one window.
    let (all, end, dropped) = windows(records, 0);
    assert_eq!((all, end), (account.all, account.positions));
    assert_eq!(dropped, account.dropped);
    assert_eq!(end, hours() * 3600 * PAIRS_PER_SECOND);

    // Every bead is the one that was made: place, arc time, restarts, losses and all five sums, equal and not near.
    let found = beads(records);
    assert_eq!(found.len(), account.beads.len());
    for (found, made) in found.iter().zip(&account.beads) {
        assert_eq!(found, made);
    }

    // So no energy drifts: neither of a bead, nor of all beads of the day together.
    let (mut together, mut summed, mut missing) = (Sums::default(), 0.0, 0.0);
    for bead in &found {
        let measured = measure(&Stretch::from(bead), &converter().calibration).expect("sound");
        let of_taken = measured.energy.0 * bead.sums.n as f64 / bead.span() as f64;
        let exact = joules(&bead.sums);
        assert!(
            (of_taken / exact - 1.0).abs() < 4.0 * f64::EPSILON,
            "bead {}: {of_taken} J, not {exact} J",
            bead.number
        );
        together.merge(&bead.sums);
        summed += of_taken;
        missing += measured.energy.0 - of_taken;
    }
    let exact = joules(&together);
    assert!(
        (summed / exact - 1.0).abs() < 1e-12,
        "{summed} J, {exact} J"
    );

    // Everything that went wrong was told, with its count.
    let told = |kind| events(records, kind).into_iter().sum::<i64>();
    assert_eq!(told(EventKind::SamplesDropped), account.dropped as i64);
    let clipped: u32 = account.beads.iter().map(|bead| bead.clipped_current).sum();
    assert_eq!(told(EventKind::CurrentClipped), clipped.into());
    assert_eq!(events(records, EventKind::PowerOn), [1]);
    let presses = records
        .iter()
        .filter(|record| matches!(record, Record::Marker(_)));
    assert_eq!(presses.count() as u64, account.presses);

    // The clock went forth and back, between beads and inside them; each step that somebody asked for is in the log
    // with its size, and none was taken while the arc burned. The beads above are none the worse for it.
    assert_eq!(events(records, EventKind::ClockSet), account.clock_steps);
    assert_eq!(logged.done, account.clock_steps.len());
    assert_eq!(logged.refused, account.asked_in_an_arc);
    assert!(logged.done > 2 && logged.refused > 2);

    println!(
        "{} pairs, {} lost; {} beads, {exact:.1} J and {missing:.1} J of lost pairs; {} records in {} bytes; \
         the clock was set {} times and {} times it was refused",
        account.all.n,
        account.dropped,
        found.len(),
        records.len(),
        logged.bytes,
        logged.done,
        logged.refused
    );
}

/// The same record, so many samples and beads on.
fn moved(record: &Record, samples: u64, beads: u32, starts: i64) -> Record {
    let mut record = record.clone();
    match &mut record {
        Record::Header(header) => header.start += samples,
        Record::Bead(bead) => {
            bead.start += samples;
            bead.number += beads;
        }
        Record::Window(window) => window.start += samples,
        Record::Marker(marker) => marker.position += samples,
        Record::Event(event) => {
            event.position += samples;
            if event.kind == EventKind::PowerOn {
                event.value += starts;
            }
        }
    }
    record
}

/// Positions pass 2^32 after five days and may go to 2^53; numbers of records wrap after 2^32, beads may have as many.
/// Wherever the counters stand, a shift gives the same log, moved.
#[test]
fn no_counter_wraps_that_should_not() {
    const SECONDS: u64 = 360;
    let plain = logged(SECONDS, Resume::default());
    let last = plain.account.positions;
    assert!(plain.account.beads.len() > 5);
    let records = plain.records.len() as u32;
    for (position, sequence, beads, starts) in [
        (u64::from(u32::MAX) - last / 2, 0, 0, 0),
        (1 << 40, u32::MAX - records / 2, 1 << 31, 1),
        (
            (1 << 53) - last,
            u32::MAX - 1,
            u32::MAX - plain.account.beads.len() as u32,
            u32::MAX - 1,
        ),
    ] {
        let resume = Resume {
            position,
            sequence,
            beads,
            starts,
        };
        let far = logged(SECONDS, resume);
        assert_eq!(far.records.len(), plain.records.len(), "{resume:?}");
        for (far, plain) in far.records.iter().zip(&plain.records) {
            assert_eq!(far, &moved(plain, position, beads, starts.into()));
        }
    }
}

/// How long each counter lasts at 10 000 pairs a second, where it could run out at all.
#[test]
fn counters_outlive_the_shop() {
    const YEAR_S: u128 = 31_557_600;
    let (pairs, bits_32) = (u128::from(PAIRS_PER_SECOND), u128::from(u32::MAX));
    // What an arc that never goes out writes a second: ten windows of 120 bytes.
    let bytes = 10 * 120;
    for (what, seconds, least_years) in [
        ("positions, 2^53 of them", (1 << 53) / pairs, 28_000),
        ("beads, one in two seconds day and night", bits_32 * 2, 270),
        // Twice as many as the bytes need, because a sync writes half empty ones.
        ("cells of a journal", bits_32 * 476 / (2 * bytes), 25),
        ("places in the log", (1 << 64) / bytes, 400_000_000),
    ] {
        assert!(seconds / YEAR_S >= least_years, "{what}");
    }
    // A single bead counts its dropped and clipped pairs in 32 bits: nearly five days of one arc.
    assert!(bits_32 / pairs > 4 * 86_400);
    // A window's 64-bit sums hold as many pairs as it may have, each at the greatest count.
    let greatest = i128::from(coldsquare_core::samples::MAX_COUNT).pow(2);
    assert!(greatest * i128::from(u16::MAX) < i128::from(i64::MAX));
}
