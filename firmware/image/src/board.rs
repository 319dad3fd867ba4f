//! The boards: their memories, their speed, and how much of it a logger may use.

use crate::elf::Segment;
use std::ops::Range;

/// A board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Board {
    /// Its name, that of its folder in `firmware/boards`.
    pub name: &'static str,
    /// Addresses of the flash.
    pub flash: Range<u32>,
    /// Addresses of the memory.
    pub memory: Range<u32>,
    /// Clock of the processor, Hz.
    pub clock_hz: u32,
    /// The UF2 family that its boot program accepts, if any.
    pub family: Option<u32>,
    /// Bytes of flash that a logger may use.
    pub max_flash: u32,
    /// Bytes of memory that its statics may use.
    pub max_statics: u32,
}

/// The emulated board: LM3S6965, Cortex-M3. Its budget includes the stack, which the emulator can measure.
pub const LM3S6965EVB: Board = Board {
    name: "lm3s6965evb",
    flash: 0x0000_0000..0x0004_0000,
    memory: 0x2000_0000..0x2001_0000,
    clock_hz: 12_500_000,
    family: None,
    max_flash: 96 * 1024,
    max_statics: 24 * 1024,
};

/// The second emulated board: STM32F405, Cortex-M4 with a floating-point unit. Its flash has the budget of the first; its
/// statics hold a queue.
pub const NETDUINOPLUS2: Board = Board {
    name: "netduinoplus2",
    flash: 0x0800_0000..0x0810_0000,
    memory: 0x2000_0000..0x2002_0000,
    clock_hz: 168_000_000,
    family: None,
    max_flash: 96 * 1024,
    max_statics: 36 * 1024,
};

/// The board to buy: RP2350, two Cortex-M33, 4 MiB of flash. Of its memory, 96 KiB hold waiting readings and 16 KiB the
/// stack of the second core; of its flash, the seal takes 50 KiB. The family is that of secure Arm programs (RP2350 data sheet, 5.5.3).
pub const PICO2: Board = Board {
    name: "pico2",
    flash: 0x1000_0000..0x1040_0000,
    memory: 0x2000_0000..0x2008_0000,
    clock_hz: 150_000_000,
    family: Some(0xE48B_FF59),
    max_flash: 204 * 1024,
    max_statics: 128 * 1024,
};

impl Board {
    /// The board of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static Self> {
        const ALL: [Board; 3] = [LM3S6965EVB, NETDUINOPLUS2, PICO2];
        const { &ALL }.iter().find(|board| board.name == name)
    }

    /// Bytes of flash and of static memory that a program uses.
    #[must_use]
    pub fn usage(&self, segments: &[Segment<'_>]) -> (u32, u32) {
        let flash = segments.iter().map(|segment| segment.bytes.len() as u32);
        let statics = segments
            .iter()
            .filter(|segment| self.memory.contains(&segment.runs_at))
            .map(|segment| segment.room);
        (flash.sum(), statics.sum())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Initialised data uses flash and memory, zeroed data memory only, code flash only.
    #[test]
    fn a_segment_counts_where_it_lies_and_where_it_runs() {
        let bytes = [0; 100];
        let segment = |runs_at, length, room| Segment {
            stored_at: 0x1000_0000,
            runs_at,
            bytes: &bytes[..length],
            room,
        };
        let code = segment(0x1000_0000, 100, 100);
        let begins = segment(0x2000_0000, 7, 8);
        let zero = segment(0x2007_FFFF, 0, 1);
        assert_eq!(PICO2.usage(&[code, begins, zero]), (107, 9));
        assert_eq!(Board::named("pico2"), Some(&PICO2));
        assert_eq!(Board::named("lm3s6965evb"), Some(&LM3S6965EVB));
        assert_eq!(Board::named("netduinoplus2"), Some(&NETDUINOPLUS2));
        assert_eq!(Board::named("pico"), None);
    }
}
