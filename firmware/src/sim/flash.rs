//! A simulated NOR flash whose power can fail in the middle of a word or an erase, and that detects misuse.

use super::power::Power;
use embedded_storage::nor_flash::{
    ErrorType, NorFlash, NorFlashErrorKind, ReadNorFlash, check_erase, check_read, check_write,
};

/// Bytes of a block, the smallest part that can be erased.
const BLOCK: usize = 4096;
/// Bytes of a word.
const WORD: usize = 4;

/// Flash in memory.
#[derive(Clone, Debug)]
pub struct MemoryFlash {
    bytes: Vec<u8>,
    /// Words programmed since they were erased.
    programmed: Vec<bool>,
    /// Blocks whose erasing was interrupted: whatever they read as is unreliable.
    half_erased: Vec<bool>,
    /// Its power.
    pub power: Power,
    /// The arc burns, so nothing may be erased.
    pub arc: bool,
    /// Bytes read so far.
    pub read: u64,
    /// How often each block was erased.
    pub erased: Vec<u32>,
    /// The first misuse, if any.
    pub misused: Option<&'static str>,
}

impl MemoryFlash {
    /// A flash with this many blocks, never erased, with random content.
    #[must_use]
    pub fn new(blocks: usize, seed: u64) -> Self {
        let mut power = Power::new(seed);
        Self {
            bytes: (0..blocks * BLOCK).map(|_| power.any_byte()).collect(),
            programmed: vec![true; blocks * BLOCK / WORD],
            half_erased: vec![false; blocks],
            power,
            arc: false,
            read: 0,
            erased: vec![0; blocks],
            misused: None,
        }
    }

    fn misuse(&mut self, what: &'static str) {
        self.misused.get_or_insert(what);
    }

    /// The power fails while a block is erased: each bit may be as it was or erased, and often all of them already read as
    /// erased.
    fn half_erase(&mut self, block: usize) {
        let looks_blank = self.power.once_in(3);
        for byte in &mut self.bytes[block * BLOCK..(block + 1) * BLOCK] {
            *byte |= if looks_blank {
                0xFF
            } else {
                self.power.any_byte()
            };
        }
        self.half_erased[block] = true;
    }
}

impl ErrorType for MemoryFlash {
    type Error = NorFlashErrorKind;
}

impl ReadNorFlash for MemoryFlash {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Self::Error> {
        check_read(self, offset, bytes.len())?;
        if self.power.is_gone() {
            return Err(NorFlashErrorKind::Other);
        }
        self.read += bytes.len() as u64;
        let from = offset as usize;
        bytes.copy_from_slice(&self.bytes[from..from + bytes.len()]);
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.bytes.len()
    }
}

impl NorFlash for MemoryFlash {
    const WRITE_SIZE: usize = WORD;
    const ERASE_SIZE: usize = BLOCK;

    /// Erasing a block takes as long as writing its bytes.
    fn erase(&mut self, from: u32, to: u32) -> Result<(), Self::Error> {
        check_erase(self, from, to)?;
        if self.arc {
            self.misuse("erased while an arc burns");
        }
        for block in from as usize / BLOCK..to as usize / BLOCK {
            if self.power.is_gone() {
                return Err(NorFlashErrorKind::Other);
            }
            if self.power.spend(BLOCK) < BLOCK {
                self.half_erase(block);
                return Err(NorFlashErrorKind::Other);
            }
            self.bytes[block * BLOCK..(block + 1) * BLOCK].fill(0xFF);
            self.programmed[block * BLOCK / WORD..(block + 1) * BLOCK / WORD].fill(false);
            self.half_erased[block] = false;
            self.erased[block] += 1;
        }
        Ok(())
    }

    /// If the power fails during it, the word being programmed has some of its bits.
    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Self::Error> {
        check_write(self, offset, bytes.len())?;
        for (index, word) in bytes.chunks_exact(WORD).enumerate() {
            if self.power.is_gone() {
                return Err(NorFlashErrorKind::Other);
            }
            let at = offset as usize + index * WORD;
            if self.programmed[at / WORD] {
                self.misuse("programmed a word twice");
            }
            if self.half_erased[at / BLOCK] {
                self.misuse("programmed a block whose erasing was cut off");
            }
            let done = self.power.spend(WORD);
            self.programmed[at / WORD] |= done > 0;
            for (byte, &new) in self.bytes[at..at + done].iter_mut().zip(word) {
                *byte &= new;
            }
            if done < WORD {
                let torn = self.power.any_byte();
                self.bytes[at + done] &= word[done] | torn;
                self.programmed[at / WORD] = true;
                return Err(NorFlashErrorKind::Other);
            }
        }
        Ok(())
    }
}
