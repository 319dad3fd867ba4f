//! The parts of the second emulated board that its programs use. Registers are those of the reference manual of the
//! STM32F405 (RM0090; values from memory) as far as the emulator models them: it has neither the clock controller, the pins,
//! the watchdogs nor the flash controller, so a real chip needs all those set up first.
#![no_std]

pub mod converter;
pub mod interrupt;
pub mod line;
pub mod register;
pub mod sampling;
pub mod spi;
pub mod timer;
pub mod usart;

/// Its name.
pub const BOARD: &str = "netduinoplus2";
