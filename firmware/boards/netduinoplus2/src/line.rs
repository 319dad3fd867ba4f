//! Readings that come over USART 2 and are taken in its interrupt.
//!
//! ```text
//! byte -> interrupt: Line --readings--> Taker --queue--> FromLine <- Logger::poll
//! ```
//!
//! The sender waits while the queue is full, and a press waits until all readings before it were taken: so the same feed
//! gives the same log as on a board that asks its line for each byte.

use crate::interrupt::{Interrupt, Work, at_each, pause, resume};
use crate::usart::Usart;
use coldsquare_firmware::feed::{Fed, MAX_MESSAGE, Pressed};
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::panel::Input;
use coldsquare_firmware::queue::{Queued, Taker};
use core::cell::Cell;
use core::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use cortex_m::asm::wfi;
use cortex_m::interrupt::{Mutex, free};
use cortex_m::singleton;
use heapless::Vec;
use heapless::spsc::Queue;

/// Readings that may wait for the loop.
const WAITING: usize = 64;

/// Readings in the queue.
static QUEUED: AtomicU32 = AtomicU32::new(0);
/// A press that waits for the readings before it.
static PRESS: Mutex<Cell<Option<Input>>> = Mutex::new(Cell::new(None));
/// No more readings come.
static ENDED: AtomicBool = AtomicBool::new(false);

/// The interrupt's end of the line.
struct Line {
    usart: Usart,
    message: Vec<u8, MAX_MESSAGE>,
}

impl Line {
    /// The message that is complete with this byte, if any.
    fn message(&mut self, byte: u8) -> Option<Fed> {
        self.message.push(byte).ok()?;
        let first = *self.message.first()?;
        if self.message.len() < Fed::length(first) {
            return None;
        }
        let mut bytes = self.message.iter().copied();
        let message = Fed::from_bytes(&mut || bytes.next().unwrap_or(u8::MAX));
        self.message.clear();
        Some(message)
    }
}

impl FrontEnd for Line {
    fn next(&mut self) -> Reading {
        // One place is for a loss that was not reported yet.
        if QUEUED.load(Ordering::Acquire) as usize >= WAITING - 2 {
            pause(Interrupt::Usart2);
            return Reading::Waiting;
        }
        while let Some(byte) = self.usart.try_receive() {
            let reading = match self.message(byte) {
                None => continue,
                Some(Fed::Pair(pair)) => Reading::Pair(pair),
                Some(Fed::Dropped(count)) => Reading::Dropped(count),
                Some(Fed::Press(input)) => {
                    free(|token| PRESS.borrow(token).set(Some(input)));
                    pause(Interrupt::Usart2);
                    return Reading::Waiting;
                }
                Some(Fed::End) => {
                    ENDED.store(true, Ordering::Release);
                    pause(Interrupt::Usart2);
                    return Reading::Waiting;
                }
            };
            QUEUED.fetch_add(1, Ordering::AcqRel);
            return reading;
        }
        Reading::Waiting
    }
}

impl Work for Taker<'static, Line> {
    fn work(&mut self) {
        self.take();
    }
}

/// The loop's end.
pub struct FromLine<'a> {
    queue: Queued<'static>,
    pressed: &'a Pressed,
}

impl<'a> FromLine<'a> {
    /// Takes readings from now on. `None` the second time.
    #[must_use]
    pub fn start(usart: Usart, pressed: &'a Pressed) -> Option<Self> {
        let queue = singleton!(: Queue<Reading, WAITING> = Queue::new())?;
        let (readings, taken) = queue.split();
        usart.interrupts();
        let line = Line {
            usart,
            message: Vec::new(),
        };
        let taker = singleton!(: Taker<'static, Line> = Taker::new(line, readings))?;
        at_each(Interrupt::Usart2, taker);
        Some(Self {
            queue: Queued(taken),
            pressed,
        })
    }
}

impl FromLine<'_> {
    /// The queue was empty, and before that this press waited, if any: it is the panel's now, and the line goes on. A press
    /// that came since then waits for readings that came before it.
    fn hand_over(&self, press: Option<Input>) {
        free(|token| {
            let waits = PRESS.borrow(token);
            if waits.get() == press {
                waits.set(None);
                resume(Interrupt::Usart2);
            }
        });
        if press.is_some() {
            self.pressed.set(press);
        } else {
            sleep();
        }
    }
}

/// Until there is something to do: a loop that asks would keep the emulator from taking bytes.
fn sleep() {
    free(|token| {
        let nothing = QUEUED.load(Ordering::Acquire) == 0
            && !ENDED.load(Ordering::Acquire)
            && PRESS.borrow(token).get().is_none();
        if nothing {
            // An interrupt that waits ends it, and is taken when they are free again.
            wfi();
        }
    });
}

impl FrontEnd for FromLine<'_> {
    fn next(&mut self) -> Reading {
        loop {
            // Asked before the queue: what came before the end, or before the press, is taken first.
            let ended = ENDED.load(Ordering::Acquire);
            let press = free(|token| PRESS.borrow(token).get());
            match self.queue.next() {
                Reading::Waiting if ended => return Reading::Waiting,
                Reading::Waiting => self.hand_over(press),
                reading => {
                    QUEUED.fetch_sub(1, Ordering::AcqRel);
                    return reading;
                }
            }
        }
    }
}
