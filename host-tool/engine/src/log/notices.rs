//! Notes on events of the logger: its leads, converter, supply and memory.

use super::model::Log;
use coldsquare_core::record::EventKind;

/// A note on each kind of trouble in the log, with the time of the first and the count.
pub(super) fn notices(log: &Log) -> Vec<String> {
    let kinds = [
        EventKind::VoltageLeadOpen,
        EventKind::VoltageStuck,
        EventKind::CurrentStuck,
        EventKind::PowerFailing,
        EventKind::StoreFault,
        EventKind::StoreFull,
    ];
    let note = |kind| {
        let mut found = log.events.iter().filter(|event| event.kind == kind);
        let first = found.next()?;
        let more = match found.count() {
            0 => String::new(),
            more => format!(", and {more} more"),
        };
        let seconds = log.seconds(first.position).0;
        Some(format!("at {seconds:.1} s{more}: {}", describe(kind)?))
    };
    let restarts = log.markers.iter().filter_map(|marker| {
        let why = marker.note.strip_prefix(RESTARTED)?;
        let seconds = log.seconds(marker.position).0;
        Some(format!(
            "at {seconds:.1} s: the logger restarted by itself: {why}"
        ))
    });
    kinds.into_iter().filter_map(note).chain(restarts).collect()
}

/// What the note of a logger begins with that restarted by itself.
const RESTARTED: &str = "restarted: ";

const fn describe(kind: EventKind) -> Option<&'static str> {
    Some(match kind {
        EventKind::VoltageLeadOpen => {
            "current without voltage: a voltage lead was off, and the energy of that bead is too low"
        }
        EventKind::VoltageStuck => {
            "the voltage did not change by one count for a second: check the leads and the converter"
        }
        EventKind::CurrentStuck => {
            "the current did not change by one count for a second: check the clamp and the converter"
        }
        EventKind::PowerFailing => "the logger's supply voltage dropped",
        EventKind::StoreFault => {
            "the logger could not store records; the missing ones are counted above"
        }
        EventKind::StoreFull => "the logger's memory was full: nothing after this was stored",
        _ => return None,
    })
}
