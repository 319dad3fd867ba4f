//! The parts of the emulated board that its programs use. Registers are those of the data sheet of the LM3S6965 as far
//! as the emulator models them.
#![no_std]

pub mod card;
pub mod fed;
pub mod journal;
pub mod plug;
pub mod ssi;
pub mod stack;
pub mod ticks;
pub mod uart;

use core::panic::PanicInfo;
use cortex_m_semihosting::debug;

#[panic_handler]
fn panic(_: &PanicInfo<'_>) -> ! {
    exit(false)
}

/// Ends the emulator, with success or failure.
pub fn exit(success: bool) -> ! {
    loop {
        debug::exit(if success {
            debug::EXIT_SUCCESS
        } else {
            debug::EXIT_FAILURE
        });
    }
}
