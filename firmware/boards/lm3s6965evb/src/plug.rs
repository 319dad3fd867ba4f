//! What a test does to the board: it pulls the plug, so that the emulator ends at a byte on the card's bus or at a reading,
//! or makes the program hang or overflow there, and has the card refuse reads. All this counts what the board does, so a test
//! can repeat the same instant.

use coldsquare_emulated::exit;
use core::cell::Cell;
use core::hint::black_box;

/// When the plug is pulled, or what else happens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pulled {
    Never,
    AtCardByte,
    AtCardByteWhileMeasuring,
    AtReading,
    HangsAtReading,
    OverflowsAtReading,
}

/// A plug that is in, and a card that may refuse reads.
#[derive(Debug)]
pub struct Plug {
    pulled: Pulled,
    measuring: Cell<bool>,
    left: Cell<u32>,
    /// Reads that the card answers before it refuses some, and how many it then refuses.
    answers: Cell<u32>,
    refuses: Cell<u32>,
    refused: Cell<u32>,
}

impl Plug {
    /// From a test: one byte for what to count until the plug is pulled, and how many; how many reads the card answers before
    /// it refuses some, and how many it then refuses. Numbers have 4 bytes, LE.
    #[must_use]
    pub fn from_feed(feed: &mut impl FnMut() -> u8) -> Self {
        let pulled = match feed() {
            1 => Pulled::AtCardByte,
            2 => Pulled::AtCardByteWhileMeasuring,
            3 => Pulled::AtReading,
            4 => Pulled::HangsAtReading,
            5 => Pulled::OverflowsAtReading,
            _ => Pulled::Never,
        };
        let mut number = || Cell::new(u32::from_le_bytes([(); 4].map(|()| feed())));
        Self {
            pulled,
            measuring: Cell::new(false),
            left: number(),
            answers: number(),
            refuses: number(),
            refused: Cell::new(0),
        }
    }

    /// The same plug, which stays in, and the card refuses nothing: what was to happen has happened.
    #[must_use]
    pub fn stays(self) -> Self {
        self.refuses.set(0);
        Self {
            pulled: Pulled::Never,
            ..self
        }
    }

    /// Whether the board measures.
    #[must_use]
    pub fn is_measuring(&self) -> bool {
        self.measuring.get()
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
        match self.pulled {
            Pulled::AtReading | Pulled::HangsAtReading | Pulled::OverflowsAtReading => self.count(),
            _ => {}
        }
    }

    /// A sector is about to be read: whether the card refuses it.
    pub fn refuses_read(&self) -> bool {
        if let Some(left) = self.answers.get().checked_sub(1) {
            self.answers.set(left);
            return false;
        }
        let Some(left) = self.refuses.get().checked_sub(1) else {
            return false;
        };
        self.refuses.set(left);
        self.refused.set(self.refused.get() + 1);
        true
    }

    /// How many reads were refused so far.
    #[must_use]
    pub fn refused(&self) -> u32 {
        self.refused.get()
    }

    fn count(&self) {
        match self.left.get().checked_sub(1) {
            Some(left) => self.left.set(left),
            None => self.happens(),
        }
    }

    fn happens(&self) {
        match self.pulled {
            Pulled::HangsAtReading => loop {
                cortex_m::asm::nop();
            },
            Pulled::OverflowsAtReading => {
                black_box(black_box(u32::MAX) + 1);
            }
            _ => exit(true),
        }
    }
}
