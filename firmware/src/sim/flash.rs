//! A NOR flash in memory whose power can go in the middle of a word and of an erase, and that notices what may not be
//! done to a real one.

use super::power::Power;
use embedded_storage::nor_flash::{
    ErrorType, NorFlash, NorFlashErrorKind, ReadNorFlash, check_erase, check_read, check_write,
};

/// Bytes that are erased at once.
const BLOCK: usize = 4096;
/// Bytes of a word.
const WORD: usize = 4;

/// Flash in memory.
#[derive(Clone, Debug)]
pub struct MemoryFlash {
    bytes: Vec<u8>,
    /// Words that were programmed since they were erased.
    programmed: Vec<bool>,
    /// Blocks whose erasing was cut off: whatever they read as, they hold nothing for sure.
    half_erased: Vec<bool>,
    /// Its power.
    pub power: Power,
    /// An arc burns: nothing may be erased.
    pub arc: bool,
    /// Bytes read so far.
    pub read: u64,
    /// Times each block was erased.
    pub erased: Vec<u32>,
    /// What was done that may not be done, if anything: the first such thing.
    pub misused: Option<&'static str>,
}

impl MemoryFlash {
    /// A flash of so many blocks that holds what the seed says: nobody erased it.
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

    /// The power goes while a block is erased: any of its bits may be as they were or be erased, and often all of them
    /// already read as erased.
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

    /// An erase takes as long as so many bytes of writing.
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

    /// When the power goes inside, the word that is being programmed holds some of its bits.
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
                let soiled = self.power.any_byte();
                self.bytes[at + done] &= word[done] | soiled;
                self.programmed[at / WORD] = true;
                return Err(NorFlashErrorKind::Other);
            }
        }
        Ok(())
    }
}
