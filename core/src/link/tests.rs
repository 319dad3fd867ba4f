//! Every message comes back as it was sent, and no byte that changes on the way makes another message of it.

use super::*;
use crate::calibration::{Calibration, Channel};
use crate::process::Process;
use crate::record::{ClockSource, EventKind, WallClock};
use crate::sequence::Side;
use crate::trouble::Trouble;
use crate::units::{Amperes, Celsius, Joules, Millimetres, Seconds, Volts, Watts};
use heapless::String;
use proptest::prelude::*;
use std::vec::Vec;

fn calibration() -> Calibration {
    let channel = |gain: f64| Channel {
        gain_per_count: gain,
        zero_in_256ths: -300,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.25,
        lowest_count: -8_000_000,
        highest_count: 8_000_000,
    };
    Calibration {
        voltage: channel(1.0 / 65_536.0),
        current: channel(-1.0 / 8192.0),
        sample_rate_hz: 10_000.0,
        rate_relative_uncertainty: 1e-4,
    }
}

fn weld(index: u8) -> PlannedWeld {
    PlannedWeld {
        index,
        number: 300,
        joint: 9,
        side: Side::Back,
        before: (1 << index) - 1,
        at_mm: [-600, 450, 25],
        moment: [1 << 20, -(1 << 20), 0, 7, -7, 1, -1],
        energy: Joules(21_500.0),
        efficiency: 0.75,
        length: Millimetres(40.0),
        interpass: Some(Celsius(150.0)),
        wall: Millimetres(2.0),
        girth: Millimetres(160.0),
        walls: 3,
    }
}

fn requests() -> Vec<Request> {
    let head = PlanHeader {
        title: String::try_from("Gate between two piers, the wide one at the back").unwrap(),
        welds: 64,
        max_flips: 3,
        before: [-(1 << 28), 1 << 28, 0, 1, 2, 3, 4],
        start: Celsius(18.0),
    };
    std::vec![
        Request::Identify,
        Request::Live,
        Request::Trouble,
        Request::Pull {
            from: u64::MAX,
            chunks: 255
        },
        Request::PlanBegins(head),
        Request::PlanWeld(weld(63)),
        Request::PlanEnds { checksum: u32::MAX },
        Request::Calibrate {
            calibration: calibration(),
            calibrated_unix_s: u64::MAX
        },
        Request::SetClock {
            unix_ms: 1_764_086_400_000
        },
        Request::Check {
            from: 1,
            until: u64::MAX,
        },
        Request::Process(None),
        Request::Process(Some(Process::Plasma)),
        Request::Clear {
            end: u64::MAX,
            consent: Consent::Pulled { sum: u32::MAX },
        },
        Request::Clear {
            end: 0,
            consent: Consent::Named(
                String::try_from("machine at the window sil").unwrap_or_default()
            ),
        },
    ]
}

fn replies() -> Vec<Reply> {
    let identity = Identity {
        device: String::try_from("machine at the window sil").unwrap_or_default(),
        firmware: String::try_from("0.1.0").unwrap(),
        board: String::try_from("lm3s6965evb").unwrap(),
        format: 1,
        clock: Some(WallClock {
            unix_ms: u64::MAX,
            source: ClockSource::Host,
        }),
        calibrated_unix_s: u64::MAX,
        sample_rate_hz: 10_000.0,
        store: StoreState::Faulty,
        log: (u64::MAX - 1, u64::MAX),
        room: Some(1 << 40),
        can: Capabilities {
            pull: true,
            plan: false,
            calibrate: true,
            set_clock: true,
            clear: true,
            process: true,
            check: true,
            confirm: true,
        },
        planned: 64,
    };
    let live = Live {
        position: u64::MAX,
        arc_on: true,
        voltage: Volts(18.5),
        current: Amperes(115.25),
        power: Watts(-2130.5),
        beads: u32::MAX,
        bead_energy: Joules(21_500.0),
        bead_arc_time: Seconds(9.5),
        weld_energy: Joules(43_000.0),
        planned_energy: Joules(42_000.0),
        weld: Some(u16::MAX),
        next: None,
        advice: Advice::Wait(u16::MAX),
        left: 63,
        last_alarm: Some(EventKind::CalibrationChanged),
        lost: u32::MAX,
    };
    let chunk = |length: usize| Chunk {
        index: 254,
        from: u64::MAX - 300,
        bytes: (0..length).map(|n| (n % 7) as u8).collect(),
    };
    std::vec![
        Reply::Identity(identity.clone()),
        Reply::Identity(Identity {
            clock: None,
            room: None,
            ..identity
        }),
        Reply::Live(live),
        Reply::Process(None),
        Reply::Trouble(None),
        Reply::Trouble(Some(Trouble::Locked)),
        Reply::Process(Some(Process::Tig)),
        Reply::Checked(Checked {
            // Far apart, so that no reply is longer.
            stretches: (0..MAX_STRETCHES as u64)
                .map(|n| Stretch {
                    from: (1 << 63) + (n << 59),
                    length: u16::MAX,
                })
                .collect(),
            sum: u32::MAX,
            until: u64::MAX,
        }),
        Reply::Live(Live {
            advice: Advice::Flip,
            weld: None,
            next: Some(1),
            last_alarm: None,
            ..live
        }),
        Reply::Chunk(chunk(0)),
        Reply::Chunk(chunk(CHUNK)),
        Reply::Done,
        Reply::Refused(Refusal::SampleRate),
        Reply::Refused(Refusal::NotPulled),
        Reply::Refused(Refusal::ArcBurns),
    ]
}

