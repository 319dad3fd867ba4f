//! Each code of a table is read back as what was written, and is the one that `docs/link.md` gives.

use super::*;
use crate::record::EventKind;
use crate::trouble::Trouble;
use std::string::ToString;

/// The byte before the last of an identity; its bits are in `docs/link.md`.
#[test]
fn each_capability_has_a_bit_of_its_own() {
    type Set = fn(&mut Capabilities);
    let bits: [(u8, Set); 8] = [
        (1, |can| can.pull = true),
        (2, |can| can.plan = true),
        (4, |can| can.calibrate = true),
        (8, |can| can.set_clock = true),
        (16, |can| can.clear = true),
        (32, |can| can.process = true),
        (64, |can| can.check = true),
        (128, |can| can.confirm = true),
    ];
    let mut all = Capabilities::default();
    for (bit, set) in bits {
        let mut can = Capabilities::default();
        set(&mut can);
        set(&mut all);
        let reply = Reply::Identity(Identity { can, ..identity() });
        let body = body(&reply);
        assert_eq!(body[body.len() - 2..], [bit, 0]);
        assert_eq!(arrives(&reply), Ok(reply));
    }
    let reply = Reply::Identity(Identity {
        can: all,
        ..identity()
    });
    assert_eq!(body(&reply).iter().rev().nth(1), Some(&255));
    assert_eq!(arrives(&reply), Ok(reply));
}

#[test]
fn each_advice_alarm_refusal_and_trouble_arrives_as_itself() {
    for advice in [
        Advice::NoPlan,
        Advice::Go,
        Advice::Wait(0),
        Advice::Wait(600),
        Advice::Flip,
        Advice::Replanning,
        Advice::Finished,
    ] {
        judge(Reply::Live(live(advice)), true);
    }
    let none = Live {
        weld: None,
        next: None,
        ..live(Advice::NoPlan)
    };
    judge(Reply::Live(none), true);
    for power in [f64::NAN, f64::INFINITY] {
        let power = Watts(power);
        judge(Reply::Live(Live { power, ..none }), false);
    }
    for kind in [EventKind::SamplesDropped, EventKind::StoreCleared] {
        let last_alarm = Some(kind);
        judge(Reply::Live(Live { last_alarm, ..none }), true);
    }
    for trouble in Trouble::ALL {
        judge(Reply::Trouble(Some(trouble)), true);
    }
}

/// The numbers are those of `docs/link.md`; the words are what a user reads.
#[test]
fn each_refusal_has_its_number_and_says_what_to_do() {
    let said = [
        (Refusal::ArcBurns, "the arc burns; try again once it is off"),
        (Refusal::CannotDo, "this logger cannot do that"),
        (
            Refusal::StoreFault,
            "the logger's memory cannot be read at that byte",
        ),
        (
            Refusal::PastTheEnd,
            "the logger's log ends before that byte",
        ),
        (Refusal::Value, "a value is not allowed"),
        (
            Refusal::TooManyWelds,
            "more welds than the logger has room for; send the plan in parts",
        ),
        (
            Refusal::PlanOrder,
            "a weld of the plan comes before one that must precede it; plan again",
        ),
        (
            Refusal::PlanChecksum,
            "the plan arrived incomplete; send it again",
        ),
        (
            Refusal::SampleRate,
            "the calibration is for a different sampling rate from the logger's",
        ),
        (
            Refusal::NotPulled,
            "the logger's log is not the one that was pulled, or has grown since; pull it again",
        ),
        (
            Refusal::TooCoarse,
            "the logger's counts are too coarse for the low currents of this process; use a smaller clamp, or, with \
             the machine off, pass the cable through it twice and calibrate",
        ),
        (
            Refusal::Confirm,
            "nobody agreed at the logger; hold both its buttons for two seconds when its light flickers",
        ),
    ];
    for (number, (refusal, words)) in (1..).zip(said) {
        assert_eq!(body(&Reply::Refused(refusal)), [0x81, 0x45, 7, number]);
        judge(Reply::Refused(refusal), true);
        assert_eq!(refusal.to_string(), words);
    }
}
