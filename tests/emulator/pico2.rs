//! The program of the board to buy: what it takes, and that the file to drop onto the board is that program, whole.

use crate::board::{built, wanted};
use crate::budget::{taken, within};
use coldsquare_image::board::PICO2;
use coldsquare_image::elf::segments;
use coldsquare_image::uf2::{BEGINS, BLOCK, ENDS, FAMILY_PRESENT, PAGE};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// The program and its file, built.
fn program_and_file() -> &'static (PathBuf, PathBuf) {
    static BUILT: OnceLock<(PathBuf, PathBuf)> = OnceLock::new();
    BUILT.get_or_init(|| {
        let said = built("pico2");
        let wrote = said.lines().find_map(|line| line.strip_prefix("wrote "));
        let file = PathBuf::from(wrote.unwrap_or_else(|| panic!("no file in: {said}")));
        (file.with_extension(""), file)
    })
}

fn read(path: &Path) -> Vec<u8> {
    std::fs::read(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn word(bytes: &[u8], at: usize) -> u32 {
    u32::from_le_bytes(bytes[at..at + 4].try_into().expect("four bytes"))
}

/// The pages that a file puts into flash, by address.
fn pages(file: &[u8]) -> BTreeMap<u32, &[u8]> {
    assert_eq!(file.len() % BLOCK, 0);
    let blocks = file.chunks_exact(BLOCK);
    let all = blocks.len() as u32;
    let mut pages = BTreeMap::new();
    for (number, block) in (0..).zip(blocks) {
        assert_eq!([word(block, 0), word(block, 4)], BEGINS, "block {number}");
        assert_eq!(word(block, 508), ENDS, "block {number}");
        assert_eq!(word(block, 8), FAMILY_PRESENT, "block {number}");
        assert_eq!(
            [word(block, 16), word(block, 20), word(block, 24)],
            [PAGE, number, all]
        );
        // RP2350, Arm, secure: value of its data sheet, 5.5.3.
        assert_eq!(word(block, 28), 0xE48B_FF59, "block {number}");
        let address = word(block, 12);
        assert_eq!(address % PAGE, 0, "{address:#x}");
        let end = address + PAGE - 1;
        assert!(
            PICO2.flash.contains(&address) && PICO2.flash.contains(&end),
            "{address:#x}"
        );
        let twice = pages.insert(address, &block[32..32 + PAGE as usize]);
        assert!(twice.is_none(), "{address:#x} twice");
    }
    pages
}

#[test]
fn the_file_to_drop_onto_the_board_holds_every_byte_of_its_program() {
    if !wanted() {
        return;
    }
    let (program, file) = program_and_file();
    let (program, file) = (read(program), read(file));
    let pages = pages(&file);
    let mut bytes = 0;
    for segment in segments(&program).expect("a program") {
        for (address, &wanted) in (segment.stored_at..).zip(segment.bytes) {
            let page = pages.get(&(address - address % PAGE));
            let found = page.map(|page| page[(address % PAGE) as usize]);
            assert_eq!(found, Some(wanted), "at {address:#x}");
            bytes += 1;
        }
    }
    assert!(bytes > 50_000, "{bytes} bytes are no logger");
}

/// What the boot ROM looks for (RP2350 data sheet, 5.9.5; values from memory): a block that says "a program, secure, Arm,
/// for this chip" in the first 4 KiB. And a stack and an entry where there is memory and flash.
#[test]
fn the_boot_program_of_the_board_finds_what_it_looks_for() {
    if !wanted() {
        return;
    }
    let file = read(&program_and_file().1);
    let first: Vec<u8> = pages(&file)
        .range(..PICO2.flash.start + 4096)
        .flat_map(|(_, page)| page.iter().copied())
        .collect();
    let (stack, entry) = (word(&first, 0), word(&first, 4));
    assert!(
        PICO2.memory.contains(&(stack - 1)) && stack % 8 == 0,
        "{stack:#x}"
    );
    assert!(PICO2.flash.contains(&entry) && entry % 2 == 1, "{entry:#x}");
    const DEFINITION: [u32; 5] = [0xFFFF_DED3, 0x1021_0142, 0x0000_01FF, 0, 0xAB12_3579];
    let at = (0..first.len() - 20)
        .step_by(4)
        .find(|&at| word(&first, at) == DEFINITION[0]);
    let at = at.expect("a block in the first 4 KiB");
    assert_eq!(
        [0, 4, 8, 12, 16].map(|offset| word(&first, at + offset)),
        DEFINITION
    );
}

#[test]
fn the_program_fits_its_budget_of_flash_and_memory() {
    if !wanted() {
        return;
    }
    let (flash, statics) = taken(&PICO2, &program_and_file().0);
    within("pico2: bytes of flash", flash, PICO2.max_flash);
    // A compiler that sees that a start must fail leaves all the rest out.
    assert!(
        flash > PICO2.max_flash / 2,
        "{flash} bytes are no logger: its start can only fail"
    );
    within(
        "pico2: bytes of memory, without the stack",
        statics,
        PICO2.max_statics,
    );
}
