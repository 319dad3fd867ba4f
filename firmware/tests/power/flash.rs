//! Flash: words programmed in part, blocks erased in part, and nothing done to it that may not be.

use crate::life::{Life, Tally};
use coldsquare_core::journal::CELL;
use coldsquare_firmware::journal::flash::Flash;
use coldsquare_firmware::journal::{Journal, Medium, MediumError};
use coldsquare_firmware::sim::MemoryFlash;
use embedded_storage::nor_flash::{ErrorType, NorFlash, NorFlashErrorKind, ReadNorFlash};

/// Blocks of the journal in these lives, and before and behind it.
const BLOCKS: u32 = 24;
const AROUND: u32 = 1;
const BLOCK: u32 = 4096;

#[test]
fn flash_keeps_what_it_said_it_had_stored_through_any_cut() {
    let mut tally = Tally::default();
    let only = crate::only_seed();
    let mut seed = only.unwrap_or(0);
    let cuts = crate::cuts(1000);
    let mut most_erased = 0;
    while tally.cuts < cuts {
        let flash = MemoryFlash::new((BLOCKS + 2 * AROUND) as usize, seed);
        let from = AROUND * BLOCK;
        let mut flash = Flash::new(flash, from, from + BLOCKS * BLOCK).expect("suits");
        Journal::prepare(&mut flash, seed as u32, 150).expect("power is on");
        let life = Life {
            seed,
            starts: 40,
            bytes: 40_000,
            sound: true,
            patchy: false,
        };
        life.live(&mut flash, &mut tally)
            .unwrap_or_else(|what| panic!("flash: {what}"));
        let flash = flash.flash();
        assert_eq!(flash.misused, None, "seed {seed}");
        assert_eq!(
            (flash.erased[0], flash.erased[BLOCKS as usize + 1]),
            (0, 0),
            "seed {seed}"
        );
        most_erased = most_erased.max(flash.erased.iter().copied().max().unwrap_or(0));
        seed += 1;
        if only.is_some() {
            break;
        }
    }
    println!("flash: {tally:?} in {seed} lives, a block erased {most_erased} times at most");
    if only.is_none() {
        assert!(tally.windows_dropped > 0 && tally.full > 0, "{tally:?}");
    }
}

/// Flash with a bit that cannot be programmed any more.
struct Worn {
    flash: MemoryFlash,
    /// The byte that it is in.
    at: u32,
}

impl ErrorType for Worn {
    type Error = NorFlashErrorKind;
}

impl ReadNorFlash for Worn {
    const READ_SIZE: usize = MemoryFlash::READ_SIZE;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Self::Error> {
        self.flash.read(offset, bytes)?;
        let inside = self.at.checked_sub(offset).map(|inside| inside as usize);
        if let Some(byte) = inside.and_then(|inside| bytes.get_mut(inside)) {
            *byte |= 0x10;
        }
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.flash.capacity()
    }
}

impl NorFlash for Worn {
    const WRITE_SIZE: usize = MemoryFlash::WRITE_SIZE;
    const ERASE_SIZE: usize = MemoryFlash::ERASE_SIZE;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), Self::Error> {
        self.flash.erase(from, to)
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Self::Error> {
        self.flash.write(offset, bytes)
    }
}

/// The chip says that all is well; only reading it back shows that it is not.
#[test]
fn what_flash_did_not_take_is_noticed_when_it_is_read_back() {
    let worn = Worn {
        flash: MemoryFlash::new(1, 1),
        at: 700,
    };
    let mut flash = Flash::new(worn, 0, BLOCK).expect("suits");
    flash.erase(0).expect("power is on");
    assert_eq!(flash.write(0, &[0; CELL]), Ok(()));
    assert_eq!(flash.write(1, &[0; CELL]), Err(MediumError::Fault));
    assert_eq!(flash.write(2, &[0; CELL]), Ok(()));
    // And what is there is not written over.
    assert_eq!(flash.write(0, &[0; CELL]), Err(MediumError::NotBlank));
}
