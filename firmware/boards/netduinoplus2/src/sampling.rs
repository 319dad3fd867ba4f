//! The chip's converter, read in the timer's interrupt, and a queue to the loop.

use crate::converter::Converter;
use crate::interrupt::{Interrupt, Work, at_each};
use crate::timer::{Timer, periods};
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::queue::{Queued, Taker};
use cortex_m::singleton;
use heapless::spsc::Queue;

/// Readings that may wait for the loop: a tenth of a second.
pub const WAITING: usize = 1024;
/// Time between pairs.
pub const PERIOD_US: u32 = 100;

impl Work for Taker<'static, Converter> {
    fn work(&mut self) {
        self.take();
    }
}

/// The loop's end.
pub struct Sampled {
    queue: Queued<'static>,
    pairs: u32,
}

impl Sampled {
    /// Takes so many pairs from now on. `None` the second time.
    #[must_use]
    pub fn start(pairs: u32) -> Option<Self> {
        let queue = singleton!(: Queue<Reading, WAITING> = Queue::new())?;
        let (readings, taken) = queue.split();
        let converter = Converter::new(Timer::start(PERIOD_US, pairs));
        let taker = singleton!(: Taker<'static, Converter> = Taker::new(converter, readings))?;
        at_each(Interrupt::Timer2, taker);
        Some(Self {
            queue: Queued(taken),
            pairs,
        })
    }
}

impl FrontEnd for Sampled {
    /// Waits for the next one, so that nothing but the pairs says how often the loop turns.
    fn next(&mut self) -> Reading {
        loop {
            // Asked before the queue: the last pair is in it by then.
            let over = periods() >= self.pairs;
            let reading = self.queue.next();
            if reading != Reading::Waiting || over {
                return reading;
            }
        }
    }
}
