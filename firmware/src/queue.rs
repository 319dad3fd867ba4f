//! A queue between the interrupt that takes readings and the loop, so that a card may be busy for some milliseconds.
//!
//! ```text
//! data ready -> interrupt: Taker::take --queue--> Queued::next <- Logger::poll
//! ```
//!
//! A queue of N holds N − 1 readings: 1024 are 128 ms at 8 000 pairs a second, in 12 KiB. Pairs that find no room are
//! counted and reported as lost at their place.

use crate::front_end::{FrontEnd, Reading};
use heapless::spsc::{Consumer, Producer};

/// The interrupt's end.
pub struct Taker<'a, F> {
    front_end: F,
    queue: Producer<'a, Reading>,
    /// Pairs lost since the last one that was queued.
    lost: u32,
}

impl<'a, F: FrontEnd> Taker<'a, F> {
    /// Fills a queue from a converter.
    pub const fn new(front_end: F, queue: Producer<'a, Reading>) -> Self {
        Self {
            front_end,
            queue,
            lost: 0,
        }
    }

    /// Takes all readings of the converter. Call it when a conversion is ready, and regularly, so that silence is noticed.
    pub fn take(&mut self) {
        loop {
            match self.front_end.next() {
                Reading::Waiting => return,
                Reading::Dropped(count) => self.lost = self.lost.saturating_add(count),
                Reading::Pair(pair) => {
                    if self.report_lost() && self.queue.enqueue(Reading::Pair(pair)).is_ok() {
                        continue;
                    }
                    self.lost = self.lost.saturating_add(1);
                }
            }
            self.report_lost();
        }
    }

    /// True if no loss is left to report.
    fn report_lost(&mut self) -> bool {
        if self.lost > 0 && self.queue.enqueue(Reading::Dropped(self.lost)).is_ok() {
            self.lost = 0;
        }
        self.lost == 0
    }
}

/// The loop's end.
pub struct Queued<'a>(
    /// The queue that the interrupt fills.
    pub Consumer<'a, Reading>,
);

impl FrontEnd for Queued<'_> {
    fn next(&mut self) -> Reading {
        self.0.dequeue().unwrap_or(Reading::Waiting)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use coldsquare_core::samples::RawPair;
    use heapless::spsc::Queue;

    /// Gives one pair every other call.
    struct Counting(i32, bool);

    impl FrontEnd for Counting {
        fn next(&mut self) -> Reading {
            self.1 = !self.1;
            if self.1 {
                self.0 += 1;
                Reading::Pair(RawPair::new(self.0, 0))
            } else {
                Reading::Waiting
            }
        }
    }

    /// Says each time that two pairs were lost, and gives one.
    struct Losing(i32, u8);

    impl FrontEnd for Losing {
        fn next(&mut self) -> Reading {
            self.1 = (self.1 + 1) % 3;
            match self.1 {
                0 => Reading::Waiting,
                1 => {
                    self.0 += 2;
                    Reading::Dropped(2)
                }
                _ => {
                    self.0 += 1;
                    Reading::Pair(RawPair::new(self.0, 0))
                }
            }
        }
    }

    /// Losses that come while others wait for room are added to them.
    #[test]
    fn losses_of_the_converter_are_counted_while_there_is_no_room_either() {
        for away in [1, 7, 40] {
            let mut queue: Queue<Reading, 8> = Queue::new();
            let (producer, consumer) = queue.split();
            let mut taker = Taker::new(Losing(0, 0), producer);
            let mut front_end = Queued(consumer);
            let mut position = 0_i32;
            for turn in 1..=400 {
                taker.take();
                if turn % away > 0 {
                    continue;
                }
                loop {
                    match front_end.next() {
                        Reading::Waiting => break,
                        Reading::Dropped(count) => position += i32::try_from(count).unwrap(),
                        Reading::Pair(pair) => {
                            position += 1;
                            assert_eq!(pair.voltage(), position, "away for {away}");
                        }
                    }
                }
            }
            assert!(position > 0);
        }
    }

    /// However long the loop is busy, pairs and losses add up to what was sampled, and every pair is in its place.
    #[test]
    fn nothing_is_lost_while_there_is_room_and_losses_are_reported_in_place() {
        for away in [1, 5, 15, 16, 17, 100] {
            let mut queue: Queue<Reading, 16> = Queue::new();
            let (producer, consumer) = queue.split();
            let mut taker = Taker::new(Counting(0, false), producer);
            let mut front_end = Queued(consumer);
            let (mut position, mut lost) = (0_i32, 0);
            for turn in 0..1000 {
                taker.take();
                if turn % away > 0 {
                    continue;
                }
                loop {
                    match front_end.next() {
                        Reading::Waiting => break,
                        Reading::Dropped(count) => {
                            lost += count;
                            position += i32::try_from(count).unwrap();
                        }
                        Reading::Pair(pair) => {
                            position += 1;
                            assert_eq!(pair.voltage(), position, "away for {away}");
                        }
                    }
                }
            }
            assert_eq!(lost > 0, away > 15, "away for {away}: {lost}");
        }
    }
}
