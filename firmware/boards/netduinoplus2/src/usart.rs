//! Serial lines.

use crate::register::Register;
use core::fmt;

const RECEIVED: u32 = 1 << 5;
const ROOM: u32 = 1 << 7;
const ENABLE_BOTH_WAYS: u32 = 1 << 13 | 1 << 3 | 1 << 2;
const INTERRUPT_WHEN_RECEIVED: u32 = 1 << 5;

/// One of the first three.
#[derive(Debug)]
pub struct Usart {
    status: Register,
    data: Register,
    control: Register,
}

impl Usart {
    /// USART 1, 2 or 3, made ready. The emulator has no baud rate to set.
    #[must_use]
    pub fn new(number: usize) -> Self {
        let base = match number {
            1 => 0x4001_1000,
            2 => 0x4000_4400,
            _ => 0x4000_4800,
        };
        let usart = Self {
            status: Register::at(base),
            data: Register::at(base + 0x04),
            control: Register::at(base + 0x0C),
        };
        usart.control.write(ENABLE_BOTH_WAYS);
        usart
    }

    /// From now on it interrupts while a byte waits.
    pub fn interrupts(&self) {
        self.control
            .write(ENABLE_BOTH_WAYS | INTERRUPT_WHEN_RECEIVED);
    }

    /// The next byte, if one waits.
    pub fn try_receive(&mut self) -> Option<u8> {
        let waits = self.status.read() & RECEIVED != 0;
        waits.then(|| self.data.read().to_le_bytes()[0])
    }

    /// The next byte; waits for it.
    #[must_use]
    pub fn receive(&mut self) -> u8 {
        loop {
            if let Some(byte) = self.try_receive() {
                return byte;
            }
        }
    }

    /// Sends bytes; waits until they are taken.
    pub fn send(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            while self.status.read() & ROOM == 0 {}
            self.data.write(byte.into());
        }
    }
}

impl fmt::Write for Usart {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        self.send(text.as_bytes());
        Ok(())
    }
}
