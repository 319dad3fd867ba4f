//! Flash, block by block: what is erased, and when, and in which order a cell is programmed.

use crate::cells::event;
use coldsquare_core::journal::CELL;
use coldsquare_core::record::EventKind;
use coldsquare_firmware::journal::flash::Flash;
use coldsquare_firmware::journal::{Journal, Medium};
use coldsquare_firmware::sim::MemoryFlash;
use coldsquare_firmware::store::{Store, StoreError};
use embedded_storage::nor_flash::{ErrorType, NorFlash, NorFlashErrorKind, ReadNorFlash};

const JOURNAL: u32 = 3;

/// Blocks that were erased since, by their number.
fn erased(flash: &mut Flash<MemoryFlash>, before: &[u32]) -> Vec<u32> {
    let now = flash.flash().erased.iter().zip(before);
    now.map(|(now, before)| now - before).collect()
}

#[test]
fn a_start_on_flash_erases_one_block_of_each_area_and_a_rest_no_more_than_is_needed() {
    const BLOCKS: usize = 35;
    let mut flash =
        Flash::new(MemoryFlash::new(BLOCKS, 1), 0, BLOCKS as u32 * 4096).expect("suits");
    let layout = Journal::prepare(&mut flash, JOURNAL, 128).expect("power is on");
    let kept = layout.retained().first / 8;
    let ring = layout.ring().first / 8;
    assert_eq!((kept, ring), (3, 19));
    let mut sequence = 0;
    // Ends at the beginning of a block, and inside it.
    for written in [0, 3, 8, 9, 16] {
        let before = flash.flash().erased.clone();
        let journal = Journal::mount(&mut flash).expect("prepared");
        assert_eq!(journal.resume().sequence, sequence);
        drop(journal);
        let (at, blocks) = (sequence.div_ceil(8), erased(&mut flash, &before));
        let by_start: Vec<_> = (0..BLOCKS as u32)
            .map(|block| u32::from(block == kept + at || block == ring + at))
            .collect();
        assert_eq!(blocks, by_start, "after {sequence} cells");
        let mut journal = Journal::mount(&mut flash).expect("prepared");
        while sequence < written {
            journal
                .append(&event(sequence, EventKind::PowerOn, 1))
                .expect("room");
            journal.sync().expect("it writes");
            journal.idle();
            sequence += 1;
        }
    }
    let mut journal = Journal::mount(&mut flash).expect("prepared");
    let before = journal.medium().flash().erased.clone();
    (0..1000).for_each(|_| journal.idle());
    drop(journal);
    // A quarter of 16 blocks of the ring, and four of the kept log; the first of each were erased by the start.
    let by_rest: Vec<_> = (0..BLOCKS as u32)
        .map(|block| {
            u32::from(
                (kept + 3..kept + 6).contains(&block) || (ring + 3..ring + 6).contains(&block),
            )
        })
        .collect();
    assert_eq!(erased(&mut flash, &before), by_rest);
    assert_eq!(flash.flash().misused, None);
}

#[test]
fn a_kept_log_of_one_block_is_erased_once() {
    let mut flash = Flash::new(MemoryFlash::new(10, 1), 0, 10 * 4096).expect("suits");
    let layout = Journal::prepare(&mut flash, JOURNAL, 0).expect("power is on");
    assert_eq!(layout.retained().cells, 8);
    let before = flash.flash().erased.clone();
    let mut journal = Journal::mount(&mut flash).expect("prepared");
    (0..100).for_each(|_| journal.idle());
    drop(journal);
    assert_eq!(erased(&mut flash, &before)[3], 1);
}

