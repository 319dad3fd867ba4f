//! Notes on events of the logger: its leads, converter, supply, card and memory.

use super::model::Log;
use crate::format::count;
use coldsquare_core::record::EventKind;
use coldsquare_core::trouble::Trouble;

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
    let troubles = log.markers.iter().filter_map(|marker| {
        let (trouble, beads) = Trouble::of_note(&marker.note)?;
        let seconds = log.seconds(marker.position).0;
        let told = with_the_card(trouble);
        let missing = match beads {
            0 => String::new(),
            beads => format!("; {} before it not stored", count(beads as usize, "bead")),
        };
        Some(format!("at {seconds:.1} s: {told}{missing}"))
    });
    let notes = kinds.into_iter().filter_map(note);
    notes.chain(restarts).chain(troubles).collect()
}

/// What the note of a logger begins with that restarted by itself.
const RESTARTED: &str = "restarted: ";

/// What was wrong with the card, until then.
const fn with_the_card(trouble: Trouble) -> &'static str {
    match trouble {
        Trouble::NoCard => "until then there was no card in the logger, and nothing was stored",
        Trouble::Unreadable => {
            "until then the logger's card could not be read, and nothing was stored"
        }
        Trouble::NotPrepared => {
            "until then the logger's card had no journal file, and nothing was stored"
        }
        Trouble::TooSmall => {
            "until then the logger's card was smaller than its file, and nothing was stored"
        }
        Trouble::Wraps => {
            "the logger's card has less room than it says: nothing more was stored, and nothing was written over; throw the card away"
        }
        Trouble::Locked => {
            "until then the logger's card took no writes: it was locked, or is worn out"
        }
        Trouble::OtherCard => {
            "until then another card was in the logger, or this one was written elsewhere meanwhile"
        }
        Trouble::Slow => {
            "the logger's card takes long to write, and readings may be lost meanwhile"
        }
        Trouble::Full => "until then the logger's memory was full",
        Trouble::Refuses => "until then the logger's memory refused records",
    }
}

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

#[cfg(test)]
mod tests;
