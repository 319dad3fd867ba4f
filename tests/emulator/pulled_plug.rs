//! The emulated logger's plug is pulled while it starts, welds and writes. Everything it reported as stored is on the card,
//! byte for byte; the card can be read, the file system is whole, and the logger starts again in bounded time.
//!
//! A share runs each time, `COLDSQUARE_PLUG_CUTS=2000` runs so many. Torn sectors are another test's: the emulator
//! writes a sector whole or not at all, `firmware/tests/power` tears them.

use crate::board::{program, run_from_flash, wanted};
use crate::card::Image;
use crate::same_log::records;
use coldsquare_core::process::Process;
use coldsquare_core::record::{MAX_FRAME, Record, encode};
use coldsquare_firmware::feed::Fed;
use coldsquare_firmware::panel::Input;
use coldsquare_firmware::sim::{Build, Random, SimulatedBead, Transfer, log_build};
use std::collections::HashSet;
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

/// Frames with their boundaries.
fn frames(bytes: &[u8]) -> impl Iterator<Item = &[u8]> {
    bytes
        .split(|byte| *byte == 0)
        .filter(|frame| !frame.is_empty())
}

/// What a card went through.
#[derive(Default)]
struct Card {
    cuts: u64,
    acknowledged: Vec<Vec<u8>>,
    mounted_in: u32,
}

impl Card {
    fn start(&mut self, image: &Image, random: &mut Random) {
        let (feed, readings) = shift(u64::from(random.below(4)));
        let plug = plug(random, readings);
        let sent = run_from_flash(
            &program("journal"),
            &[&plug[..], &feed].concat(),
            &image.drive(),
        );
        self.cuts += u64::from(!sent.says("stack_bytes"));
        if sent.says("mount_instructions") {
            self.mounted_in = self.mounted_in.max(sent.number("mount_instructions"));
        }
        self.acknowledged
            .extend(frames(&sent.log).map(<[u8]>::to_vec));
        let log = image.log();
        // Nothing in it is damaged.
        let beads = records(&log)
            .into_iter()
            .filter(|record| matches!(record, Record::Bead(_)));
        let numbers: Vec<u32> = beads
            .map(|record| {
                if let Record::Bead(bead) = record {
                    bead.number
                } else {
                    0
                }
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
        image.check();
    }
}

/// Cards from one seed on, until so many plugs were pulled in all.
fn cards(first: u64, step: u64, wanted: u64, pulled: &AtomicU64) -> (u32, usize) {
    let (mut mounted_in, mut acknowledged) = (0, 0);
    for seed in (first..).step_by(step as usize) {
        let folder = tempfile::tempdir().expect("a folder");
        let image = Image::of_64_mib(folder.path(), CELLS);
        let (mut card, mut random) = (Card::default(), Random::new(seed));
        for start in 0..STARTS {
            let before = card.cuts;
            let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
                card.start(&image, &mut random)
            }));
            assert!(done.is_ok(), "card {seed}, start {start}");
            let now = pulled.fetch_add(card.cuts - before, Ordering::Relaxed);
            if now >= wanted {
                break;
            }
        }
        mounted_in = mounted_in.max(card.mounted_in);
        acknowledged += card.acknowledged.len();
        if pulled.load(Ordering::Relaxed) >= wanted {
            break;
        }
    }
    (mounted_in, acknowledged)
}

#[test]
fn a_pulled_plug_loses_nothing_that_was_reported_as_stored() {
    if !wanted() {
        return;
    }
    let asked = std::env::var("COLDSQUARE_PLUG_CUTS").ok();
    let cuts = asked.map_or(SHARE, |number| number.parse().expect("a number of cuts"));
    program("journal");
    let pulled = AtomicU64::new(0);
    let threads = std::thread::available_parallelism().map_or(1, |count| count.get() as u64);
    let (mounted_in, acknowledged) = std::thread::scope(|scope| {
        let pulled = &pulled;
        let workers: Vec<_> = (0..threads)
            .map(|first| scope.spawn(move || cards(first, threads, cuts, pulled)))
            .collect();
        workers
            .into_iter()
            .map(|worker| worker.join().expect("no card failed"))
            .fold((0, 0), |all, one| (all.0.max(one.0), all.1 + one.1))
    });
    println!(
        "{} plugs pulled, {acknowledged} records acknowledged, none lost",
        pulled.into_inner()
    );
    crate::budget::within(
        "Cortex-M3: instructions of finding the end after a pulled plug",
        mounted_in,
        MAX_TO_MOUNT,
    );
}
