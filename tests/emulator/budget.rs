//! What the firmware may cost: instructions a sample pair, flash, memory.

use crate::board::{Pace, Sent, built, program, run, run_from_flash, run_m33, wanted};
use crate::card::Image;
use crate::pulled_plug::shift;
use crate::same_log::both;
use crate::stored::STAYS;
use coldsquare_image::board::{Board, LM3S6965EVB, PICO2};
use coldsquare_image::elf::segments;
use std::path::Path;

/// Bytes of memory: statics, and the stack at its deepest, where the plan (8 KiB) lives too; the chip has 64 KiB.
const MAX_MEMORY: u32 = 24 * 1024;
/// Instructions of one pair between two windows, in hundredths: from the front end's reading to the end of the turn,
/// with the shares of link, panel and plan.
const MAX_PER_100_PAIRS: u32 = 6_000;
/// The same over a second of welding at 10 000 pairs a second, ten windows closed, looked through and written in it.
const MAX_PER_100_PAIRS_OF_A_SECOND: u32 = 6_600;
/// Instructions of the longest turn of the loop: a bead ends, and three records are made of it.
const MAX_IN_A_TURN: u32 = 8_000;

/// The same on a Cortex-M33, for which the compiler orders instructions by the time they take, and needs a few more.
const MAX_PER_100_PAIRS_M33: u32 = 7_000;
const MAX_PER_100_PAIRS_OF_A_SECOND_M33: u32 = 7_600;
/// Share of one core of the board to buy at 10 000 pairs a second, in hundredths of a per cent, at one clock an
/// instruction. Flash behind a cache may make that two.
const MAX_OF_ITS_CORE: u32 = 60;

/// Instructions from a journal that is found to a logger that measures: its first records are written.
const MAX_TO_START: u32 = 400_000;
/// The same with a seal, for which a key is made and a signature.
const MAX_TO_START_SEALED: u32 = 4_000_000;
/// Bytes of flash with a seal.
const MAX_FLASH_SEALED: u32 = 124 * 1024;
/// Bytes of stack of a logger with its journal on a card, and of one that seals.
const MAX_STACK: u32 = 32 * 1024;
const MAX_STACK_SEALED: u32 = 52 * 1024;

/// Prints a measured number and leaves it in `target/figures` for whoever makes a table; panics when it is more than its
/// budget.
pub fn within(name: &str, found: u32, most: u32) {
    println!("{name}: {found} of {most}");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).with_file_name("figures");
    let file = name.replace(|c: char| !c.is_ascii_alphanumeric(), "-");
    std::fs::create_dir_all(&folder)
        .and_then(|()| std::fs::write(folder.join(file), format!("{name}\t{found}\t{most}\n")))
        .expect("the target folder can be written");
    assert!(
        found > 0 && found <= most,
        "{name}: {found}, more than {most}"
    );
}

/// Flash and static memory that a program takes on a board.
pub fn taken(board: &Board, program: &Path) -> (u32, u32) {
    let file = std::fs::read(program).expect("the program was built");
    board.usage(&segments(&file).expect("a program"))
}

#[test]
fn the_logger_fits_its_budget_of_instructions() {
    if !wanted() {
        return;
    }
    let sent = run(&program("instructions"), Pace::Counted, Vec::new());
    counted(
        "Cortex-M3",
        &sent,
        MAX_PER_100_PAIRS,
        MAX_PER_100_PAIRS_OF_A_SECOND,
    );
}

#[test]
fn the_logger_fits_its_budget_of_the_processor_of_the_board_to_buy() {
    if !wanted() {
        return;
    }
    let sent = run_m33(Path::new(built("m33").trim()));
    counted(
        "Cortex-M33",
        &sent,
        MAX_PER_100_PAIRS_M33,
        MAX_PER_100_PAIRS_OF_A_SECOND_M33,
    );
    let a_second = u64::from(sent.number("second_per_100_pairs")) * 10_000 / 100;
    let share = (a_second * 10_000).div_ceil(PICO2.clock_hz.into());
    within(
        "pico2: share of one core at 10 000 pairs a second, in 0.01 %",
        u32::try_from(share).expect("less than all"),
        MAX_OF_ITS_CORE,
    );
}

/// Holds what was counted on a processor to its budget.
fn counted(processor: &str, sent: &Sent, most_between: u32, most_of_a_second: u32) {
    for (what, name, most) in [
        ("100 pairs, no arc", "dark_per_100_pairs", most_between),
        ("100 pairs, arc", "burning_per_100_pairs", most_between),
        (
            "100 pairs of a second, windows too",
            "second_per_100_pairs",
            most_of_a_second,
        ),
        ("the longest turn", "longest_turn", MAX_IN_A_TURN),
    ] {
        let title = format!("{processor}: instructions of {what}");
        within(&title, sent.number(name), most);
    }
}

/// A logger with its journal on a card, in a build: until it measures, and how deep its stack becomes.
struct Started {
    instructions: u32,
    stack: u32,
}

/// Of three starts the longest: on an empty journal, and twice after three beads.
fn started(program: &Path) -> Started {
    let (feed, _) = shift(1);
    let folder = tempfile::tempdir().expect("a folder");
    let card = Image::of_64_mib(folder.path(), 4000);
    let mut most = Started {
        instructions: 0,
        stack: 0,
    };
    for _ in 0..3 {
        let sent = run_from_flash(program, &[&STAYS[..], &feed].concat(), &card.drive());
        most.instructions = most.instructions.max(sent.number("start_instructions"));
        most.stack = most.stack.max(sent.number("stack_bytes"));
    }
    most
}

/// Both builds write to a card here, which the budget of a logger without one does not count.
#[test]
fn a_logger_that_seals_fits_a_budget_of_its_own() {
    if !wanted() {
        return;
    }
    let plain = started(&program("journal"));
    within(
        "Cortex-M3: instructions from the journal to the first reading",
        plain.instructions,
        MAX_TO_START,
    );
    let folder = built("sealed");
    let folder = Path::new(folder.trim());
    let (flash, _) = taken(&LM3S6965EVB, &folder.join("logger"));
    within(
        "lm3s6965evb: bytes of flash, sealed",
        flash,
        MAX_FLASH_SEALED,
    );
    let sealed = started(&folder.join("journal"));
    within(
        "Cortex-M3: instructions from the journal to the first reading, sealed",
        sealed.instructions,
        MAX_TO_START_SEALED,
    );
    within("Cortex-M3: bytes of stack, card", plain.stack, MAX_STACK);
    within(
        "Cortex-M3: bytes of stack, card, sealed",
        sealed.stack,
        MAX_STACK_SEALED,
    );
}

#[test]
fn the_logger_fits_its_budget_of_flash_and_memory() {
    if !wanted() {
        return;
    }
    let logger = program("logger");
    let (flash, statics) = taken(&LM3S6965EVB, &logger);
    within("lm3s6965evb: bytes of flash", flash, LM3S6965EVB.max_flash);
    let stack = both().1.number("stack_bytes");
    within(
        "lm3s6965evb: bytes of memory, stack too",
        statics + stack,
        MAX_MEMORY,
    );
}
