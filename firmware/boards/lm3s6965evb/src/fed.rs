//! How the logger is set up when its readings come over a UART: by the header record that the feed begins with.

use crate::uart::Uart;
use coldsquare_core::record::{Entry, Header, Reader, Record, WallClock};
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::logger::{Resume, Setup};

/// The time at which the feed says that the log begins.
pub struct Told(pub Option<WallClock>);

impl Clock for Told {
    fn now(&mut self) -> Option<WallClock> {
        self.0
    }
}

/// Waits for the header record.
pub fn header(feed: &mut Uart) -> Header {
    let mut reader = Reader::new();
    loop {
        if let Some(Entry::Record {
            record: Record::Header(header),
            ..
        }) = reader.next(&mut [feed.receive()].as_slice())
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
