//! Instructions counted with the system timer.
//!
//! The emulator, told `-icount shift=0`, lets one nanosecond pass for each instruction. The timer counts its own
//! clock, so a reading is a multiple of [`INSTRUCTIONS_PER_TICK`].

use cortex_m::peripheral::SYST;
use cortex_m::peripheral::syst::SystClkSource;

/// The board comes out of reset at 12.5 MHz.
pub const INSTRUCTIONS_PER_TICK: u32 = 80;

const RELOAD: u32 = 0x00FF_FFFF;

/// The timer, running.
pub struct Ticks(SYST);

impl Ticks {
    /// Starts it.
    #[must_use]
    pub fn start(mut timer: SYST) -> Self {
        timer.set_clock_source(SystClkSource::Core);
        timer.set_reload(RELOAD);
        timer.clear_current();
        timer.enable_counter();
        Self(timer)
    }

    /// Instructions that `work` takes, to one tick; wrong past 2^24 ticks.
    pub fn instructions(&self, work: impl FnOnce()) -> u32 {
        let before = Self::now();
        work();
        Self::since(before)
    }

    /// What the timer says now.
    #[must_use]
    pub fn now() -> u32 {
        SYST::get_current()
    }

    /// Instructions since it said that, as above.
    #[must_use]
    pub fn since(before: u32) -> u32 {
        (before.wrapping_sub(Self::now()) & RELOAD) * INSTRUCTIONS_PER_TICK
    }
}
