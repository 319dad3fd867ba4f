//! The same sample pairs give the same log, byte for byte, on the emulated processor and in this process.

use crate::board::{Pace, Sent, program, run, wanted};
use coldsquare_core::process::Process;
use coldsquare_core::record::{Entry, Marker, MarkerKind, Reader, Record, encode};
use coldsquare_firmware::feed::Fed;
use coldsquare_firmware::panel::Input;
use coldsquare_firmware::sim::{Build, Mishap, SimulatedBead, Transfer, Truth, log_build};
use std::sync::OnceLock;

const RATE_HZ: f64 = 10_000.0;
/// Samples lost in the middle of the last bead, which burns this long.
const LOST: u32 = 37;
const LAST_ARC_S: f64 = 1.5;

/// Four beads, whose arcs and pauses last for this share of their usual time.
fn build(rate_hz: f64, share: f64) -> Build {
    let short = Transfer::ShortCircuit { shorts_hz: 80.0 };
    let pulsed = Transfer::Pulsed { pulses_hz: 120.0 };
    let bead = |transfer, mishap, arc_s| SimulatedBead {
        mishap,
        // Never so short that two beads become one.
        pause_s: (2.0 * share).max(0.7),
        press: Some(Input::Next),
        ..SimulatedBead::new(transfer, 19.0, 120.0, share * arc_s)
    };
    let beads = vec![
        bead(short, None, 4.0),
        bead(short, Some(Mishap::Stutter { tries: 2 }), 2.0),
        bead(pulsed, Some(Mishap::Interruption { off_s: 0.25 }), 2.0),
        bead(short, Some(Mishap::Lost { samples: LOST }), LAST_ARC_S),
    ];
    Build::new("Gate between two piers", Process::MagSolid, rate_hz, beads)
}

/// The records of a log that is whole.
pub fn records(log: &[u8]) -> Vec<Record> {
    let (mut reader, mut rest) = (Reader::new(), log);
    let mut records = Vec::new();
    while let Some(entry) = reader.next(&mut rest) {
        match entry {
            Entry::Record { record, .. } => records.push(record),
            Entry::Damage { .. } => panic!("{entry:?}"),
        }
    }
    records
}

/// What the emulated logger is told: how it is set up, then what the machine did and what was pressed when.
fn feed(records: &[Record], truth: &Truth, last_arc_samples: f64) -> Vec<u8> {
    let mut frame = [0; coldsquare_core::record::MAX_FRAME];
    let length = encode(0, &records[0], &mut frame).expect("a header that was read can be written");
    let mut feed = frame[..length].to_vec();
    let mut say = |message: Fed| {
        let (bytes, length) = message.to_bytes();
        feed.extend_from_slice(&bytes[..length]);
    };
    let last = truth.beads.last().expect("beads");
    let lost_from = last.start + (last_arc_samples / 2.0).round() as u64;
    let pressed_after = |position| {
        records.iter().any(|record| {
            matches!(record, Record::Marker(Marker { position: at, kind: MarkerKind::NextWeld, .. }) if *at == position)
        })
    };
    for (position, &(volts, amps)) in (0_u64..).zip(&truth.samples) {
        if pressed_after(position + 1) {
            say(Fed::Press(Input::Next));
        }
        if position == lost_from {
            say(Fed::Dropped(LOST));
        }
        if !(lost_from..lost_from + u64::from(LOST)).contains(&position) {
            say(Fed::Pair(truth.converter.count(volts.into(), amps.into())));
        }
    }
    say(Fed::End);
    feed
}

/// The log of this process, and the feed of the same build for an emulated logger.
pub fn fed() -> (Vec<u8>, Vec<u8>) {
    fed_for(RATE_HZ, 1.0)
}

/// The same at another rate, with arcs and pauses that last for this share of their usual time.
pub fn fed_for(rate_hz: f64, share: f64) -> (Vec<u8>, Vec<u8>) {
    let (here, truth) = log_build(&build(rate_hz, share), 7).expect("the build suits its settings");
    let feed = feed(&records(&here), &truth, share * LAST_ARC_S * rate_hz);
    (here, feed)
}

/// The log of this process, and what the emulated logger sent for the same build; run once.
pub fn both() -> &'static (Vec<u8>, Sent) {
    static BOTH: OnceLock<(Vec<u8>, Sent)> = OnceLock::new();
    BOTH.get_or_init(|| {
        let (here, truth) =
            log_build(&build(RATE_HZ, 1.0), 7).expect("the build suits its settings");
        let records = records(&here);
        let count =
            |kind: fn(&Record) -> bool| records.iter().filter(|record| kind(record)).count();
        let beads = count(|record| matches!(record, Record::Bead(_)));
        let markers = count(|record| matches!(record, Record::Marker(_)));
        assert_eq!((beads, markers, truth.dropped), (4, 4, u64::from(LOST)));
        let sent = run(
            &program("logger"),
            Pace::Fast,
            feed(&records, &truth, LAST_ARC_S * RATE_HZ),
        );
        (here, sent)
    })
}

#[test]
fn the_emulated_logger_writes_the_same_bytes_as_the_one_in_this_process() {
    if !wanted() {
        return;
    }
    let (here, sent) = both();
    let first = here.iter().zip(&sent.log).position(|(a, b)| a != b);
    assert!(
        *here == sent.log,
        "{} bytes here, {} from the emulator, first difference at {first:?}",
        here.len(),
        sent.log.len()
    );
}
