//! What the firmware may cost: instructions a sample pair, flash, memory.

use crate::board::{Pace, program, run, wanted};
use crate::same_log::both;
use coldsquare_image::board::{Board, LM3S6965EVB};
use coldsquare_image::elf::segments;
use std::path::Path;

/// Bytes of memory: statics, and the stack at its deepest, where the plan (8 KiB) lives too; the chip has 64 KiB.
const MOST_MEMORY: u32 = 24 * 1024;
/// Instructions of one pair between two windows, in hundredths: from the front end's reading to the end of the turn,
/// with the shares of link, panel and plan.
const MOST_PER_100_PAIRS: u32 = 6_000;
/// The same over a second of welding at 10 000 pairs a second, ten windows closed, looked through and written in it.
const MOST_PER_100_PAIRS_OF_A_SECOND: u32 = 6_600;
/// Instructions of the longest turn of the loop: a bead ends, and three records are made of it.
const MOST_IN_A_TURN: u32 = 8_000;

/// Prints a measured number, and panics when it is more than its budget.
pub fn within(name: &str, found: u32, most: u32) {
    println!("{name}: {found} of {most}");
    assert!(
        found > 0 && found <= most,
        "{name}: {found}, more than {most}"
    );
}

/// Flash and static memory that a program takes on a board.
pub fn taken(board: &Board, program: &Path) -> (u32, u32) {
    let file = std::fs::read(program).expect("the program was built");
    board.taken(&segments(&file).expect("a program"))
}

#[test]
fn the_logger_fits_its_budget_of_instructions() {
    if !wanted() {
        return;
    }
    let sent = run(&program("instructions"), Pace::Counted, Vec::new());
    for name in ["dark_per_100_pairs", "burning_per_100_pairs"] {
        within(name, sent.number(name), MOST_PER_100_PAIRS);
    }
    within(
        "second_per_100_pairs",
        sent.number("second_per_100_pairs"),
        MOST_PER_100_PAIRS_OF_A_SECOND,
    );
    within("longest_turn", sent.number("longest_turn"), MOST_IN_A_TURN);
}

#[test]
fn the_logger_fits_its_budget_of_flash_and_memory() {
    if !wanted() {
        return;
    }
    let logger = program("logger");
    let (flash, statics) = taken(&LM3S6965EVB, &logger);
    within("flash_bytes", flash, LM3S6965EVB.most_flash);
    let stack = both().1.number("stack_bytes");
    within("memory_bytes", statics + stack, MOST_MEMORY);
}
