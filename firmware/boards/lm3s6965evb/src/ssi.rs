//! The bus that the card is on: an SSI of the PL022 kind, and the pin that selects the card.
//!
//! Two quirks of the emulated card are handled here: it still reports idle when asked for its operating conditions (CMD58)
//! although it is ready, and it swallows the byte after the answer to a write command, where the SD specification requires a
//! gap (N_WR, at least one byte) that the driver does not leave.
//!
//! A test may have reads refused: the card then seems to answer with an error token instead of the sector.

use crate::plug::Plug;
use crate::watchdog;
use core::convert::Infallible;
use core::ptr;
use embedded_hal::spi::{ErrorType, Operation, SpiDevice};

const SSI: usize = 0x4000_8000;
const CONTROL_0: usize = SSI;
const CONTROL_1: usize = SSI + 0x04;
const DATA: usize = SSI + 0x08;
const STATUS: usize = SSI + 0x0C;
const PRESCALER: usize = SSI + 0x10;

const EIGHT_BITS: u32 = 7;
const ENABLE: u32 = 2;
const RECEIVED: u32 = 1 << 2;

/// Port D: pin 0 selects the card when it is low. The address of the data register says which pins are meant.
const SELECT: usize = 0x4000_7000 + (1 << 2);
const DIRECTION: usize = 0x4000_7400;

/// Bytes of a command, and the two bits that begin it.
const COMMAND: usize = 6;
const BEGINS: u8 = 0b0100_0000;

const READ_OPERATING_CONDITIONS: u8 = 58;
const READ_ONE: u8 = 17;
const WRITE_ONE: u8 = 24;
const WRITE_SEVERAL: u8 = 25;
const IDLE: u8 = 1;
const NOTHING: u8 = 0xFF;
const ACCEPTED: u8 = 0;
/// Bytes of a sector and its checksum.
const SECTOR: usize = 512 + 2;
/// Error token "card ECC failed" (SD physical layer specification, data error token; value from memory).
const UNREADABLE: u8 = 0b0000_0100;

/// The bus, with the card as its only device.
#[derive(Debug)]
pub struct Ssi<'a> {
    plug: &'a Plug,
    /// The command that waits for an answer.
    asked: Option<u8>,
    /// The sector that comes next is kept back.
    refusing: bool,
}

impl<'a> Ssi<'a> {
    /// The bus, ready. A plug may be pulled at any byte on it.
    #[must_use]
    pub fn new(plug: &'a Plug) -> Self {
        write(DIRECTION, 1);
        write(SELECT, 1);
        write(CONTROL_1, 0);
        write(CONTROL_0, EIGHT_BITS);
        write(PRESCALER, 2);
        write(CONTROL_1, ENABLE);
        let mut bus = Self {
            plug,
            asked: None,
            refusing: false,
        };
        // A card wakes up at 74 clocks without being selected.
        for _ in 0..10 {
            bus.byte(NOTHING);
        }
        bus
    }

    fn byte(&mut self, out: u8) -> u8 {
        self.plug.card_byte();
        write(DATA, out.into());
        while read(STATUS) & RECEIVED == 0 {}
        read(DATA).to_le_bytes()[0]
    }

    fn send(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.byte(byte);
        }
        if let (COMMAND, Some(first)) = (bytes.len(), bytes.first())
            && first & !0x3F == BEGINS
        {
            self.asked = Some(first & 0x3F);
        }
    }

    /// One byte each way. The first byte that is not idle bus answers the command.
    fn exchange(&mut self, out: u8) -> u8 {
        let byte = self.byte(out);
        if byte == NOTHING {
            return byte;
        }
        if core::mem::take(&mut self.refusing) {
            // The emulated card would otherwise wait for its sector to be fetched.
            for _ in 0..SECTOR {
                self.byte(NOTHING);
            }
            return UNREADABLE;
        }
        match self.asked.take() {
            Some(READ_ONE) => {
                self.refusing = byte == ACCEPTED && self.plug.refuses_read();
                byte
            }
            Some(READ_OPERATING_CONDITIONS) => byte & !IDLE,
            Some(WRITE_ONE | WRITE_SEVERAL) => {
                self.byte(NOTHING);
                byte
            }
            _ => byte,
        }
    }
}

impl ErrorType for Ssi<'_> {
    type Error = Infallible;
}

impl SpiDevice for Ssi<'_> {
    fn transaction(&mut self, operations: &mut [Operation<'_, u8>]) -> Result<(), Infallible> {
        if !self.plug.is_measuring() {
            // Finding the end of the journal on a card that refuses much takes long.
            watchdog::feed();
        }
        write(SELECT, 0);
        for operation in operations {
            match operation {
                Operation::Write(bytes) => self.send(bytes),
                Operation::Read(into) => {
                    for byte in into.iter_mut() {
                        *byte = self.exchange(NOTHING);
                    }
                }
                Operation::TransferInPlace(both) => {
                    for byte in both.iter_mut() {
                        *byte = self.exchange(*byte);
                    }
                }
                Operation::Transfer(into, from) => {
                    for at in 0..into.len().max(from.len()) {
                        let got = self.exchange(from.get(at).copied().unwrap_or(NOTHING));
                        if let Some(byte) = into.get_mut(at) {
                            *byte = got;
                        }
                    }
                }
                // An emulated card needs no delay.
                Operation::DelayNs(_) => {}
            }
        }
        write(SELECT, 1);
        Ok(())
    }
}

fn read(register: usize) -> u32 {
    // SAFETY: the callers name registers of this board, aligned words.
    unsafe { ptr::read_volatile(register as *const u32) }
}

fn write(register: usize, value: u32) {
    // SAFETY: as in `read`.
    unsafe { ptr::write_volatile(register as *mut u32, value) }
}
