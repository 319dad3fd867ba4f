//! UARTs of the PL011 kind, without interrupts.

use core::fmt;
use core::ptr;

const DATA: usize = 0x00;
const FLAGS: usize = 0x18;
const LINE_CONTROL: usize = 0x2C;
const CONTROL: usize = 0x30;

const RECEIVE_EMPTY: u32 = 1 << 4;
const TRANSMIT_FULL: u32 = 1 << 5;
const EIGHT_BITS_AND_FIFO: u32 = 0x70;
const ENABLE_BOTH_WAYS: u32 = 0x301;

/// One UART.
#[derive(Debug)]
pub struct Uart {
    base: usize,
}

impl Uart {
    /// UART 0, 1 or 2 of the board, made ready. The emulator has no baud rate to set.
    #[must_use]
    pub fn new(number: usize) -> Self {
        let uart = Self {
            base: 0x4000_C000 + 0x1000 * number.min(2),
        };
        uart.write(LINE_CONTROL, EIGHT_BITS_AND_FIFO);
        uart.write(CONTROL, ENABLE_BOTH_WAYS);
        uart
    }

    /// The next byte; waits for it.
    #[must_use]
    pub fn receive(&mut self) -> u8 {
        while self.read(FLAGS) & RECEIVE_EMPTY != 0 {}
        self.read(DATA).to_le_bytes()[0]
    }

    /// The next byte, if one waits.
    pub fn try_receive(&mut self) -> Option<u8> {
        let empty = self.read(FLAGS) & RECEIVE_EMPTY != 0;
        (!empty).then(|| self.read(DATA).to_le_bytes()[0])
    }

    /// Sends as many of these bytes as fit at once; returns how many.
    pub fn try_send(&mut self, bytes: &[u8]) -> usize {
        let mut sent = 0;
        for &byte in bytes {
            if self.read(FLAGS) & TRANSMIT_FULL != 0 {
                break;
            }
            self.write(DATA, byte.into());
            sent += 1;
        }
        sent
    }

    /// Sends bytes; waits until they are taken.
    pub fn send(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            while self.read(FLAGS) & TRANSMIT_FULL != 0 {}
            self.write(DATA, byte.into());
        }
    }

    fn read(&self, register: usize) -> u32 {
        // SAFETY: `new` gives `base` one of the board's three UARTs, and the registers are aligned words inside it.
        unsafe { ptr::read_volatile((self.base + register) as *const u32) }
    }

    fn write(&self, register: usize, value: u32) {
        // SAFETY: as in `read`.
        unsafe { ptr::write_volatile((self.base + register) as *mut u32, value) }
    }
}

impl fmt::Write for Uart {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        self.send(text.as_bytes());
        Ok(())
    }
}