fn frame(tag: u8, message: &impl Message) -> Vec<u8> {
    let mut frame = [0; MAX_FRAME];
    let length = encode(tag, message, &mut frame).expect("there is room");
    frame[..length].to_vec()
}

fn found<M: Message>(bytes: &[u8]) -> Vec<(u8, M)> {
    let mut receiver = Receiver::<M>::new();
    let whole = bytes.iter().filter_map(|byte| receiver.take(*byte));
    whole
        .filter_map(|(tag, found)| found.ok().map(|message| (tag, message)))
        .collect()
}

#[test]
fn every_message_comes_back_as_it_was_sent() {
    for request in requests() {
        assert_eq!(found(&frame(7, &request)), [(7, request)]);
    }
    for reply in replies() {
        assert_eq!(found(&frame(255, &reply)), [(255, reply)]);
    }
}

#[test]
fn the_longest_message_fills_the_frame_and_no_bit_of_it_may_turn() {
    let message = Reply::Chunk(Chunk {
        index: 1,
        from: 5,
        bytes: [9; CHUNK].into_iter().collect(),
    });
    let whole = frame(3, &message);
    assert_eq!(whole.len(), MAX_FRAME);
    for bit in 0..8 * whole.len() {
        let mut damaged = whole.clone();
        damaged[bit / 8] ^= 1 << (bit % 8);
        let first_boundary = bit < 8;
        let messages = found::<Reply>(&damaged);
        // A first boundary that was hit leaves a byte before the message: noise, and the message with it.
        assert!(
            messages.is_empty(),
            "bit {bit}, first boundary: {first_boundary}"
        );
    }
}

#[test]
fn a_weld_cannot_wait_for_itself_or_a_later_one() {
    let wrong = PlannedWeld {
        before: 1 << 5,
        ..weld(5)
    };
    let mut receiver = Receiver::<Request>::new();
    let mut last = None;
    for byte in frame(1, &Request::PlanWeld(wrong)) {
        last = receiver.take(byte).or(last);
    }
    assert_eq!(last, Some((1, Err(Garbled::Value))));
}

proptest! {
    #[test]
    fn after_any_bytes_the_next_message_is_found(noise in prop::collection::vec(any::<u8>(), 0..600), which in 0..11usize) {
        let request = requests()[which].clone();
        let bytes = [noise.clone(), frame(9, &request)].concat();
        prop_assert_eq!(found::<Request>(&bytes).pop(), Some((9, request)));
        let reply = replies()[which].clone();
        let bytes = [noise, frame(9, &reply)].concat();
        prop_assert_eq!(found::<Reply>(&bytes).pop(), Some((9, reply)));
    }

    #[test]
    fn whole_frames_of_any_content_are_a_message_that_can_be_sent_again_or_none(
        body in prop::collection::vec(any::<u8>(), 0..240), version in prop::bool::ANY, kind in 0..11u8, answer in prop::bool::ANY,
    ) {
        let mut body = body;
        if body.len() > 2 && version {
            body[0] = VERSION;
            body[1] = kind | if answer { 0x40 } else { 0 };
        }
        let covered = body.len();
        body.extend([0; 4]);
        let mut buffer = [0; 400];
        let length = crate::framing::seal(&mut body, covered, &mut buffer).unwrap();
        for (tag, request) in found::<Request>(&buffer[..length]) {
            prop_assert_eq!(found(&frame(tag, &request)), [(tag, request)]);
        }
        for (tag, reply) in found::<Reply>(&buffer[..length]) {
            prop_assert_eq!(found(&frame(tag, &reply)), [(tag, reply)]);
        }
    }
}
