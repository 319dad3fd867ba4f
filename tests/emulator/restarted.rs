//! The emulated logger hangs, or a number in it overflows: the watchdog, or the panic, resets the chip. The next start finds
//! the log on the card as it was, goes on, and says in the log why it started.

use crate::board::{program, run_from_flash, wanted};
use crate::card::Image;
use crate::pulled_plug::{frames, shift};
use crate::same_log::records;
use coldsquare_core::record::{EventKind, MarkerKind, Record};
use std::collections::HashSet;

/// What happens at a reading, as the board is told.
const HANGS: u8 = 4;
const OVERFLOWS: u8 = 5;

/// The log on the card after the board was restarted at two thirds of its readings.
fn log_after(what: u8) -> Vec<Record> {
    let (feed, readings) = shift(1);
    let [a, b, c, d] = (readings * 2 / 3).to_le_bytes();
    let plug = [what, a, b, c, d, 0, 0, 0, 0, 0, 0, 0, 0];
    let folder = tempfile::tempdir().expect("a folder");
    let image = Image::of_64_mib(folder.path(), 1024);
    let feed = [&plug[..], &feed].concat();
    let sent = run_from_flash(&program("journal"), &feed, &image.drive());
    assert!(sent.says("restarted") && sent.says("stack_bytes"));
    let log = image.log();
    let stored: HashSet<&[u8]> = frames(&log).collect();
    assert!(
        frames(&sent.log).all(|frame| stored.contains(frame)),
        "what was reported as stored is lost"
    );
    records(&log)
}

fn starts_and_notes(log: &[Record]) -> (Vec<i64>, Vec<String>, Vec<u32>) {
    let (mut starts, mut notes, mut beads) = (Vec::new(), Vec::new(), Vec::new());
    for record in log {
        match record {
            Record::Event(event) if event.kind == EventKind::PowerOn => starts.push(event.value),
            Record::Marker(marker) if marker.kind == MarkerKind::Note => {
                assert_eq!(starts.len(), 2, "the second start says so");
                notes.push(marker.note.to_string());
            }
            Record::Bead(bead) => beads.push(bead.number),
            _ => {}
        }
    }
    (starts, notes, beads)
}

#[test]
fn a_logger_that_hangs_is_restarted_by_its_watchdog_and_says_so() {
    if !wanted() {
        return;
    }
    let (starts, notes, beads) = starts_and_notes(&log_after(HANGS));
    assert_eq!(starts, [1, 2]);
    assert_eq!(notes, ["restarted: watchdog, nothing moved for seconds"]);
    // One or two beads before, three after, counted on.
    assert!(beads.len() >= 4 && beads.is_sorted(), "{beads:?}");
}

#[test]
fn a_logger_in_which_a_number_overflows_starts_again_and_says_where() {
    if !wanted() {
        return;
    }
    let (starts, notes, beads) = starts_and_notes(&log_after(OVERFLOWS));
    assert_eq!(starts, [1, 2]);
    assert_eq!(notes.len(), 1);
    assert!(
        notes[0].starts_with("restarted: panic at plug.rs  line "),
        "{notes:?}"
    );
    assert!(beads.len() >= 4 && beads.is_sorted(), "{beads:?}");
}
