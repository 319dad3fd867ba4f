//! UF2: a program in blocks of 512 bytes. Each block states where its bytes belong, so a board can accept the file as a disk
//! would (USB Flashing Format, version 1: the format's public specification, "File format").
//!
//! | bytes | |
//! |---|---|
//! | 0, 4 and 4, 4 | [`BEGINS`] |
//! | 8, 4 | flags: 0x2000, family present |
//! | 12, 4 | address of the bytes |
//! | 16, 4 | how many there are: 256, a page of flash |
//! | 20, 4 and 24, 4 | number of the block, and number of blocks |
//! | 28, 4 | family: the kind of chip |
//! | 32, 476 | the bytes, then zeros |
//! | 508, 4 | [`ENDS`] |

use crate::board::Board;
use crate::elf::Segment;
use std::collections::BTreeMap;

/// Bytes of a block.
pub const BLOCK: usize = 512;
/// Bytes of the program in a block: one page of flash.
pub const PAGE: u32 = 256;
/// The start of a block.
pub const BEGINS: [u32; 2] = [0x0A32_4655, 0x9E5D_5157];
/// The end of a block.
pub const ENDS: u32 = 0x0AB1_6F30;
/// The flag for a family.
pub const FAMILY_PRESENT: u32 = 0x2000;

/// Why there is no file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Uf2Error {
    /// The board does not accept UF2.
    Board,
    /// The segment at this address is not in the board's flash.
    Outside(u32),
}

impl std::fmt::Display for Uf2Error {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Board => f.write_str("this board does not accept UF2 files"),
            Self::Outside(address) => {
                write!(
                    f,
                    "the segment at {address:#010x} is not inside the board's flash"
                )
            }
        }
    }
}

impl std::error::Error for Uf2Error {}

/// The file of a program, in whole pages; unused bytes are zero.
///
/// # Errors
/// [`Uf2Error`].
pub fn file(board: &Board, segments: &[Segment<'_>]) -> Result<Vec<u8>, Uf2Error> {
    let family = board.family.ok_or(Uf2Error::Board)?;
    let mut pages = BTreeMap::new();
    for segment in segments {
        let room = board.flash.end.saturating_sub(segment.stored_at) as usize;
        if !segment.bytes.is_empty()
            && (segment.stored_at < board.flash.start || segment.bytes.len() > room)
        {
            return Err(Uf2Error::Outside(segment.stored_at));
        }
        for (address, &byte) in (segment.stored_at..).zip(segment.bytes) {
            let page = pages.entry(address / PAGE).or_insert([0; PAGE as usize]);
            page[(address % PAGE) as usize] = byte;
        }
    }
    let all = pages.len() as u32;
    let mut file = Vec::with_capacity(pages.len() * BLOCK);
    for (number, (page, bytes)) in (0..).zip(&pages) {
        let [first, second] = BEGINS;
        for word in [
            first,
            second,
            FAMILY_PRESENT,
            page * PAGE,
            PAGE,
            number,
            all,
            family,
        ] {
            file.extend(word.to_le_bytes());
        }
        file.extend(bytes);
        file.resize(file.len().next_multiple_of(BLOCK) - 4, 0);
        file.extend(ENDS.to_le_bytes());
    }
    Ok(file)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::{LM3S6965EVB, PICO2};

    fn segment(stored_at: u32, bytes: &[u8]) -> Segment<'_> {
        Segment {
            stored_at,
            runs_at: stored_at,
            bytes,
            room: bytes.len() as u32,
        }
    }

    #[test]
    fn segments_that_meet_in_a_page_share_it_and_a_block_has_the_bytes_of_the_specification() {
        let segments = [
            segment(0x1000_0000, &[1; 300]),
            segment(0x1000_012C, &[2, 3]),
        ];
        let file = file(&PICO2, &segments).unwrap();
        assert_eq!(file.len(), 2 * BLOCK);
        let second = &file[BLOCK..];
        assert_eq!(&second[..8], b"UF2\nWQ]\x9e");
        let words = [0x2000_u32, 0x1000_0100, 256, 1, 2, 0xE48B_FF59].map(u32::to_le_bytes);
        assert_eq!(&second[8..32], words.as_flattened());
        assert_eq!(&second[32..80], &[&[1; 44][..], &[2, 3, 0, 0]].concat());
        assert!(second[80..508].iter().all(|&byte| byte == 0));
        assert_eq!(&second[508..], [0x30, 0x6F, 0xB1, 0x0A]);
    }

    #[test]
    fn what_does_not_lie_in_the_flash_is_refused() {
        for (at, length) in [(0x2000_0000, 4), (0x0FFF_FFFF, 4), (0x103F_FFFD, 4)] {
            let bytes = vec![0; length];
            let refused = file(&PICO2, &[segment(at, &bytes)]);
            assert_eq!(refused, Err(Uf2Error::Outside(at)));
        }
        assert_eq!(
            file(&PICO2, &[segment(0x103F_FFFC, &[7; 4])])
                .unwrap()
                .len(),
            BLOCK
        );
        assert_eq!(file(&LM3S6965EVB, &[]), Err(Uf2Error::Board));
    }
}
