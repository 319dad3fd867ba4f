//! A timer that says when a pair is due, in its interrupt.

use crate::register::Register;
use core::sync::atomic::{AtomicU32, Ordering};

const TIMER_2: usize = 0x4000_0000;
const CONTROL: Register = Register::at(TIMER_2);
const INTERRUPTS: Register = Register::at(TIMER_2 + 0x0C);
const STATUS: Register = Register::at(TIMER_2 + 0x10);
const GENERATE: Register = Register::at(TIMER_2 + 0x14);
const PRESCALER: Register = Register::at(TIMER_2 + 0x28);
const RELOAD: Register = Register::at(TIMER_2 + 0x2C);

const RUNS: u32 = 1;
const UPDATE: u32 = 1;
/// The emulator counts nanoseconds; a chip counts its own clock.
const COUNTS_PER_MICROSECOND: u32 = 1000;

/// Periods that have ended since the timer started.
static DUE: AtomicU32 = AtomicU32::new(0);

/// Timer 2, which interrupts once a period.
#[derive(Debug)]
pub struct Timer {
    last: u32,
}

impl Timer {
    /// The timer, running for so many periods.
    #[must_use]
    pub fn start(period_us: u32, periods: u32) -> Self {
        PRESCALER.write(COUNTS_PER_MICROSECOND - 1);
        RELOAD.write(period_us - 1);
        GENERATE.write(UPDATE);
        STATUS.write(0);
        INTERRUPTS.write(UPDATE);
        CONTROL.write(RUNS);
        Self { last: periods }
    }

    /// Whether a period has ended since the last call. After the last it stops.
    pub fn period_ended(&mut self) -> bool {
        if STATUS.read() & UPDATE == 0 {
            return false;
        }
        STATUS.write(!UPDATE);
        if DUE.fetch_add(1, Ordering::AcqRel) + 1 >= self.last {
            CONTROL.write(0);
        }
        true
    }
}

/// Periods that have ended.
#[must_use]
pub fn periods() -> u32 {
    DUE.load(Ordering::Acquire)
}
