//! A simulated cable, and a logger at one end of it.

use super::build::Build;
use super::parts::{Simulated, set_up, start_sealed};
use super::store::MemoryStore;
use crate::link::Link;
use crate::logger::{Logger, Progress};
use coldsquare_core::arc::ArcConfigError;
use coldsquare_core::link::{Capabilities, Identity, StoreState};
use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;

/// Bytes in transit in each direction.
#[derive(Debug, Default)]
struct Cable {
    to_logger: VecDeque<u8>,
    to_computer: VecDeque<u8>,
    /// The most bytes that wait for the computer.
    room: usize,
}

/// The logger's end.
#[derive(Clone, Debug)]
pub struct LoggerEnd(Rc<RefCell<Cable>>);

/// The computer's end.
#[derive(Clone, Debug)]
pub struct ComputerEnd(Rc<RefCell<Cable>>);

/// A cable that buffers `room` bytes for the computer; 0 for an absent computer.
#[must_use]
pub fn cable(room: usize) -> (LoggerEnd, ComputerEnd) {
    let cable = Rc::new(RefCell::new(Cable {
        room,
        ..Cable::default()
    }));
    (LoggerEnd(Rc::clone(&cable)), ComputerEnd(cable))
}

/// What a logger without a name or a clock says of itself, with a log from one byte to another: for whoever plays one.
#[must_use]
pub fn stranger(log: (u64, u64), can: Capabilities) -> Identity {
    Identity {
        device: heapless::String::new(),
        firmware: heapless::String::new(),
        board: heapless::String::new(),
        format: 1,
        clock: None,
        calibrated_unix_s: 0,
        sample_rate_hz: 1000.0,
        store: StoreState::Working,
        log,
        room: None,
        can,
        planned: 0,
    }
}

impl Link for LoggerEnd {
    fn receive(&mut self) -> Option<u8> {
        self.0.borrow_mut().to_logger.pop_front()
    }

    fn send(&mut self, bytes: &[u8]) -> usize {
        let mut cable = self.0.borrow_mut();
        let taken = bytes
            .len()
            .min(cable.room.saturating_sub(cable.to_computer.len()));
        cable.to_computer.extend(bytes.iter().take(taken));
        taken
    }
}

impl ComputerEnd {
    /// Sends bytes to the logger.
    pub fn send(&self, bytes: &[u8]) {
        self.0.borrow_mut().to_logger.extend(bytes);
    }

    /// Takes at most `max` received bytes.
    #[must_use]
    pub fn receive(&self, max: usize) -> Vec<u8> {
        let mut cable = self.0.borrow_mut();
        let count = max.min(cable.to_computer.len());
        cable.to_computer.drain(..count).collect()
    }

    /// Bytes sent that the logger has not taken yet.
    #[must_use]
    pub fn unread(&self) -> usize {
        self.0.borrow().to_logger.len()
    }
}

/// A logger with a build and a cable.
#[derive(Debug)]
pub struct Connected<L: Link = LoggerEnd> {
    logger: Logger<Simulated<MemoryStore, L>>,
    rate_hz: f64,
}

impl<L: Link> Connected<L> {
    /// Switches the logger on.
    ///
    /// # Errors
    /// [`ArcConfigError`] when the build's calibration does not suit its arc settings.
    pub fn start(build: &Build, seed: u64, link: L) -> Result<Self, ArcConfigError> {
        let (parts, setup) = set_up(build, seed, MemoryStore::new(), link)?;
        Ok(Self {
            logger: Logger::start(parts, setup)?,
            rate_hz: build.converter.calibration.sample_rate_hz,
        })
    }

    /// The same, sealed with the open secret of all simulated loggers.
    ///
    /// # Errors
    /// As for [`Connected::start`].
    pub fn start_sealed(build: &Build, seed: u64, link: L) -> Result<Self, ArcConfigError> {
        let (parts, setup) = set_up(build, seed, MemoryStore::new(), link)?;
        Ok(Self {
            logger: start_sealed(parts, setup, seed)?,
            rate_hz: build.converter.calibration.sample_rate_hz,
        })
    }

    /// Sample pairs a second.
    #[must_use]
    pub const fn rate_hz(&self) -> f64 {
        self.rate_hz
    }

    /// Polls the logger this many times. Once the build is over it continues to serve its link.
    pub fn turns(&mut self, count: u64) -> Progress {
        let mut last = Progress::Took;
        for _ in 0..count {
            last = self.logger.poll();
        }
        last
    }

    /// Welds the build to its end.
    pub fn weld_all(&mut self) {
        while self.logger.poll() == Progress::Took {}
    }

    /// Ends the log; returns its bytes.
    #[must_use]
    pub fn finish(self) -> Vec<u8> {
        let (_, store, _) = self.logger.finish();
        store.into_bytes()
    }
}
