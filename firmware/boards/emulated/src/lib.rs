//! What the boards that an emulator has share. They differ in their registers and in how readings come in.
#![no_std]

pub mod fed;
pub mod logging;
pub mod restart;
pub mod stack;

use cortex_m_semihosting::debug;

/// The program ends the emulator with a failure when it panics. It does not ask where, which would cost 5 KB of flash.
#[macro_export]
macro_rules! ends_on_panic {
    () => {
        #[panic_handler]
        fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
            $crate::exit(false)
        }
    };
}

/// The program is started anew when it panics, and [`restart::reason`] then says where it was.
#[macro_export]
macro_rules! restarts_on_panic {
    () => {
        #[panic_handler]
        fn panic(info: &core::panic::PanicInfo<'_>) -> ! {
            $crate::restart::after(info)
        }
    };
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
