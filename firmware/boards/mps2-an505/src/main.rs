//! Counts the instructions of a sample pair on a Cortex-M33, the processor of the board to buy. The emulator has it on
//! another board, so only the processor is used; the counts go to the emulator's console.
#![no_std]
#![no_main]

use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_measure::measure;
use core::fmt::Write;
use core::panic::PanicInfo;
use cortex_m::peripheral::SYST;
use cortex_m::peripheral::syst::SystClkSource;
use cortex_m::singleton;
use cortex_m_rt::entry;
use cortex_m_semihosting::{debug, hio};

/// The timer runs at 20 MHz, and the emulator, told `-icount shift=0`, lets a nanosecond pass for each instruction.
const INSTRUCTIONS_PER_TICK: u32 = 50;

const RELOAD: u32 = 0x00FF_FFFF;

#[panic_handler]
fn panic(_: &PanicInfo<'_>) -> ! {
    exit(false)
}

fn exit(success: bool) -> ! {
    loop {
        debug::exit(if success {
            debug::EXIT_SUCCESS
        } else {
            debug::EXIT_FAILURE
        });
    }
}

fn instructions(work: &mut dyn FnMut()) -> u32 {
    let before = SYST::get_current();
    work();
    (before.wrapping_sub(SYST::get_current()) & RELOAD) * INSTRUCTIONS_PER_TICK
}

fn run() -> Option<()> {
    let mut timer = cortex_m::Peripherals::take()?.SYST;
    timer.set_clock_source(SystClkSource::Core);
    timer.set_reload(RELOAD);
    timer.clear_current();
    timer.enable_counter();
    let figures = measure(singleton!(: NextWeld = NextWeld::new())?, instructions)?;
    write!(hio::hstdout().ok()?, "{figures}").ok()
}

#[entry]
fn main() -> ! {
    exit(run().is_some())
}
