//! The plug, which a test pulls: the emulator ends at a byte on the card's bus or at a reading. It counts what the board
//! does, so a test can repeat the same instant.

use crate::exit;
use core::cell::Cell;

/// When the plug is pulled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pulled {
    Never,
    AtCardByte,
    AtCardByteWhileMeasuring,
    AtReading,
}

/// A plug that is in.
#[derive(Debug)]
pub struct Plug {
    pulled: Pulled,
    measuring: Cell<bool>,
    left: Cell<u32>,
}

impl Plug {
    /// From a test: one byte for what to count, and how many (4 bytes, LE).
    #[must_use]
    pub fn from_feed(feed: &mut impl FnMut() -> u8) -> Self {
        let pulled = match feed() {
            1 => Pulled::AtCardByte,
            2 => Pulled::AtCardByteWhileMeasuring,
            3 => Pulled::AtReading,
            _ => Pulled::Never,
        };
        let left = u32::from_le_bytes([(); 4].map(|()| feed()));
        Self {
            pulled,
            measuring: Cell::new(false),
            left: Cell::new(left),
        }
    }

    /// The board measures from now on.
    pub fn measuring(&self) {
        self.measuring.set(true);
    }

    /// A byte goes over the card's bus.
    pub fn card_byte(&self) {
        match self.pulled {
            Pulled::AtCardByte => self.count(),
            Pulled::AtCardByteWhileMeasuring if self.measuring.get() => self.count(),
            _ => {}
        }
    }

    /// A reading is taken.
    pub fn reading(&self) {
        if self.pulled == Pulled::AtReading {
            self.count();
        }
    }

    fn count(&self) {
        match self.left.get().checked_sub(1) {
            Some(left) => self.left.set(left),
            None => exit(true),
        }
    }
}
