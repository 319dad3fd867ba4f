//! Setup of a logger from the header record at the start of its feed.

use coldsquare_core::record::{Entry, Header, Reader, Record, WallClock};
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::feed::{FedPanel, Pressed};
use coldsquare_firmware::front_end::FrontEnd;
use coldsquare_firmware::link::Link;
use coldsquare_firmware::logger::{Hardware, Logger, Parts, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::Panel;
use coldsquare_firmware::store::Store;
use core::borrow::BorrowMut;

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

/// The setup of a header on a board of this name.
pub fn setup(header: Header, board: &'static str) -> Setup {
    Setup {
        device: header.device,
        board,
        title: header.title,
        process: header.process,
        calibration: header.calibration,
        calibrated_unix_s: header.calibrated_unix_s,
        arc: header.arc,
        order: heapless::Vec::new(),
        resume: Resume::default(),
    }
}

/// The logger that a header sets up, with this front end, store and link. `None` if its arc counts contradict each other.
// The logger is built where it stays, not copied there.
#[inline(always)]
pub fn logger<F: FrontEnd, S: Store, L: Link>(
    front_end: F,
    (store, link): (S, L),
    (header, board): (Header, &'static str),
    plan: &'static mut NextWeld,
    pressed: &Pressed,
) -> Option<Logger<impl Hardware>> {
    let parts = Parts {
        front_end,
        store,
        link,
        clock: HeaderClock(header.clock),
        panel: FedPanel(pressed),
        plan,
    };
    started(parts, setup(header, board))
}

/// Starts a logger; with the feature `seal`, one that seals its log with the key of simulated loggers.
#[inline(always)]
pub fn started<F: FrontEnd, S: Store, L: Link, C: Clock, P: Panel, N: BorrowMut<NextWeld>>(
    parts: Parts<F, S, L, C, P, N>,
    setup: Setup,
) -> Option<Logger<impl Hardware>> {
    #[cfg(feature = "seal")]
    {
        use coldsquare_core::seal::{SIMULATION, Secret};
        Logger::start_sealed(parts, setup, Secret::new(SIMULATION)?, &[1; 32]).ok()
    }
    #[cfg(not(feature = "seal"))]
    Logger::start(parts, setup).ok()
}
