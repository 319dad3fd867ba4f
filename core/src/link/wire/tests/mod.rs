//! The bytes of messages as `docs/link.md` defines them.

mod codes;
mod limits;

use super::{MAX_WELD, write_weld};
use crate::framing;
use crate::link::{
    Advice, Capabilities, Checked, Consent, Garbled, Identity, Live, MAX_FRAME, Message,
    PlanHeader, PlannedWeld, Receiver, Refusal, Reply, Request, StoreState, Stretch,
    checksum_of_bytes, checksum_of_log, checksum_of_plan, encode,
};
use crate::sequence::Side;
use crate::units::{Amperes, Celsius, Joules, Millimetres, Seconds, Volts, Watts};
use heapless::String;
use std::vec::Vec;

fn weld() -> PlannedWeld {
    PlannedWeld {
        index: 5,
        number: 300,
        joint: 9,
        side: Side::Either,
        before: 0b11,
        at_mm: [-600, 450, 25],
        moment: [1, -2, 3, -4, 5, -6, 7],
        energy: Joules(21_500.0),
        efficiency: 0.75,
        length: Millimetres(40.0),
        interpass: None,
        wall: Millimetres(2.0),
        girth: Millimetres(160.0),
        walls: 3,
    }
}

fn header() -> PlanHeader {
    PlanHeader {
        title: String::new(),
        welds: 1,
        max_flips: 0,
        before: [0; 7],
        start: Celsius(18.0),
    }
}

fn identity() -> Identity {
    Identity {
        device: String::new(),
        firmware: String::new(),
        board: String::new(),
        format: 1,
        clock: None,
        calibrated_unix_s: 0,
        sample_rate_hz: 10_000.0,
        store: StoreState::Working,
        log: (7, 7),
        room: Some(0),
        can: Capabilities::default(),
        planned: 0,
    }
}

fn live(advice: Advice) -> Live {
    Live {
        position: 1,
        arc_on: false,
        voltage: Volts(0.0),
        current: Amperes(0.0),
        power: Watts(0.0),
        beads: 0,
        bead_energy: Joules(0.0),
        bead_arc_time: Seconds(0.0),
        weld_energy: Joules(0.0),
        planned_energy: Joules(0.0),
        weld: Some(1),
        next: Some(1),
        advice,
        left: 0,
        last_alarm: None,
        lost: 0,
    }
}

/// Version, kind, tag and payload.
fn body(message: &impl Message) -> Vec<u8> {
    let mut frame = [0; MAX_FRAME];
    let length = encode(7, message, &mut frame).expect("there is room");
    let (covered, _) = framing::open(&mut frame[1..length - 1]).expect("a whole frame");
    covered.to_vec()
}

fn arrives<M: Message>(message: &M) -> Result<M, Garbled> {
    let mut frame = [0; MAX_FRAME];
    let length = encode(7, message, &mut frame).expect("there is room");
    let mut receiver = Receiver::<M>::new();
    let mut found = frame[..length]
        .iter()
        .filter_map(|byte| receiver.take(*byte));
    found.next().expect("a whole frame").1
}

fn judge<M: Message + Clone + PartialEq + core::fmt::Debug>(message: M, is_fine: bool) {
    let expected = if is_fine {
        Ok(message.clone())
    } else {
        Err(Garbled::Value)
    };
    assert_eq!(arrives(&message), expected, "{message:?}");
}

/// Longer than any that is accepted.
fn longest_weld() -> PlannedWeld {
    PlannedWeld {
        number: u16::MAX,
        before: u64::MAX,
        at_mm: [i32::MIN; 3],
        moment: [i32::MIN; 7],
        ..weld()
    }
}

#[test]
fn there_is_room_for_the_longest_weld_and_no_more() {
    let mut buffer = [0; MAX_WELD];
    assert_eq!(write_weld(&longest_weld(), &mut buffer), Some(MAX_WELD));
    assert_eq!(write_weld(&longest_weld(), &mut buffer[1..]), None);
}

/// A logger that begins to follow a plan which arrived wrong would advise the wrong weld.
#[test]
fn the_checksum_of_a_plan_is_over_all_of_every_weld_in_order() {
    let by_definition = |so_far: u32, weld: &PlannedWeld| {
        let payload = body(&Request::PlanWeld(weld.clone()))[3..].to_vec();
        framing::checksum(&[&so_far.to_le_bytes()[..], &payload].concat())
    };
    let next = longest_weld();
    let first = checksum_of_plan(0, &weld());
    let both = checksum_of_plan(first, &next);
    assert_eq!(first, by_definition(0, &weld()));
    assert_eq!(both, by_definition(first, &next));
    assert_ne!(both, checksum_of_plan(checksum_of_plan(0, &next), &weld()));
    let last_byte = PlannedWeld { walls: 4, ..weld() };
    assert_ne!(checksum_of_plan(0, &last_byte), first);
}

/// The logger clears its store on the strength of it.
#[test]
fn the_checksum_of_a_log_is_over_every_stretch_of_every_answer() {
    let checked = Checked {
        stretches: [(0, 400), (1 << 40, u16::MAX)]
            .map(|(from, length)| Stretch { from, length })
            .into_iter()
            .collect(),
        sum: 0x1234_5678,
        until: (1 << 40) + 65_535,
    };
    let by_definition = |so_far: u32, checked: &Checked| {
        // A checksum that goes on is that of all the bytes together.
        let mut bytes = so_far.to_le_bytes().to_vec();
        for stretch in &checked.stretches {
            bytes.extend(stretch.from.to_le_bytes());
            bytes.extend(stretch.length.to_le_bytes());
        }
        bytes.extend(checked.until.to_le_bytes());
        bytes.extend(checked.sum.to_le_bytes());
        framing::checksum(&bytes)
    };
    let first = checksum_of_log(0, &checked);
    assert_eq!(first, by_definition(0, &checked));
    assert_eq!(
        checksum_of_log(first, &checked),
        by_definition(first, &checked)
    );
    // CRC-32C of nine digits, the check value of the catalogue of parametrised CRC algorithms (value from memory).
    assert_eq!(checksum_of_bytes(0, b"123456789"), 0xE306_9283);
    let in_pieces = checksum_of_bytes(checksum_of_bytes(0, b"1234"), b"56789");
    assert_eq!(in_pieces, 0xE306_9283);
}
