//! The emulated logger's plug is pulled while it starts, welds and writes, and at half of its starts the card refuses reads:
//! one, two, a burst of them, or all until it is switched on again. Everything the logger reported as stored is on the card,
//! byte for byte; the card can be read, the file system is whole, and the logger starts again in bounded time. A logger that
//! finds no journal on a card that answers badly stores nothing, and finds it when it is switched on again.
//!
//! A share runs each time, `COLDSQUARE_PLUG_CUTS=2000` runs so many, `COLDSQUARE_PLUG_SEED=1000` other ones. Torn sectors are
//! another test's: the emulator writes a sector whole or not at all, `firmware/tests/power` tears them.

use crate::board::{Sent, program, run_from_flash, wanted};
use crate::card::Image;
use crate::same_log::records;
use coldsquare_core::process::Process;
use coldsquare_core::record::{MAX_FRAME, Record, encode};
use coldsquare_firmware::feed::Fed;
use coldsquare_firmware::panel::Input;
use coldsquare_firmware::sim::{Build, Random, SimulatedBead, Transfer, log_build};
use std::collections::HashSet;
use std::panic::AssertUnwindSafe;
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};

const SHARE: u64 = 60;
/// Times that one card is started with, before it is put away.
const STARTS: u32 = 20;
/// Cells of a journal: more than [`STARTS`] fill.
const CELLS: u32 = 4000;
/// Slow enough for three beads to be quickly told, fast enough to see the arc's dips.
const RATE_HZ: f64 = 1000.0;
/// Bytes on the card's bus: until the journal is found, and while three beads are written.
const BYTES_TO_START: u32 = 40_000;
const BYTES_TO_WELD: u32 = 16_000;
/// Reads of a start on a card without faults, and some more.
const READS_TO_START: u32 = 200;
/// Reads refused in a burst, at most: each cell is read three times before it counts as refused.
const BURST: u32 = 40;
/// Instructions from the first byte of the card to a journal that can be written.
const MAX_TO_MOUNT: u32 = 16_000_000;

/// Three beads as a feed, and its readings.
pub fn shift(seed: u64) -> (Vec<u8>, u32) {
    let short = Transfer::ShortCircuit { shorts_hz: 80.0 };
    let beads = vec![SimulatedBead::new(short, 19.0, 120.0, 0.4); 3];
    let build = Build::new("Gate between two piers", Process::MagSolid, RATE_HZ, beads);
    let (log, truth) = log_build(&build, seed).expect("the build suits its settings");
    let mut frame = [0; MAX_FRAME];
    let length = encode(0, &records(&log)[0], &mut frame).expect("it was read");
    let mut feed = frame[..length].to_vec();
    let mut say = |message: Fed| {
        let (bytes, length) = message.to_bytes();
        feed.extend_from_slice(&bytes[..length]);
    };
    for (position, &(volts, amps)) in (0_u64..).zip(&truth.samples) {
        if truth.beads.iter().any(|bead| bead.start == position) {
            say(Fed::Press(Input::Next));
        }
        say(Fed::Pair(truth.converter.count(volts.into(), amps.into())));
    }
    say(Fed::End);
    (feed, truth.samples.len() as u32)
}

/// When the plug is pulled, as the board is told.
fn plug(random: &mut Random, readings: u32) -> [u8; 5] {
    let (counted, of) = match random.below(6) {
        0 => (1, BYTES_TO_START),
        1..=3 => (2, BYTES_TO_WELD),
        _ => (3, readings),
    };
    let [a, b, c, d] = random.below(of).to_le_bytes();
    [counted, a, b, c, d]
}

/// After how many reads the card refuses some, and how many.
fn refusals(random: &mut Random) -> [u32; 2] {
    let after = random.below(READS_TO_START);
    let refused = match random.below(8) {
        0..=3 => 0,
        4 => 1,
        5 => 2,
        6 => 3 + random.below(BURST - 2),
        _ => u32::MAX,
    };
    [after, refused]
}

/// Frames with their boundaries.
pub fn frames(bytes: &[u8]) -> impl Iterator<Item = &[u8]> {
    bytes
        .split(|byte| *byte == 0)
        .filter(|frame| !frame.is_empty())
}

/// What cards went through.
#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    cuts: u64,
    acknowledged: usize,
    /// Starts at which reads were refused, without those that were cut before they had a journal.
    refused: u32,
    /// Of these, starts that found no journal.
    without_journal: u32,
    /// The most instructions until the journal's end was found, while no read was refused.
    mounted_in: u32,
}

impl Tally {
    fn and(self, other: Self) -> Self {
        Self {
            cuts: self.cuts + other.cuts,
            acknowledged: self.acknowledged + other.acknowledged,
            refused: self.refused + other.refused,
            without_journal: self.without_journal + other.without_journal,
            mounted_in: self.mounted_in.max(other.mounted_in),
        }
    }
}

