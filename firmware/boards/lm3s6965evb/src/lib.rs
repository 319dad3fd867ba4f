//! The parts of the emulated board that its programs use. Registers are those of the data sheet of the LM3S6965 as far
//! as the emulator models them.
#![no_std]

pub mod card;
pub mod fed;
pub mod journal;
pub mod plug;
pub mod ssi;
pub mod ticks;
pub mod uart;
pub mod watchdog;

/// Its name.
pub const BOARD: &str = "lm3s6965evb";
