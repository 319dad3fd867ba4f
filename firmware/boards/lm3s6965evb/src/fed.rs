//! Setup of a logger whose readings come over a UART: from the header record at the start of the feed.

use crate::uart::Uart;
use coldsquare_core::record::{Entry, Header, Reader, Record, WallClock};
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::feed::{FedFrontEnd, FedPanel, Pressed};
use coldsquare_firmware::link::Link;
use coldsquare_firmware::logger::{Hardware, Logger, Parts, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::store::Store;

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

/// The time of day in the feed's header.
pub struct HeaderClock(pub Option<WallClock>);

impl Clock for HeaderClock {
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

/// The setup of a header.
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

/// The logger that the header at UART 1 sets up, with this store and link; the readings come after the header. `None` if
/// its arc counts contradict each other.
// The logger is built where it stays, not copied there.
#[inline(always)]
pub fn logger<S: Store, L: Link>(
    (store, link): (S, L),
    plan: &'static mut NextWeld,
    pressed: &Pressed,
) -> Option<Logger<impl Hardware>> {
    let mut feed = Uart::new(1);
    let mut next = move || feed.receive();
    let header = header(&mut next);
    let parts = Parts {
        front_end: FedFrontEnd::new(next, pressed),
        store,
        link,
        clock: HeaderClock(header.clock),
        panel: FedPanel(pressed),
        plan,
    };
    #[cfg(feature = "seal")]
    {
        use coldsquare_core::seal::{SIMULATION, Secret};
        Logger::start_sealed(parts, setup(header), Secret::new(SIMULATION)?, &[1; 32]).ok()
    }
    #[cfg(not(feature = "seal"))]
    Logger::start(parts, setup(header)).ok()
}