/// A card and what was reported as stored on it.
struct Card {
    image: Image,
    acknowledged: Vec<Vec<u8>>,
    /// The last start found no journal; whoever switches on again has a card that answers.
    again: bool,
    tally: Tally,
}

impl Card {
    fn new(folder: &Path) -> Self {
        Self {
            image: Image::of_64_mib(folder, CELLS),
            acknowledged: Vec::new(),
            again: false,
            tally: Tally::default(),
        }
    }

    fn start(&mut self, random: &mut Random) {
        let (feed, readings) = shift(u64::from(random.below(4)));
        let plug = plug(random, readings);
        let [after, refuses] = refusals(random);
        let refuses = if self.again { 0 } else { refuses };
        let [after, refused] = [after, refuses].map(u32::to_le_bytes);
        let sent = run_from_flash(
            &program("journal"),
            &[&plug[..], &after, &refused, &feed].concat(),
            &self.image.drive(),
        );
        self.count(&sent, refuses);
        self.acknowledged
            .extend(frames(&sent.log).map(<[u8]>::to_vec));
        self.check();
    }

    fn count(&mut self, sent: &Sent, refuses: u32) {
        assert!(!sent.says("restarted"), "it hung or panicked");
        let tally = &mut self.tally;
        let refused = sent.says("refused_reads") && sent.number("refused_reads") > 0;
        tally.refused += u32::from(refused);
        self.again = sent.says("no_journal");
        if self.again {
            assert!(refused, "a card that answers has its journal");
            assert!(sent.log.is_empty(), "stored without a journal");
            tally.without_journal += 1;
            return;
        }
        tally.cuts += u64::from(!sent.says("stack_bytes"));
        if refuses == 0 && sent.says("mount_instructions") {
            tally.mounted_in = tally.mounted_in.max(sent.number("mount_instructions"));
        }
    }

    /// Holds what is on the card against what was reported.
    fn check(&self) {
        let log = self.image.log();
        // Nothing in it is damaged.
        let numbers: Vec<u32> = records(&log)
            .into_iter()
            .filter_map(|record| match record {
                Record::Bead(bead) => Some(bead.number),
                _ => None,
            })
            .collect();
        assert!(
            numbers.is_sorted_by(|a, b| a < b),
            "a bead's number comes once: {numbers:?}"
        );
        let stored: HashSet<&[u8]> = frames(&log).collect();
        for frame in &self.acknowledged {
            assert!(stored.contains(&frame[..]), "lost: {frame:02x?}");
        }
        self.image.check();
    }
}

/// Cards from one seed on, until so many plugs were pulled in all.
fn cards(first: u64, step: u64, wanted: u64, pulled: &AtomicU64) -> Tally {
    let mut tally = Tally::default();
    for seed in (first..).step_by(step as usize) {
        let folder = tempfile::tempdir().expect("a folder");
        let (mut card, mut random) = (Card::new(folder.path()), Random::new(seed));
        for start in 0..STARTS {
            let before = card.tally.cuts;
            let done = std::panic::catch_unwind(AssertUnwindSafe(|| card.start(&mut random)));
            assert!(done.is_ok(), "card {seed}, start {start}");
            let now = pulled.fetch_add(card.tally.cuts - before, Ordering::Relaxed);
            if now >= wanted {
                break;
            }
        }
        card.tally.acknowledged = card.acknowledged.len();
        tally = tally.and(card.tally);
        if pulled.load(Ordering::Relaxed) >= wanted {
            break;
        }
    }
    tally
}

/// A number that whoever runs the test gives.
fn asked(name: &str) -> Option<u64> {
    let value = std::env::var(name).ok()?;
    Some(value.parse().expect("a number"))
}

#[test]
fn a_pulled_plug_loses_nothing_that_was_reported_as_stored() {
    if !wanted() {
        return;
    }
    let cuts = asked("COLDSQUARE_PLUG_CUTS").unwrap_or(SHARE);
    let from = asked("COLDSQUARE_PLUG_SEED").unwrap_or(0);
    program("journal");
    let pulled = AtomicU64::new(0);
    let threads = std::thread::available_parallelism().map_or(1, |count| count.get() as u64);
    let tally = std::thread::scope(|scope| {
        let pulled = &pulled;
        let workers: Vec<_> = (0..threads)
            .map(|first| scope.spawn(move || cards(from + first, threads, cuts, pulled)))
            .collect();
        workers
            .into_iter()
            .map(|worker| worker.join().expect("no card failed"))
            .fold(Tally::default(), Tally::and)
    });
    println!("{tally:?}, none lost");
    assert!(tally.refused > 0 && tally.without_journal > 0, "{tally:?}");
    crate::budget::within(
        "Cortex-M3: instructions of finding the end after a pulled plug",
        tally.mounted_in,
        MAX_TO_MOUNT,
    );
}