/// A bead that outlasts the erased blocks loses windows, and nothing else is said of it.
#[test]
fn flash_without_an_erased_block_stores_on_after_a_rest() {
    let mut flash = Flash::new(MemoryFlash::new(35, 1), 0, 35 * 4096).expect("suits");
    Journal::prepare(&mut flash, JOURNAL, 128).expect("power is on");
    let mut journal = Journal::mount(&mut flash).expect("prepared");
    let mut sequence = 0;
    let mut press = |journal: &mut Journal<_>| {
        let press = event(sequence, EventKind::PowerOn, 1);
        journal.append(&press).expect("room");
        sequence += 1;
        journal.sync()
    };
    // One block was erased at the start.
    for _ in 0..8 {
        assert_eq!(press(&mut journal), Ok(()));
    }
    assert_eq!(press(&mut journal), Err(StoreError::Fault));
    assert_eq!(journal.trouble(), None);
    (0..10).for_each(|_| journal.idle());
    assert_eq!(journal.sync(), Ok(()));
    assert_eq!(journal.trouble(), None);
    drop(journal);
    let journal = Journal::mount(&mut flash).expect("sound");
    assert_eq!(journal.resume().sequence, sequence);
}

/// What looks damaged while the end is looked for, and is whole a moment later, is not erased.
#[test]
fn kept_records_that_are_hard_to_read_are_not_erased() {
    let noted = Noted {
        flash: MemoryFlash::new(35, 1),
        programmed: Vec::new(),
        hazy: 0..0,
        left: 0,
    };
    let mut flash = Flash::new(noted, 0, 35 * 4096).expect("suits");
    let layout = Journal::prepare(&mut flash, JOURNAL, 128).expect("power is on");
    let mut journal = Journal::mount(&mut flash).expect("prepared");
    for sequence in 0..10 {
        journal.idle();
        journal
            .append(&event(sequence, EventKind::PowerOn, 1))
            .expect("room");
        journal.sync().expect("it writes");
    }
    drop(journal);
    // The ninth and the tenth cell lie in the second block. Each is read three times by each of two searches.
    let at = (layout.retained().first + 8) * CELL as u32;
    flash.flash().hazy = at..at + 2 * CELL as u32;
    let block = (at / 4096) as usize;
    for left in 0..=12 {
        flash.flash().left = left;
        let before = flash.flash().flash.erased[block];
        if let Ok(mut journal) = Journal::mount(&mut flash) {
            (0..10).for_each(|_| journal.idle());
        }
        assert_eq!(flash.flash().flash.erased[block], before, "{left}");
    }
    let journal = Journal::mount(&mut flash).expect("sound");
    assert_eq!(journal.resume().sequence, 10);
}

/// Flash that notes what is programmed, and some of which cannot be read well.
struct Noted {
    flash: MemoryFlash,
    programmed: Vec<(u32, usize)>,
    /// What is read here is wrong, so often.
    hazy: std::ops::Range<u32>,
    left: u32,
}

impl ErrorType for Noted {
    type Error = NorFlashErrorKind;
}

impl ReadNorFlash for Noted {
    const READ_SIZE: usize = MemoryFlash::READ_SIZE;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Self::Error> {
        self.flash.read(offset, bytes)?;
        if self.hazy.contains(&offset) && self.left > 0 {
            self.left -= 1;
            bytes.fill(0x5A);
        }
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.flash.capacity()
    }
}

impl NorFlash for Noted {
    const WRITE_SIZE: usize = MemoryFlash::WRITE_SIZE;
    const ERASE_SIZE: usize = MemoryFlash::ERASE_SIZE;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), Self::Error> {
        self.flash.erase(from, to)
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Self::Error> {
        self.programmed.push((offset, bytes.len()));
        self.flash.write(offset, bytes)
    }
}

/// A chip may program the words of one write in any order.
#[test]
fn the_checksum_of_a_cell_is_programmed_after_all_of_it() {
    let noted = Noted {
        flash: MemoryFlash::new(1, 1),
        programmed: Vec::new(),
        hazy: 0..0,
        left: 0,
    };
    let mut flash = Flash::new(noted, 0, 4096).expect("suits");
    flash.erase(0).expect("power is on");
    flash.write(1, &[0; CELL]).expect("blank");
    assert_eq!(flash.flash().programmed, [(512, 508), (1020, 4)]);
}
