//! Where a feed comes from.

use crate::uart::Uart;

/// The last quarter of the flash, which no program reaches.
const FEED_FLASH: core::ops::Range<usize> = 0x3_0000..0x4_0000;
/// What a feed in flash begins with.
const FEED_MARK: &[u8; 4] = b"FEED";

/// The source of a feed: UART 1, or the last quarter of the flash, where the emulator put it. Flash never waits, so the same
/// feed takes the same number of instructions each time.
#[derive(Debug)]
pub enum Feed {
    /// UART 1.
    Line(Uart),
    /// The address of the next byte.
    Flash(usize),
}

impl Feed {
    /// The feed in flash if there is one, otherwise UART 1.
    #[must_use]
    pub fn new() -> Self {
        let begins = (FEED_FLASH.start..).map(flash_byte);
        if begins
            .zip(FEED_MARK)
            .all(|(found, wanted)| found == *wanted)
        {
            Self::Flash(FEED_FLASH.start + FEED_MARK.len())
        } else {
            Self::Line(Uart::new(1))
        }
    }

    /// The next byte; waits for it.
    #[must_use]
    pub fn receive(&mut self) -> u8 {
        match self {
            Self::Line(uart) => uart.receive(),
            Self::Flash(at) => {
                let byte = flash_byte(*at);
                *at += 1;
                byte
            }
        }
    }
}

impl Default for Feed {
    fn default() -> Self {
        Self::new()
    }
}

/// A byte of the feed in flash; 0xFF past its end, which is not a message of a feed.
fn flash_byte(address: usize) -> u8 {
    if FEED_FLASH.contains(&address) {
        // SAFETY: it is flash, and flash may be read.
        unsafe { core::ptr::read_volatile(address as *const u8) }
    } else {
        0xFF
    }
}
