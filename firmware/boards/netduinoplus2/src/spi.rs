//! The bus that a converter of its own would be on. The emulated board has nothing on it: each byte is answered with 0.

use crate::register::Register;
use core::convert::Infallible;
use embedded_hal::spi::{ErrorType, Operation, SpiDevice};

const SPI_1: usize = 0x4001_3000;
const CONTROL_1: Register = Register::at(SPI_1);
const STATUS: Register = Register::at(SPI_1 + 0x08);
const DATA: Register = Register::at(SPI_1 + 0x0C);

/// Master, on, chip select by software.
const READY: u32 = 1 << 2 | 1 << 6 | 1 << 8 | 1 << 9;
const RECEIVED: u32 = 1;

/// The bus, with no chip select.
#[derive(Debug)]
pub struct Spi {
    bytes: u32,
}

impl Spi {
    /// The bus, ready.
    #[must_use]
    pub fn new() -> Self {
        CONTROL_1.write(READY);
        Self { bytes: 0 }
    }

    /// Bytes that went over it.
    #[must_use]
    pub fn bytes(&self) -> u32 {
        self.bytes
    }

    fn exchange(&mut self, byte: u8) -> u8 {
        self.bytes += 1;
        DATA.write(byte.into());
        while STATUS.read() & RECEIVED == 0 {}
        DATA.read().to_le_bytes()[0]
    }
}

impl Default for Spi {
    fn default() -> Self {
        Self::new()
    }
}

impl ErrorType for Spi {
    type Error = Infallible;
}

impl SpiDevice for Spi {
    fn transaction(&mut self, operations: &mut [Operation<'_, u8>]) -> Result<(), Infallible> {
        for operation in operations {
            match operation {
                Operation::Write(bytes) => {
                    for &byte in bytes.iter() {
                        self.exchange(byte);
                    }
                }
                Operation::Read(into) => {
                    for byte in into.iter_mut() {
                        *byte = self.exchange(0);
                    }
                }
                Operation::TransferInPlace(both) => {
                    for byte in both.iter_mut() {
                        *byte = self.exchange(*byte);
                    }
                }
                Operation::Transfer(into, from) => {
                    for at in 0..into.len().max(from.len()) {
                        let got = self.exchange(from.get(at).copied().unwrap_or(0));
                        if let Some(byte) = into.get_mut(at) {
                            *byte = got;
                        }
                    }
                }
                Operation::DelayNs(_) => {}
            }
        }
        Ok(())
    }
}
