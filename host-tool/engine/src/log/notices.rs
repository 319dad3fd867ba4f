//! What the logger noticed about its leads, its converter and its store, where no bead shows it.

use super::model::Log;
use coldsquare_core::record::EventKind;

/// A word on each kind of trouble that is in the log, with the time of the first and how many there are.
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
            more => format!(", and {more} more times"),
        };
        let seconds = log.seconds(first.position).0;
        Some(format!("at {seconds:.1} s{more}: {}", words(kind)?))
    };
    kinds.into_iter().filter_map(note).collect()
}

const fn words(kind: EventKind) -> Option<&'static str> {
    Some(match kind {
        EventKind::VoltageLeadOpen => {
            "current flowed without voltage: a voltage lead was off, and the energy of that bead is too small"
        }
        EventKind::VoltageStuck => {
            "the voltage stood still on one count for a second: look at lead and converter"
        }
        EventKind::CurrentStuck => {
            "the current stood still on one count for a second: look at clamp and converter"
        }
        EventKind::PowerFailing => "the logger's supply was failing",
        EventKind::StoreFault => {
            "the logger's store refused records; what is missing is counted above"
        }
        EventKind::StoreFull => "the logger's store was full: nothing after this was stored",
        _ => return None,
    })
}
