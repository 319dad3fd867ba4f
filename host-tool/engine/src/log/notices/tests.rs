//! Each kind of trouble that the logger tells is told on, once, with its time and how often.

use super::*;
use crate::log::tests::log_of;
use coldsquare_core::record::{Event, Marker, MarkerKind};

fn event(position: u64, kind: EventKind) -> Event {
    Event {
        position,
        kind,
        value: 0,
    }
}

#[test]
fn every_kind_of_trouble_is_told_and_what_is_none_is_not() {
    use EventKind as Kind;
    // The log has 2000 samples a second.
    let of = |kind| {
        let mut log = log_of(Vec::new());
        log.events = vec![event(3000, kind)];
        notices(&log).join("; ")
    };
    for (kind, said) in [
        (Kind::VoltageLeadOpen, "a voltage lead was off"),
        (Kind::VoltageStuck, "the voltage did not change"),
        (Kind::CurrentStuck, "the current did not change"),
        (Kind::PowerFailing, "supply voltage dropped"),
        (Kind::StoreFault, "could not store records"),
        (Kind::StoreFull, "memory was full"),
    ] {
        let told = of(kind);
        assert!(
            told.starts_with("at 1.5 s: ") && told.contains(said),
            "{kind:?}: {told}"
        );
    }
    for kind in [
        Kind::PowerOn,
        Kind::ClockSet,
        Kind::VoltageClipped,
        Kind::StoreCleared,
    ] {
        assert_eq!(of(kind), "", "{kind:?}");
    }
}

#[test]
fn trouble_of_one_kind_is_told_once_with_the_first_time_and_the_count() {
    let mut log = log_of(Vec::new());
    log.events = vec![
        event(3000, EventKind::PowerFailing),
        event(4000, EventKind::StoreFull),
        event(5000, EventKind::PowerFailing),
        event(6000, EventKind::PowerFailing),
    ];
    assert_eq!(
        notices(&log),
        [
            "at 1.5 s, and 2 more: the logger's supply voltage dropped",
            "at 2.0 s: the logger's memory was full: nothing after this was stored",
        ]
    );
}

#[test]
fn a_logger_that_restarted_or_lacked_its_card_says_so() {
    let mut log = log_of(Vec::new());
    let note = |position, note: &str| Marker {
        position,
        kind: MarkerKind::Note,
        weld: None,
        note: note.try_into().expect("fits"),
    };
    log.markers = vec![
        note(2000, "card: locked, 1 beads not stored"),
        note(3000, "card: full, 12 beads not stored"),
        note(4000, "card: slow"),
        note(5000, "restarted: watchdog"),
        note(6000, "card of the shop"),
    ];
    assert_eq!(
        notices(&log),
        [
            "at 2.5 s: the logger restarted by itself: watchdog",
            "at 1.0 s: until then the logger's card took no writes: it was locked, or is worn out; 1 bead before it not stored",
            "at 1.5 s: until then the logger's memory was full; 12 beads before it not stored",
            "at 2.0 s: the logger's card takes long to write, and readings may be lost meanwhile",
        ]
    );
}
