//! What the boards that an emulator has share. They differ in their registers and in how readings come in.
#![no_std]

pub mod fed;
pub mod logging;
pub mod restart;
pub mod stack;

use core::panic::PanicInfo;
use cortex_m_semihosting::debug;

/// A program that has said that it can be restarted is; any other ends the emulator with a failure.
#[panic_handler]
fn panic(info: &PanicInfo<'_>) -> ! {
    restart::after(info);
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
