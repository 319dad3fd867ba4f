//! What an interrupt does.

use core::cell::RefCell;
use cortex_m::interrupt::{InterruptNumber, Mutex, free};
use cortex_m::peripheral::NVIC;
use cortex_m_rt::exception;

/// The interrupts that are used.
#[derive(Clone, Copy, Debug)]
#[repr(u16)]
pub enum Interrupt {
    /// Timer 2.
    Timer2 = 28,
    /// USART 2.
    Usart2 = 38,
}

// SAFETY: the numbers are those of the chip's vectors, each a different one.
unsafe impl InterruptNumber for Interrupt {
    fn number(self) -> u16 {
        self as u16
    }
}

/// Work for an interrupt.
pub trait Work: Send {
    /// Called at each.
    fn work(&mut self);
}

static WORK: Mutex<RefCell<Option<&'static mut dyn Work>>> = Mutex::new(RefCell::new(None));

/// Does this at each interrupt of that number from now on, and nothing at any other.
pub fn at_each(interrupt: Interrupt, work: &'static mut dyn Work) {
    free(|token| WORK.borrow(token).replace(Some(work)));
    resume(interrupt);
}

/// Not at this one for now; it waits. At the controller, because the emulator's serial line goes on asking for an interrupt
/// when it is told not to.
pub fn pause(interrupt: Interrupt) {
    NVIC::mask(interrupt);
}

/// At this one again.
pub fn resume(interrupt: Interrupt) {
    // SAFETY: nothing relies on this interrupt being masked: `free` masks them all.
    unsafe { NVIC::unmask(interrupt) };
}

#[exception]
unsafe fn DefaultHandler(_number: i16) {
    free(|token| {
        if let Some(work) = WORK.borrow(token).borrow_mut().as_mut() {
            work.work();
        }
    });
}
