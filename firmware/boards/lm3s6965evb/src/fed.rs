//! How the logger is set up when its readings come over a UART: by the header record that the feed begins with.

use crate::uart::Uart;
use coldsquare_core::record::{Entry, Header, Reader, Record, WallClock};
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::logger::{Resume, Setup};

/// Where the last quarter of the flash begins and ends. No program reaches that far.
const SHELF: core::ops::Range<usize> = 0x3_0000..0x4_0000;
/// What a feed on the shelf begins with.
const ON_THE_SHELF: &[u8; 4] = b"FEED";

/// Where a feed comes from: over UART 1, or from the last quarter of the flash, where the emulator put it. The second
/// waits for nobody, so that the same feed takes the same instructions each time.
#[derive(Debug)]
pub enum Feed {
    /// UART 1.
    Line(Uart),
    /// The address of the next byte.
    Shelf(usize),
}

impl Feed {
    /// The feed on the shelf if there is one, or else UART 1.
    #[must_use]
    pub fn new() -> Self {
        let begins = (SHELF.start..).map(on_shelf);
        if begins
            .zip(ON_THE_SHELF)
            .all(|(found, wanted)| found == *wanted)
        {
            Self::Shelf(SHELF.start + ON_THE_SHELF.len())
        } else {
            Self::Line(Uart::new(1))
        }
    }

    /// The next byte; waits for it.
    #[must_use]
    pub fn receive(&mut self) -> u8 {
        match self {
            Self::Line(uart) => uart.receive(),
            Self::Shelf(at) => {
                let byte = on_shelf(*at);
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

/// A byte of the shelf; 0xFF past its end, which is no message of a feed.
fn on_shelf(address: usize) -> u8 {
    if SHELF.contains(&address) {
        // SAFETY: the shelf is flash, and flash may be read.
        unsafe { core::ptr::read_volatile(address as *const u8) }
    } else {
        0xFF
    }
}

/// The time at which the feed says that the log begins.
pub struct Told(pub Option<WallClock>);

impl Clock for Told {
    fn now(&mut self) -> Option<WallClock> {
        self.0
    }
}

/// Waits for the header record.
pub fn header(feed: &mut impl FnMut() -> u8) -> Header {
    let mut reader = Reader::new();
    loop {
        if let Some(Entry::Record {
            record: Record::Header(header),
            ..
        }) = reader.next(&mut [feed()].as_slice())
        {
            return header;
        }
    }
}

/// The setup that a header asks for.
pub fn setup(header: Header) -> Setup {
    Setup {
        device: header.device,
        board: "lm3s6965evb",
        title: header.title,
        process: header.process,
        calibration: header.calibration,
        calibrated_unix_s: header.calibrated_unix_s,
        arc: header.arc,
        order: heapless::Vec::new(),
        resume: Resume::default(),
    }
}
