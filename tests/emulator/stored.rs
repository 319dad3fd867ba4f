//! Readings in over a UART as fast as the emulated logger takes them, its journal on a card; the card is read here.

use crate::board::{Pace, program, run_with, wanted};
use crate::budget::within;
use crate::card::Image;
use crate::same_log::{fed, records};
use coldsquare_core::record::{MAX_FRAME, Record, encode};
use coldsquare_tests::command;

/// A plug that stays in, and a card that refuses nothing.
pub const STAYS: [u8; 13] = [0; 13];
/// Instructions from the first byte of the card to a journal that can be written, on an empty one of 16 MiB.
const MAX_TO_MOUNT: u32 = 16_000_000;

/// The data of the weld map that the command makes of a log.
fn map_of(log: &[u8]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name);
    std::fs::write(path("gate.toml"), coldsquare_engine::example::GARDEN_GATE).expect("written");
    std::fs::write(path("weld.log"), log).expect("written");
    let [job, log, out] = ["gate.toml", "weld.log", "map.json"]
        .map(|name| path(name).to_str().expect("a plain path").to_owned());
    let ran = command::coldsquare(["map", &job, &log, "--out", &out]);
    let map = std::fs::read_to_string(path("map.json"));
    map.unwrap_or_else(|_| panic!("{ran:?}"))
}

#[test]
fn the_log_on_the_card_is_the_log_of_this_process() {
    if !wanted() {
        return;
    }
    let (here, feed) = fed();
    let folder = tempfile::tempdir().expect("a folder");
    let card = Image::of_4_gib(folder.path(), 32_768);
    let sent = run_with(
        &program("journal"),
        Pace::Counted,
        [&STAYS[..], &feed].concat(),
        &card.drive(),
    );
    let log = card.log();
    assert!(
        here == log,
        "{} bytes here, {} on the card",
        here.len(),
        log.len()
    );
    let map = map_of(&log);
    assert!(map.contains("\"energy"), "{map}");
    assert!(map == map_of(&here));
    // What stays was told when it was stored.
    let mut kept = Vec::new();
    for (sequence, record) in (0..).zip(records(&here)) {
        if !matches!(record, Record::Window(_)) {
            let mut frame = [0; MAX_FRAME];
            let length = encode(sequence, &record, &mut frame).expect("as it was");
            kept.extend_from_slice(&frame[..length]);
        }
    }
    assert!(kept == sent.log, "{} bytes were told", sent.log.len());
    within(
        "Cortex-M3: instructions of finding the journal's end",
        sent.number("mount_instructions"),
        MAX_TO_MOUNT,
    );
}
